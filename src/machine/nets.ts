import type { Instrument, Machine, Part, Pin, Point } from './model.ts';
import { NET_MINUTES, PIN_MINUTES } from './sheets/points.ts';

/** A pin of a part. */
export interface PinOfPart {
  readonly part: Part;
  readonly pin: Pin;
}

/** The parts of a description that nets are in. */
type Wiring = Pick<Machine, 'reference' | 'rails' | 'parts' | 'conditions' | 'flow'>;

/** The input resistance of a meter that is not named, ohms. Source: the folder format. */
export const DEFAULT_METER_OHMS = 10e6;

const indices = new WeakMap<readonly Part[], Index>();

interface Index {
  readonly pins: ReadonlyMap<string, readonly PinOfPart[]>;
  readonly parts: ReadonlyMap<string, Part>;
}

function indexOf(parts: readonly Part[]): Index {
  const kept = indices.get(parts);
  if (kept !== undefined) return kept;
  const pins = new Map<string, PinOfPart[]>();
  for (const part of parts) {
    for (const pin of part.pins) {
      const there = pins.get(pin.net);
      if (there === undefined) pins.set(pin.net, [{ part, pin }]);
      else there.push({ part, pin });
    }
  }
  const index = { pins, parts: new Map(parts.map((part) => [part.name, part])) };
  indices.set(parts, index);
  return index;
}

/** The pins on each net that has any, nets in the order in which parts name them. Computed once for a list of parts. */
export function pinsByNet(machine: Pick<Machine, 'parts'>): ReadonlyMap<string, readonly PinOfPart[]> {
  return indexOf(machine.parts).pins;
}

/** The part by its full name, `BOARD/REF`. */
export function partNamed(machine: Pick<Machine, 'parts'>, name: string): Part | undefined {
  return indexOf(machine.parts).parts.get(name);
}

/** The pin that `BOARD/REF.pin` names; `undefined` when there is none, as for the name of a net. */
export function pinNamed(machine: Pick<Machine, 'parts'>, name: string): PinOfPart | undefined {
  const slash = name.indexOf('/');
  const point = slash < 0 ? -1 : name.indexOf('.', slash);
  if (point < 0) return undefined;
  const part = partNamed(machine, name.slice(0, point));
  const pin = part?.pins.find((candidate) => candidate.pin === name.slice(point + 1));
  return part === undefined || pin === undefined ? undefined : { part, pin };
}

/** The net that pin `BOARD/REF.pin` is soldered to; `undefined` when there is no such pin. */
export function pinNet(machine: Pick<Machine, 'parts'>, name: string): string | undefined {
  return pinNamed(machine, name)?.pin.net;
}

/**
 * The net that reads at a point of a sound machine: the net of that name, else the net of that pin;
 * `undefined` when there is neither.
 */
export function pointNet(machine: Wiring, point: string): string | undefined {
  return netSet(machine).has(point) ? point : pinNet(machine, point);
}

const netSets = new WeakMap<
  readonly Part[],
  { readonly wiring: Wiring; readonly nets: ReadonlySet<string> }
>();

/** The names of all nets as a set; see `netsOf`. Computed once for a machine. */
export function netSet(machine: Wiring): ReadonlySet<string> {
  const kept = netSets.get(machine.parts);
  if (
    kept !== undefined &&
    kept.wiring.rails === machine.rails &&
    kept.wiring.flow === machine.flow &&
    kept.wiring.reference === machine.reference
  ) {
    return kept.nets;
  }
  const nets = new Set([
    machine.reference,
    ...machine.rails.map(({ net }) => net),
    ...pinsByNet(machine).keys(),
  ]);
  for (const { inputs, outputs, breaks } of machine.flow) {
    for (const net of [...inputs, ...outputs, breaks]) if (net !== '') nets.add(net);
  }
  netSets.set(machine.parts, { wiring: machine, nets });
  return nets;
}

/** The names of all nets: the reference, the rails, those that parts name, those of the signal flow; each once, in this order. */
export function netsOf(machine: Wiring): readonly string[] {
  return [...netSet(machine)];
}

/** The names of all boards, in the order in which the parts, then the signal flow, name them. */
export function boardsOf(machine: Pick<Machine, 'parts' | 'flow'>): readonly string[] {
  return [...new Set([...machine.parts, ...machine.flow].map(({ board }) => board))];
}

/** The boards that are not traced: with nothing but connectors, or known from the signal flow alone. */
export function untracedBoards(machine: Pick<Machine, 'parts' | 'flow'>): readonly string[] {
  const traced = new Set(machine.parts.filter(({ kind }) => kind !== 'connector').map(({ board }) => board));
  return boardsOf(machine).filter((board) => !traced.has(board));
}

/** The points of a folder without points.csv: every net but the reference, then every transistor and diode pin. Source: the folder format. */
export function defaultPoints(machine: Wiring): readonly Point[] {
  const nets = netsOf(machine)
    .filter((net) => net !== machine.reference)
    .map((point): Point => ({ point, minutes: NET_MINUTES, note: '' }));
  const pins = machine.parts
    .filter(({ kind }) => kind === 'transistor' || kind === 'diode')
    .flatMap(({ name, pins }) =>
      pins.map(({ pin }): Point => ({ point: `${name}.${pin}`, minutes: PIN_MINUTES, note: '' })),
    );
  return [...nets, ...pins];
}

/** The instrument by its id; `undefined` for one that is not listed, which reads with `DEFAULT_METER_OHMS`. */
export function instrumentNamed(machine: Pick<Machine, 'instruments'>, id: string): Instrument | undefined {
  return machine.instruments.find((instrument) => instrument.id === id);
}
