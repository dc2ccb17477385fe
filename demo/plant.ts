/**
 * Faults planted in a unit's parts list, as they happen in the solder and in the can: by other means than the program's
 * own edits of a circuit, so that the program is not tested on itself.
 */
import type { Machine, Part } from '../src/machine/index.ts';

export interface Planted {
  /** `BOARD/REF`. */
  readonly part: string;
  /** A failure mode in the words of the machine folder. */
  readonly mode: string;
  /** Ohms of a leak, factor of a resistor gone high, of what a capacitor has left, of what a slow transistor keeps in store. */
  readonly amount?: number;
}

/** Modes with a hyphen in their own name. */
const WHOLE: ReadonlySet<string> = new Set(['low-capacitance']);
const SHORT_OHMS = 2;
const LIFTED_OHMS = 1e12;

/** `machine` with the fault in it; added parts and lifted pins bear a `~` in their names. Throws for a mode it does not know. */
export function withFault(machine: Machine, fault: Planted): Machine {
  const part = machine.parts.find((p) => p.name === fault.part);
  if (!part) throw new Error(`no part ${fault.part}`);
  const replaced = (...others: readonly Part[]): Machine => ({
    ...machine,
    parts: machine.parts.flatMap((p) => (p === part ? others : [p])),
  });
  const [way, where = ''] = WHOLE.has(fault.mode) ? [fault.mode] : fault.mode.split(/[:-](?=[^-:]*$)/);
  switch (way) {
    case 'high':
      return replaced({ ...part, value: part.value! * fault.amount! });
    case 'open':
      if (part.kind === 'transformer')
        return replaced({
          ...part,
          windings: part.windings!.map((ohms, i) => (`${i + 1}` === where ? LIFTED_OHMS : ohms)),
        });
      return replaced(lifted(part, where || part.pins[0]!.pin));
    case 'open-joint':
      return part.kind === 'connector' ? withoutContact(machine, part, where) : replaced(lifted(part, where));
    case 'short':
      return replaced(part, bridge(part, where, SHORT_OHMS));
    case 'low-capacitance':
      return replaced({ ...part, value: part.value! * fault.amount! });
    case 'slow':
      return withType(replaced({ ...part, type: `${part.name}~` }), part, fault.amount!);
    case 'leaky':
      return replaced(part, bridge(part, where, fault.amount!));
    default:
      throw new Error(`no way to plant ${fault.mode}`);
  }
}

/** `machine` in which the transistor's new type is as its old one, but slower. */
function withType(machine: Machine, part: Part, factor: number): Machine {
  const name = `${part.name}~`;
  const type = machine.types.get(part.type)!;
  return {
    ...machine,
    types: new Map([...machine.types, [name, { ...type, type: name, ft: type.ft! / factor }]]),
  };
}

function lifted(part: Part, pin: string): Part {
  return {
    ...part,
    pins: part.pins.map((p) => (p.pin === pin ? { pin, net: `${part.name}.${pin}~` } : p)),
  };
}

/** The board's own end of the net has lost the connector's pin, and with it the other boards. */
function withoutContact(machine: Machine, connector: Part, pin: string): Machine {
  const net = connector.pins.find((p) => p.pin === pin)!.net;
  const rename = (part: Part): Part => ({
    ...part,
    pins: part.pins.map((p) => (p.net === net ? { ...p, net: `${connector.name}.${pin}~` } : p)),
  });
  return { ...machine, parts: machine.parts.map((p) => (p.board === connector.board ? rename(p) : p)) };
}

/** A resistance between two pins of a part, or between its only two. */
function bridge(part: Part, letters: string, ohms: number): Part {
  const between = part.pins.filter((p) => letters === '' || letters.includes(p.pin));
  if (between.length !== 2) throw new Error(`${part.name} has no pins ${letters}`);
  return {
    ...part,
    ref: `${part.ref}~`,
    name: `${part.name}~`,
    kind: 'resistor',
    type: '',
    value: ohms,
    pins: between.map((p, i) => ({ pin: `${i + 1}`, net: p.net })),
  };
}
