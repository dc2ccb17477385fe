/** The ways from one signal net to another through a part that does not amplify. */
import type { Part } from '../machine/index.ts';
import type { SupplyNets, Wiring } from './supply-nets.ts';

export type LinkKind = 'resistor' | 'capacitor' | 'diode' | 'winding';

/** Two different signal nets and the part between them. Of a diode or zener `a` is the anode's net. */
export interface Link {
  readonly a: string;
  readonly b: string;
  readonly part: Part;
  readonly kind: LinkKind;
}

/** All links between nets that are no supplies. Lamps, fuses, switches, chokes and trimmers count as resistances. */
export function signalLinks(machine: Wiring, supplies: SupplyNets): Link[] {
  return machine.parts.flatMap((part) =>
    pairs(part).flatMap(([a, b, kind]) =>
      a === b || supplies.has(a) || supplies.has(b) ? [] : [{ a, b, part, kind }],
    ),
  );
}

/** Pairs of nets that a part joins, supplies among them. */
export function pairs(part: Part): [string, string, LinkKind][] {
  const at = (pin: string) => part.pins.find((one) => one.pin === pin)?.net;
  const pair = (
    a: string | undefined,
    b: string | undefined,
    kind: LinkKind,
  ): [string, string, LinkKind][] => (a === undefined || b === undefined ? [] : [[a, b, kind]]);
  switch (part.kind) {
    case 'resistor':
    case 'inductor':
    case 'lamp':
    case 'fuse':
    case 'switch':
      return pair(at('1'), at('2'), 'resistor');
    case 'trimmer': {
      const wiper = at('w');
      return wiper === undefined
        ? pair(at('1'), at('2'), 'resistor')
        : [...pair(at('1'), wiper, 'resistor'), ...pair(wiper, at('2'), 'resistor')];
    }
    case 'capacitor':
      return pair(at('1'), at('2'), 'capacitor');
    case 'diode':
    case 'zener':
      return pair(at('a'), at('k'), 'diode');
    case 'transformer':
      return part.pins.flatMap((one, i) =>
        part.pins.slice(i + 1).flatMap((other) => pair(one.net, other.net, 'winding')),
      );
    default:
      return [];
  }
}
