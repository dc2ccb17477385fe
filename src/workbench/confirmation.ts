import type { Part } from '../machine/index.ts';

/**
 * What to see by a second kind of evidence before a suspect is unsoldered, in words, without a full stop at the end.
 * Common practice, no source.
 *
 * @param part  `undefined` for a stage or a board that is not traced
 */
export function confirmation(part: Part | undefined, mode: string): string {
  if (mode.startsWith('open-joint:')) {
    const pin = mode.slice('open-joint:'.length);
    return part?.kind === 'connector'
      ? `power off, clean contact ${pin} and press the board home; ohms from the pin to its socket while the board is moved`
      : `power off, ohms from lead ${pin} of the part to its copper while the joint is pressed; a fresh touch of solder mends it`;
  }
  switch (part?.kind) {
    case 'transistor': {
      const short = /^(?:short|leaky)-([bce])([bce])$/.exec(mode);
      if (short) {
        const pins = `${part.ref}.${short[1]} to ${part.ref}.${short[2]}`;
        return mode.startsWith('short')
          ? `power off, ohms from ${pins}, both ways: near 0 both ways is a short, unless another part bridges them`
          : `power off, ohms from ${pins}, the way that should block; then warm the part by hand: leakage grows`;
      }
      if (mode.startsWith('open-')) {
        return `power off, junction test of ${part.ref} from base to emitter and base to collector: an open one conducts neither way`;
      }
      if (mode === 'slow') return `swap ${part.ref} against another of its type, and look at its edges again`;
      return `swap ${part.ref} against one of known gain, or bridge a known one across it, and read again`;
    }
    case 'diode':
    case 'zener':
      return mode === 'open'
        ? `bridge ${part.ref} with a good one of its kind, power on, and read again`
        : `power off, ohms across ${part.ref}, both ways: near the same both ways is a bad one, unless another part bridges it`;
    case 'resistor':
    case 'trimmer':
      return mode === 'short'
        ? `power off, ohms across ${part.ref}; lift one end only if the circuit around it reads low by itself`
        : `power off, ohms across ${part.ref}, both ways: more than the value stated proves it, less may be the circuit around it`;
    case 'capacitor':
      return mode === 'open' || mode === 'low-capacitance'
        ? `discharge, then bridge ${part.ref} with a good one of the same polarity, and read again`
        : `power off, discharge, ohms across ${part.ref}: they must climb and stay high`;
    case 'inductor':
    case 'transformer':
      return 'power off, ohms of each winding against the other unit';
    case 'lamp':
    case 'fuse':
    case 'switch':
      return `power off, ohms across ${part.ref}`;
    case 'connector':
    case 'other':
    case undefined:
      return 'change the board for the one of the healthy unit, if it cannot harm it, and read again';
  }
}
