/**
 * Loops of the signal flow, and where each can be opened or held. In a loop everything looks bad as soon as one stage is; it must be
 * opened or held before good inputs and a bad output say anything.
 */
import { type Machine, partNamed, pinsByNet } from '../machine/index.ts';
import { preferredValues } from '../quantity/index.ts';
import type { Drive } from './drives.ts';
import type { SignalFlow } from './signal-flow.ts';
import type { Stage } from './stages.ts';
import { shortestRings, strongParts } from './strong-parts.ts';

/** A way around: nets in the direction of the flow, the last leading to the first, and the stages that drive them. */
export interface Ring {
  readonly nets: readonly string[];
  readonly stages: readonly Stage[];
  readonly places: readonly Place[];
}

/** A largest set of nets of which each acts on each. */
export interface Loop {
  readonly nets: readonly string[];
  readonly stages: readonly Stage[];
  /** A shortest ring through each way from net to net, the smallest first. */
  readonly rings: readonly Ring[];
  /** Whether a supply is regulated by it: it is neither opened nor held with the boards in. */
  readonly regulates: boolean;
}

/**
 * Where a ring can be opened or held.
 *
 * `break`: flow.csv names it. `board`: `net` crosses from one board to another by connectors, so that either can be pulled. `hold`: a clip from
 * `net` to `to` through at most `ohms` holds the stage, cut off by its base or as if it conducted at its collector, and carries
 * at most `amperes`. `capacitor`: `part` couples, so that its lead can be lifted, the last resort.
 */
export type Place =
  | { readonly kind: 'break'; readonly net: string; readonly stage: string }
  | { readonly kind: 'board'; readonly net: string; readonly boards: readonly [from: string, to: string] }
  | {
      readonly kind: 'hold';
      readonly net: string;
      readonly to: string;
      readonly ohms: number;
      readonly amperes: number;
      /** `off`: the stage is cut off at its base. `on`: its collector stands as if it conducted. */
      readonly stands: 'off' | 'on';
      readonly stage: string;
    }
  | { readonly kind: 'capacitor'; readonly net: string; readonly part: string };

/**
 * What a hold may leave standing between the net and what it is held to, volts: below what germanium needs to conduct, 0.15 V.
 * Common practice, no source.
 */
export const HELD_VOLTS = 0.1;
/** The same at a collector, volts: a conducting stage's own level is 0.1 to 0.2 V. Common practice, no source. */
export const HELD_COLLECTOR_VOLTS = 0.2;
/** From here on a net is not held by a clip, volts. Source: IEC 61140, the limit of extra-low DC voltage (from memory). */
export const MOST_HELD_VOLTS = 60;
/** A clip through less than this is none that a slip forgives, ohms. Common practice, no source. */
const LEAST_HOLD_OHMS = 10;

/** All loops, the smallest first. */
export function loopsOf(machine: Machine, flow: SignalFlow): Loop[] {
  return strongParts(flow.next).map((nets) => {
    const regulates = nets.some((net) => flow.supplies.has(net));
    return {
      nets,
      stages: stagesAlong(flow, nets),
      rings: shortestRings(flow.next, nets).map((ring) => ({
        nets: ring,
        stages: stagesAlong(flow, ring),
        places: regulates ? [] : placesOf(machine, flow, ring),
      })),
      regulates,
    };
  });
}

function stagesAlong(flow: SignalFlow, nets: readonly string[]): Stage[] {
  return [...new Set(nets.flatMap((net) => flow.driversOf.get(net) ?? []))];
}

function placesOf(machine: Machine, flow: SignalFlow, ring: readonly string[]): Place[] {
  const places: Place[] = [];
  const drawn = stagesAlong(flow, ring).filter(({ breaks }) => breaks !== '');
  for (const breaks of new Set(drawn.map((stage) => stage.breaks)))
    places.push({
      kind: 'break',
      net: breaks,
      stage: drawn.find((stage) => stage.breaks === breaks)!.drawn!,
    });
  const steps = ring.map((net, i) => [net, ring[(i + 1) % ring.length]!] as const);
  for (const [net, follower] of steps) {
    const [from] = (flow.driversOf.get(net) ?? []).map(({ board }) => board);
    const [to] = (flow.driversOf.get(follower) ?? []).map(({ board }) => board);
    if (from === undefined || to === undefined || from === to) continue;
    if (hasPin(machine, net, from) && hasPin(machine, net, to))
      places.push({ kind: 'board', net, boards: [from, to] });
  }
  for (const [before, net] of steps) {
    const step = (flow.drives.get(net) ?? []).filter((drive) => drive.certain && drive.from.includes(before));
    const hold = holdAt(machine, flow, net, step);
    if (hold !== undefined) places.push(hold);
  }
  for (const [before, net] of steps)
    for (const drive of flow.drives.get(net) ?? [])
      if (drive.way === 'capacitor' && drive.certain && drive.from.includes(before))
        places.push({ kind: 'capacitor', net, part: drive.by });
  return places;
}

function hasPin(machine: Pick<Machine, 'parts'>, net: string, board: string): boolean {
  return (pinsByNet(machine).get(net) ?? []).some(
    ({ part }) => part.kind === 'connector' && part.board === board,
  );
}

/** How a net of a ring can be held, if the ring comes to it through a resistance or leaves it with a load of its own. */
function holdAt(
  machine: Machine,
  flow: SignalFlow,
  net: string,
  step: readonly Drive[],
): Extract<Place, { kind: 'hold' }> | undefined {
  if (flow.supplies.has(net)) return undefined;
  const pins = pinsByNet(machine).get(net) ?? [];
  const transistors = pins.filter(({ part }) => part.kind === 'transistor');
  const electrode = (name: string) => transistors.filter(({ pin }) => pin.pin === name);
  const emitterOf = (name: string) => partNamed(machine, name)?.pins.find(({ pin }) => pin === 'e')?.net;
  const hold = (stands: 'off' | 'on', part: string, resistance: number) => {
    const to = emitterOf(part);
    if (to === undefined || !flow.supplies.has(to)) return undefined;
    const { up, down } = mostVolts(machine, flow, net);
    const volts = to === machine.reference ? Math.max(up, -down) : up - down;
    if (volts <= 0 || volts >= MOST_HELD_VOLTS) return undefined;
    const left = stands === 'off' ? HELD_VOLTS : HELD_COLLECTOR_VOLTS;
    const ohms = preferredBelow((resistance * left) / volts);
    if (ohms < LEAST_HOLD_OHMS) return undefined;
    return { kind: 'hold' as const, net, to, ohms, amperes: volts / resistance, stands, stage: part };
  };

  const [base] = electrode('b');
  if (base !== undefined && transistors.length === 1) {
    // The clip has to overcome all that drives the base: resistors, and of diodes only those that bring short pulses.
    if (!step.some(({ way }) => way === 'resistor')) return undefined;
    let siemens = 0;
    for (const { way, by, from } of flow.drives.get(net) ?? []) {
      const part = partNamed(machine, by);
      if (way === 'resistor' && part?.kind === 'resistor' && part.value !== undefined)
        siemens += 1 / part.value;
      else if (way === 'resistor' || !(way === 'capacitor' || from.every((one) => steers(flow, one))))
        return undefined;
    }
    return hold('off', base.part.name, 1 / siemens);
  }
  const [collector] = electrode('c');
  if (collector === undefined || electrode('c').length !== transistors.length) return undefined;
  const emitters = new Set(electrode('c').map(({ part }) => emitterOf(part.name)));
  const polarities = new Set(electrode('c').map(({ part }) => machine.types.get(part.type)?.polarity));
  if (emitters.size !== 1 || polarities.size !== 1) return undefined;
  const loads = pins.flatMap(({ part }) =>
    part.kind !== 'connector' &&
    part.pins.some((pin) => pin.net !== net && flow.supplies.has(pin.net) && pin.net !== machine.reference)
      ? [part]
      : [],
  );
  if (loads.some(({ kind }) => kind !== 'resistor' && kind !== 'diode')) return undefined;
  const resistors = loads.filter(({ kind, value }) => kind === 'resistor' && value !== undefined);
  if (resistors.length === 0) return undefined;
  const siemens = resistors.reduce((sum, { value }) => sum + 1 / value!, 0);
  return hold('on', collector.part.name, 1 / siemens);
}

function steers(flow: SignalFlow, net: string): boolean {
  return (flow.driversOf.get(net) ?? []).every(({ kind }) => kind === 'pulse steering');
}

/** The largest preferred value of 10 % resistors that is no more than this. */
function preferredBelow(ohms: number): number {
  const decade = 10 ** Math.floor(Math.log10(ohms));
  const step = preferredValues('E12').findLast((value) => value * decade <= ohms) ?? 1;
  return Number((step * decade).toPrecision(2));
}

/** The highest rails above and below the reference, volts, that can make themselves felt on a net; 0 for none. */
export function mostVolts(
  machine: Pick<Machine, 'rails'>,
  flow: SignalFlow,
  net: string,
): { readonly up: number; readonly down: number } {
  const rails = new Map(machine.rails.map(({ net, volts }) => [net, volts]));
  const seen = new Set<string>();
  let [up, down] = [0, 0];
  const todo = [net];
  for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
    if (seen.has(one)) continue;
    seen.add(one);
    const volts = rails.get(one);
    if (volts !== undefined) {
      up = Math.max(up, volts);
      down = Math.min(down, volts);
      continue;
    }
    for (const { supplies, inputs, outputs } of flow.driversOf.get(one) ?? [])
      todo.push(...supplies, ...(flow.supplies.has(one) ? [...inputs, ...outputs] : []));
    // What comes to it through parts that do not amplify brings its own supplies along.
    for (const { from, way } of flow.drives.get(one) ?? [])
      if (way !== 'collector' && way !== 'emitter') todo.push(...from);
  }
  return { up, down };
}
