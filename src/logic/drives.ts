/**
 * For each net what drives it, found from the parts alone. A transistor's base drives its collector and its emitter. A passive
 * part carries the signal away from what is driven by a transistor or from outside, and toward bases; a diode between two
 * driven nets by its polarity. Where that leaves both ways open, both drives are there and neither is `certain`.
 */
import { type Machine, type Part, pinsByNet } from '../machine/index.ts';
import { type Link, type LinkKind, pairs, signalLinks } from './links.ts';
import type { SupplyNets, Wiring } from './supply-nets.ts';

export type DriveWay = 'collector' | 'emitter' | LinkKind | 'rail' | 'outside' | 'drawn';

/** One thing that acts on a net. */
export interface Drive {
  readonly net: string;
  /** The nets that it follows; none for a rail and for what comes from outside. */
  readonly from: readonly string[];
  readonly way: DriveWay;
  /** The part that it goes through, `BOARD/REF`; of a drawn stage its name, from outside the connector's pin. */
  readonly by: string;
  /** False where the wiring leaves the direction open. */
  readonly certain: boolean;
}

/** What stands at the three electrodes of a transistor. */
export interface TransistorNets {
  readonly part: Part;
  readonly e: string;
  readonly b: string;
  readonly c: string;
}

/** The transistors that have all three electrodes in the wiring. */
export function transistorsOf(machine: Wiring): TransistorNets[] {
  return machine.parts.flatMap((part) => {
    if (part.kind !== 'transistor') return [];
    const at = (name: string) => part.pins.find(({ pin }) => pin === name)?.net;
    const [e, b, c] = [at('e'), at('b'), at('c')];
    return e === undefined || b === undefined || c === undefined ? [] : [{ part, e, b, c }];
  });
}

/**
 * The drives of every net that has any, supplies included.
 *
 * @param given  nets that something driven from elsewhere puts out: drawn stages, boards that are not traced
 */
export function drivesOf(
  machine: Wiring,
  supplies: SupplyNets,
  given: ReadonlySet<string>,
): Map<string, Drive[]> {
  const drives = new Map<string, Drive[]>();
  const add = (drive: Drive): void => {
    const there = drives.get(drive.net);
    if (there === undefined) drives.set(drive.net, [drive]);
    else there.push(drive);
  };
  for (const { net } of machine.rails) add({ net, from: [], way: 'rail', by: net, certain: true });
  const transistors = transistorsOf(machine);
  for (const drive of transistorDrives(transistors, supplies)) add(drive);

  const bases = new Set(transistors.map(({ b }) => b));
  const links = signalLinks(machine, supplies);
  const outside = outsideNets(machine, supplies, links, new Set([...drives.keys(), ...given]));
  for (const [net, by] of outside) add({ net, from: [], way: 'outside', by, certain: true });

  const sources = new Set([...[...drives.keys()].filter((net) => !supplies.has(net)), ...given]);
  const levels = signalLevels(machine, supplies, links, sources, bases);
  const strength = strengths(machine, transistors);
  for (const link of links)
    for (const drive of linkDrives(link, levels, sources, bases, strength)) add(drive);
  for (const drive of supplyDrives(machine, supplies, drives)) add(drive);
  for (const [net] of pinsByNet(machine)) {
    if (supplies.has(net) || drives.has(net)) continue;
    for (const drive of dividerDrives(machine, supplies, net)) add(drive);
  }
  return drives;
}

/** What transistors do: collector and emitter follow the base; a collector also an emitter that is driven by others. */
function* transistorDrives(transistors: readonly TransistorNets[], supplies: SupplyNets): Generator<Drive> {
  const order = (net: string) => supplies.get(net) ?? Number.POSITIVE_INFINITY;
  for (const { part, e, b, c } of transistors) {
    const drive = (net: string, way: 'collector' | 'emitter', from: readonly string[]): Drive => {
      const follows = new Set(from.filter((one) => one !== net && !supplies.has(one)));
      return { net, from: [...follows], way, by: part.name, certain: true };
    };
    const others = transistors.filter((one) => one.part !== part);
    const shared = others.some((one) => one.e === e || one.c === e);
    if (!supplies.has(c)) yield drive(c, 'collector', shared ? [b, e] : [b]);
    const stacked = !supplies.has(c) && others.some((one) => one.c === e);
    if (!supplies.has(e) && e !== b && e !== c && !supplies.has(b) && !stacked)
      yield drive(e, 'emitter', [b]);
    // Both on supplies: a regulator. It makes the one that is made of others, the later of two.
    if (supplies.has(e) && supplies.has(c) && e !== c) {
      const [net, way, source] =
        order(e) >= order(c) ? ([e, 'emitter', c] as const) : ([c, 'collector', e] as const);
      if (order(net) > 0)
        yield {
          net,
          from: [b, source].filter((one) => one !== net && (order(one) > 0 || one === b)),
          way,
          by: part.name,
          certain: true,
        };
    }
  }
}

/** Signal nets that come from outside, with the pin that they come in by, or empty when none is known. */
function outsideNets(
  machine: Wiring,
  supplies: SupplyNets,
  links: readonly Link[],
  driven: ReadonlySet<string>,
): Map<string, string> {
  const found = new Map<string, string>();
  const pinOf = (net: string): string => {
    const at = (pinsByNet(machine).get(net) ?? []).find(({ part }) => part.kind === 'connector');
    return at === undefined ? '' : `${at.part.name}.${at.pin.pin}`;
  };
  const free = (net: string) => !supplies.has(net) && !driven.has(net);
  for (const { drives } of machine.conditions)
    for (const { net } of drives) if (free(net)) found.set(net, pinOf(net));
  // A pin that hangs on a driven net by a passive part puts that net's signal out; any other takes something in.
  const near = new Set<string>();
  const stands = (net: string) => driven.has(net) || found.has(net);
  for (const { a, b } of links) {
    if (stands(a)) near.add(b);
    if (stands(b)) near.add(a);
  }
  for (const part of machine.parts)
    if (part.kind === 'connector')
      for (const { net } of part.pins)
        if (free(net) && !near.has(net) && !found.has(net)) found.set(net, pinOf(net));
  return found;
}

/**
 * How many passive parts each net is away from the nearest source. Bases end the way of a signal, so that it is looked for
 * through a base only where nothing else leads on; what hangs on supplies alone comes from them.
 */
function signalLevels(
  machine: Wiring,
  supplies: SupplyNets,
  links: readonly Link[],
  sources: ReadonlySet<string>,
  bases: ReadonlySet<string>,
): Map<string, number> {
  const near = new Map<string, string[]>();
  for (const { a, b } of links)
    for (const [one, other] of [
      [a, b],
      [b, a],
    ] as const) {
      const there = near.get(one);
      if (there === undefined) near.set(one, [other]);
      else there.push(other);
    }
  const levels = new Map([...sources].map((net) => [net, 0]));
  const spread = (from: Iterable<string>, throughBases: boolean): void => {
    const queue = [...from];
    for (let i = 0; i < queue.length; i++) {
      const net = queue[i]!;
      if (bases.has(net) && !sources.has(net) && !throughBases) continue;
      for (const next of near.get(net) ?? []) {
        if (levels.has(next)) continue;
        levels.set(next, levels.get(net)! + 1);
        queue.push(next);
      }
    }
  };
  spread(sources, false);
  for (const reference of [false, true]) {
    const fed = [...near.keys()].filter(
      (net) => !levels.has(net) && !bases.has(net) && hangsOnSupply(machine, supplies, net, reference),
    );
    for (const net of fed) levels.set(net, 1);
    spread(fed, false);
  }
  spread([...levels.keys()], true);
  return levels;
}

function hangsOnSupply(machine: Wiring, supplies: SupplyNets, net: string, reference: boolean): boolean {
  return (pinsByNet(machine).get(net) ?? []).some(({ part }) =>
    pairs(part).some(([a, b, kind]) => {
      if (kind !== 'resistor' && part.kind !== 'zener') return false;
      const far = a === net ? b : b === net ? a : undefined;
      return far !== undefined && supplies.has(far) && (far === machine.reference) === reference;
    }),
  );
}

/** To which side a net is pulled with force: a transistor of PNP type pulls its collector up, one of NPN type down. */
interface Strength {
  readonly up: boolean;
  readonly down: boolean;
}

function strengths(
  machine: Pick<Machine, 'types'>,
  transistors: readonly TransistorNets[],
): (net: string) => Strength {
  const found = new Map<string, Strength>();
  const join = (net: string, more: Strength): void => {
    const { up = false, down = false } = found.get(net) ?? {};
    found.set(net, { up: up || more.up, down: down || more.down });
  };
  for (const { part, e, c } of transistors) {
    const polarity = machine.types.get(part.type)?.polarity;
    join(c, { up: polarity !== 'npn', down: polarity !== 'pnp' });
    join(e, { up: true, down: true });
  }
  return (net) => found.get(net) ?? { up: true, down: true };
}

function* linkDrives(
  { a, b, part, kind }: Link,
  levels: ReadonlyMap<string, number>,
  sources: ReadonlySet<string>,
  bases: ReadonlySet<string>,
  strength: (net: string) => Strength,
): Generator<Drive> {
  const levelA = levels.get(a);
  const levelB = levels.get(b);
  if (levelA === undefined || levelB === undefined) return;
  const drive = (from: string, net: string, certain: boolean): Drive => {
    return { net, from: [from], way: kind, by: part.name, certain };
  };
  const forward = drive(a, b, true);
  const back = drive(b, a, true);
  const either = [drive(a, b, false), drive(b, a, false)];
  if (sources.has(a) && sources.has(b)) {
    if (kind !== 'diode' || part.kind === 'zener') return yield* either;
    // It carries what lifts its anode to the cathode, and what pulls its cathode down to the anode.
    const lifts = strength(a).up;
    const pulls = strength(b).down;
    if (lifts === pulls) return yield* either;
    return yield lifts ? forward : back;
  }
  if (sources.has(a) || sources.has(b)) return yield sources.has(a) ? forward : back;
  if (bases.has(a) !== bases.has(b)) return yield bases.has(b) ? forward : back;
  if (levelA !== levelB) return yield levelA < levelB ? forward : back;
  if (kind !== 'winding') yield* either;
}

/** What feeds a supply that no transistor makes: the least resistance in line, else the part that joins it to a supply. */
function* supplyDrives(
  machine: Wiring,
  supplies: SupplyNets,
  drives: ReadonlyMap<string, Drive[]>,
): Generator<Drive> {
  for (const [net, order] of supplies) {
    if (order === 0 || drives.has(net)) continue;
    let best: { ohms: number; far: string; part: Part } | undefined;
    for (const { part } of pinsByNet(machine).get(net) ?? []) {
      for (const [a, b, kind] of pairs(part)) {
        const far = a === net ? b : b === net ? a : undefined;
        if (kind !== 'resistor' || far === undefined || far === net || far === machine.reference) continue;
        if ((supplies.get(far) ?? 0) > order) continue;
        const inLine = part.kind === 'fuse' || part.kind === 'switch' || part.kind === 'inductor';
        const ohms = inLine ? 0 : (part.value ?? Number.MAX_VALUE);
        if (best === undefined || ohms < best.ohms) best = { ohms, far, part };
      }
    }
    if (best !== undefined)
      yield { net, from: [best.far], way: 'resistor', by: best.part.name, certain: true };
  }
}

/** What hangs between supplies only: a divider, or a zener with its resistor. The reference is no input. */
function* dividerDrives(machine: Wiring, supplies: SupplyNets, net: string): Generator<Drive> {
  const referred: Drive[] = [];
  let fed = false;
  for (const { part } of pinsByNet(machine).get(net) ?? []) {
    for (const [a, b, kind] of pairs(part)) {
      const far = a === net ? b : b === net ? a : undefined;
      if (far === undefined || !supplies.has(far) || kind === 'capacitor') continue;
      if (far === machine.reference) {
        referred.push({ net, from: [], way: kind, by: part.name, certain: true });
        continue;
      }
      fed = true;
      yield { net, from: [far], way: kind, by: part.name, certain: true };
    }
  }
  if (!fed) yield* referred;
}
