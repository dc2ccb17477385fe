/**
 * Stages of a traced circuit under the names of the trade, as far as the wiring shows them. A stage is a transistor with its load
 * and the network in front of its base, or a passive node such as a diode gate.
 */
import { type Machine, type Part, pinsByNet } from '../machine/index.ts';
import { type Drive, type TransistorNets, transistorsOf } from './drives.ts';
import { pairs } from './links.ts';
import { farNets, type SupplyNets, type Wiring } from './supply-nets.ts';

export type StageKind =
  | 'inverter'
  | 'lamp driver'
  | 'relay driver'
  | 'amplifier stage'
  | 'common-base stage'
  | 'follower'
  | 'complementary follower'
  | 'series regulator'
  | 'diode gate'
  | 'pulse steering'
  | 'RC coupling'
  | 'transformer'
  | 'divider'
  | 'resistor coupling'
  | 'diode coupling'
  | 'supply feed'
  | 'rail'
  | 'outside'
  | 'board'
  | 'drawn'
  | 'stage';

/** What several stages are together. */
export type GroupKind =
  | 'bistable'
  | 'monostable'
  | 'multivibrator'
  | 'Schmitt trigger'
  | 'emitter-coupled pair'
  | 'series regulator';

export interface StageGroup {
  readonly kind: GroupKind;
  /** Full names of its transistors. */
  readonly parts: readonly string[];
}

export interface Stage {
  /** Unique: the first part's full name, for a drawn stage `BOARD/STAGE`, for a rail or a net from outside the net. */
  readonly name: string;
  readonly kind: StageKind;
  /** Empty for a rail and for what comes from outside. */
  readonly board: string;
  /** Full names of its parts, transistors first. */
  readonly parts: readonly string[];
  readonly inputs: readonly string[];
  /** Every net that it drives, the one in front of its base included. */
  readonly outputs: readonly string[];
  /** Supplies that it hangs on, the reference left out. */
  readonly supplies: readonly string[];
  /** What it is together with others. */
  readonly group?: StageGroup;
  /** Of a diode gate: which input wins, the most positive or the most negative. */
  readonly wins?: 'highest' | 'lowest';
  /** The stage of flow.csv that it belongs to. */
  readonly drawn?: string;
  /** Where flow.csv says that a loop through it can be opened or held; empty when it does not say. */
  readonly breaks: string;
}

interface Growing {
  name: string;
  kind: StageKind;
  board: string;
  readonly transistors: TransistorNets[];
  readonly outputs: Set<string>;
  wins?: 'highest' | 'lowest';
  group?: StageGroup;
}

/** The stages that make up `drives`, and for each net the stage that owns it: the one that drives it, or drives it first. */
export function stagesOf(
  machine: Wiring,
  supplies: SupplyNets,
  drives: ReadonlyMap<string, readonly Drive[]>,
): Stage[] {
  const transistors = transistorsOf(machine);
  const byName = new Map(transistors.map((one) => [one.part.name, one]));
  const growing = new Map<string, Growing>();
  const owners = new Map<string, Growing[]>();
  const own = (stage: Growing, net: string): void => {
    stage.outputs.add(net);
    const there = owners.get(net);
    if (there === undefined) owners.set(net, [stage]);
    else if (!there.includes(stage)) there.push(stage);
  };

  for (const [net, list] of drives)
    for (const { by, way } of list) {
      const transistor = byName.get(by);
      if (transistor === undefined || (way !== 'collector' && way !== 'emitter')) continue;
      let stage = growing.get(by);
      if (stage === undefined) {
        stage = {
          name: by,
          kind: 'stage',
          board: transistor.part.board,
          transistors: [transistor],
          outputs: new Set(),
        };
        growing.set(by, stage);
      }
      own(stage, net);
    }
  // The network in front of a base belongs to its transistor, unless it is a gate in itself.
  for (const stage of [...growing.values()])
    for (const { b } of stage.transistors)
      if (
        !owners.has(b) &&
        drives.has(b) &&
        !supplies.has(b) &&
        gateWins(machine, drives.get(b)!, b) === undefined
      )
        own(stage, b);
  for (const [net, list] of drives) {
    if (owners.has(net)) continue;
    const kind = passiveKind(machine, supplies, net, list);
    const first = list[0]!;
    const part = machine.parts.find(({ name }) => name === first.by);
    const taken = growing.has(first.by);
    const name = part === undefined ? net : taken ? `${first.by} (${net})` : first.by;
    const wins = gateWins(machine, list, net);
    const stage: Growing = {
      name,
      kind,
      board: part?.board ?? '',
      transistors: [],
      outputs: new Set(),
      ...(wins === undefined ? {} : { wins }),
    };
    growing.set(name, stage);
    own(stage, net);
  }

  const stages = [...growing.values()];
  for (const stage of stages)
    if (stage.transistors.length > 0) stage.kind = activeKind(machine, supplies, drives, stage);
  nameGroups(supplies, drives, stages);
  const place = new Map(machine.parts.map((part, i) => [part.name, i]));
  const order = ({ parts }: Stage) => Math.min(...parts.map((name) => place.get(name) ?? -1), place.size);
  return stages
    .map((stage) => finished(machine, supplies, drives, stage))
    .sort((a, b) =>
      a.parts.length === 0 || b.parts.length === 0 ? a.parts.length - b.parts.length : order(a) - order(b),
    );
}

function finished(
  machine: Wiring,
  supplies: SupplyNets,
  drives: ReadonlyMap<string, readonly Drive[]>,
  { name, kind, board, transistors, outputs, wins, group }: Growing,
): Stage {
  const inputs = new Set<string>();
  const parts = new Set(transistors.map(({ part }) => part.name));
  const fed = new Set<string>();
  for (const net of outputs) {
    for (const { from, by, way } of drives.get(net) ?? []) {
      if (isTransistor(machine, by) && !parts.has(by)) continue;
      for (const one of from) if (!outputs.has(one)) inputs.add(one);
      if (way !== 'rail' && way !== 'outside') parts.add(by);
    }
    if (supplies.has(net)) continue;
    for (const { part } of pinsByNet(machine).get(net) ?? []) {
      if (part.kind === 'transistor' || part.kind === 'connector' || part.kind === 'other') continue;
      const far = farNets(part, net).filter((one) => supplies.has(one));
      if (far.length === 0) continue;
      parts.add(part.name);
      for (const one of far) fed.add(one);
    }
  }
  for (const { e, b, c } of transistors)
    for (const net of [e, b, c]) if (supplies.has(net) && !outputs.has(net)) fed.add(net);
  const hangs = [...fed].filter((net) => net !== machine.reference && !inputs.has(net));
  return {
    name,
    kind,
    board,
    parts: [...parts],
    inputs: [...inputs],
    outputs: [...outputs],
    supplies: hangs,
    ...(wins === undefined ? {} : { wins }),
    ...(group === undefined ? {} : { group }),
    breaks: '',
  };
}

function isTransistor(machine: Wiring, name: string): boolean {
  return machine.parts.some((part) => part.kind === 'transistor' && part.name === name);
}

/** Which input of a diode gate wins; `undefined` where not two diodes or more point the same way into the net, and for pulses. */
function gateWins(
  machine: Pick<Machine, 'parts'>,
  list: readonly Drive[],
  net: string,
): 'highest' | 'lowest' | undefined {
  let [toward, away] = [0, 0];
  if (list.some(({ way }) => way === 'capacitor')) return undefined;
  for (const { way, by } of list) {
    if (way !== 'diode') continue;
    const pins = (pinsByNet(machine).get(net) ?? []).filter(({ part }) => part.name === by);
    if (pins.some(({ part, pin }) => part.kind === 'diode' && pin.pin === 'k')) toward++;
    if (pins.some(({ part, pin }) => part.kind === 'diode' && pin.pin === 'a')) away++;
  }
  if (toward >= 2 && away === 0) return 'highest';
  return away >= 2 && toward === 0 ? 'lowest' : undefined;
}

function passiveKind(machine: Wiring, supplies: SupplyNets, net: string, list: readonly Drive[]): StageKind {
  const has = (way: Drive['way']) => list.some((one) => one.way === way);
  if (has('rail')) return 'rail';
  if (has('outside')) return 'outside';
  if (supplies.has(net)) return 'supply feed';
  if (gateWins(machine, list, net) !== undefined) return 'diode gate';
  const pins = pinsByNet(machine).get(net) ?? [];
  if (has('winding')) return 'transformer';
  if (has('capacitor')) {
    const leads = pins.some(({ part }) => part.kind === 'diode' && !list.some(({ by }) => by === part.name));
    return leads && pins.some(({ part }) => part.kind === 'resistor') ? 'pulse steering' : 'RC coupling';
  }
  if (has('diode'))
    return list.some(({ from }) => from.every((one) => supplies.has(one))) ? 'divider' : 'diode coupling';
  const grounded = pins.some(({ part }) =>
    pairs(part).some(
      ([a, b, kind]) => kind !== 'capacitor' && (a === net || b === net) && supplies.has(a === net ? b : a),
    ),
  );
  return grounded ? 'divider' : 'resistor coupling';
}

function activeKind(
  machine: Wiring,
  supplies: SupplyNets,
  drives: ReadonlyMap<string, readonly Drive[]>,
  { transistors: [transistor] }: Growing,
): StageKind {
  const { e, b, c, part } = transistor!;
  if (supplies.has(c)) {
    if (supplies.has(e)) return 'series regulator';
    const mate = transistorsOf(machine).find(
      (one) => one.part !== part && one.e === e && one.b === b && supplies.has(one.c),
    );
    const polarity = (one: Part) => machine.types.get(one.type)?.polarity;
    return mate !== undefined && polarity(mate.part) !== polarity(part)
      ? 'complementary follower'
      : 'follower';
  }
  if (supplies.has(b)) return 'common-base stage';
  const loads = (pinsByNet(machine).get(c) ?? []).filter(
    (one) => one.part !== part && farNets(one.part, c).some((far) => supplies.has(far)),
  );
  if (loads.some((one) => one.part.kind === 'lamp')) return 'lamp driver';
  if (loads.some((one) => one.part.kind === 'other')) return 'relay driver';
  const steady = (drives.get(b) ?? []).some(
    ({ way }) =>
      way === 'resistor' || way === 'diode' || way === 'collector' || way === 'emitter' || way === 'outside',
  );
  const coupled = (drives.get(b) ?? []).some(({ way }) => way === 'capacitor' || way === 'winding');
  const degenerated =
    !supplies.has(e) &&
    !transistorsOf(machine).some((one) => one.part !== part && (one.e === e || one.c === e));
  return degenerated || (coupled && !steady && !supplies.has(e)) ? 'amplifier stage' : 'inverter';
}

/** Names pairs of transistors that work together. Each stage is named once, the surest names first. */
function nameGroups(
  supplies: SupplyNets,
  drives: ReadonlyMap<string, readonly Drive[]>,
  stages: readonly Growing[],
): void {
  const active = stages.filter(({ transistors }) => transistors.length > 0);
  const name = (kind: GroupKind, members: readonly Growing[]): void => {
    if (members.some(({ group }) => group !== undefined)) return;
    const group = { kind, parts: members.map((one) => one.name) };
    for (const member of members) member.group = group;
  };
  const couplings = (from: Growing, to: Growing): ('steady' | 'capacitor')[] => {
    const { c } = from.transistors[0]!;
    const { b } = to.transistors[0]!;
    if (supplies.has(c)) return [];
    if (b === c) return ['steady'];
    return (drives.get(b) ?? [])
      .filter((one) => one.from.includes(c) && one.certain)
      .flatMap(({ way }) =>
        way === 'resistor' || way === 'diode'
          ? ['steady' as const]
          : way === 'capacitor'
            ? ['capacitor' as const]
            : [],
      );
  };
  active.forEach((one, i) => {
    for (const other of active.slice(i + 1)) {
      const [first, second] = [one.transistors[0]!, other.transistors[0]!];
      const there = couplings(one, other);
      const back = couplings(other, one);
      const shared = first.e === second.e && !supplies.has(first.e);
      if (there.length > 0 && back.length > 0) {
        const steady = [there, back].filter((way) => way.includes('steady')).length;
        name(steady === 2 ? 'bistable' : steady === 1 ? 'monostable' : 'multivibrator', [one, other]);
      } else if (shared && !supplies.has(first.c) && (there.includes('steady') || back.includes('steady'))) {
        name('Schmitt trigger', [one, other]);
      }
    }
  });
  active.forEach((one, i) => {
    for (const other of active.slice(i + 1)) {
      const [first, second] = [one.transistors[0]!, other.transistors[0]!];
      const pair = first.e === second.e && !supplies.has(first.e);
      if (pair && !(supplies.has(first.c) && supplies.has(second.c)))
        name('emitter-coupled pair', [one, other]);
    }
  });
}
