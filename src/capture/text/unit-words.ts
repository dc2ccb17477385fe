/** Units as headings write them: `mV`, `(µs)`, `[V]`, `Volt`, `milliseconds`. */

export interface UnitWord {
  /** Symbol without a prefix: `s`, `V`, `A`, `Hz`. */
  readonly unit: string;
  /** What one of the written unit is in the plain one: 1e-3 for `mV`. */
  readonly factor: number;
}

const PREFIXES: Readonly<Record<string, number>> = {
  '': 1,
  p: 1e-12,
  n: 1e-9,
  u: 1e-6,
  µ: 1e-6,
  m: 1e-3,
  k: 1e3,
  pico: 1e-12,
  nano: 1e-9,
  micro: 1e-6,
  milli: 1e-3,
  kilo: 1e3,
};

const WORD =
  /^(|p|n|u|µ|m|k|pico|nano|micro|milli|kilo)(s|sec|secs|seconds?|sekunden?|secondes?|v|volts?|a|amps?|amperes?|hz|hertz)$/;

/**
 * The unit that a word stands for, in brackets or not; `undefined` where it is none. Capitals do not matter: heading rows are
 * often all capitals, and no oscilloscope writes megavolts, so that `MV` is a thousandth.
 */
export function unitWord(text: string): UnitWord | undefined {
  const word = text
    .trim()
    .replace(/^[([{]\s*(.*?)\s*[)\]}]$/, '$1')
    .replace('μ', 'µ')
    .toLowerCase();
  const [, prefix, name] = WORD.exec(word) ?? [];
  if (prefix === undefined || name === undefined) return undefined;
  const unit = name.startsWith('s') ? 's' : name.startsWith('v') ? 'V' : name.startsWith('a') ? 'A' : 'Hz';
  return { unit, factor: PREFIXES[prefix]! };
}

/** A heading parted into its name and the unit in it: `Collector Q3 [mV]`, `Time(S)`, `CH1 / V`, `Time, us`. */
export function namedUnit(heading: string): { name: string; unit: UnitWord | undefined } {
  const bracketed = /^(.*?)[\s_,]*[([{]([^()[\]{}]*)[)\]}]$/s.exec(heading);
  const parted = bracketed ?? /^(.*\S)\s*[/,]\s*(\S+)$/s.exec(heading);
  const unit = parted ? unitWord(parted[2]!) : undefined;
  return unit === undefined ? { name: heading, unit } : { name: parted![1]!, unit };
}
