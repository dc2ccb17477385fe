import { type FlowStage, type Machine, untracedBoards } from '../machine/index.ts';
import { type Drive, drivesOf } from './drives.ts';
import { type Stage, type StageGroup, stagesOf } from './stages.ts';
import { strongParts } from './strong-parts.ts';
import { supplyNets, type Wiring } from './supply-nets.ts';

/** Where flow.csv and the traced circuit do not agree. */
export interface Contradiction {
  /** `BOARD/STAGE` of flow.csv. */
  readonly stage: string;
  readonly net: string;
  /** `driven elsewhere`: the wiring has another board drive it. `other way`: the wiring leads from an output to this input. */
  readonly kind: 'driven elsewhere' | 'other way';
  /** The part or stage that drives it by the wiring, or the output that leads to it. */
  readonly instead: string;
}

/** What drives what: nets, the stages between them, and what feeds them. */
export interface SignalFlow {
  /** For each net that is driven by something what drives it, sure drives first. */
  readonly drives: ReadonlyMap<string, readonly Drive[]>;
  readonly stages: readonly Stage[];
  /** The stages that drive a net. */
  readonly driversOf: ReadonlyMap<string, readonly Stage[]>;
  /** Nets that feed stages. The reference is among them. */
  readonly supplies: ReadonlySet<string>;
  /** Sure ways of the signal: each net with those that follow it. */
  readonly next: ReadonlyMap<string, ReadonlySet<string>>;
  readonly contradictions: readonly Contradiction[];
}

const flows = new WeakMap<readonly unknown[], { machine: Wiring; flow: SignalFlow }>();

/**
 * The signal flow of a machine, from its circuit where that is traced and from flow.csv where it is not. Computed once for a machine.
 */
export function signalFlow(machine: Wiring): SignalFlow {
  const kept = flows.get(machine.parts);
  if (kept !== undefined && sameWiring(kept.machine, machine)) return kept.flow;
  const flow = computedFlow(machine);
  flows.set(machine.parts, { machine, flow });
  return flow;
}

function sameWiring(a: Wiring, b: Wiring): boolean {
  return a.flow === b.flow && a.conditions === b.conditions && a.rails === b.rails && a.types === b.types;
}

function computedFlow(machine: Wiring): SignalFlow {
  const supplies = supplyNets(machine);
  const hidden = hiddenStages(machine, new Set(supplies.keys()));
  const given = new Set(hidden.flatMap(({ outputs }) => outputs));
  const wired = drivesOf(machine, supplies, given);
  const drives = new Map([...wired].map(([net, list]) => [net, [...list]]));
  const stages: Stage[] = [];
  for (const stage of hidden) {
    stages.push(stage);
    for (const net of stage.outputs) addDrawn(drives, stage, net);
  }
  const traced = stagesOf(machine, supplies, wired);
  const drawnOn = machine.flow.filter(({ board }) => isTraced(machine, board));
  for (const one of drawnOn) {
    // What the wiring does not say, the drawing may: its inner nets, or parts without a model.
    const open = one.outputs.filter((net) => !wired.has(net) && !supplies.has(net));
    if (open.length === 0) continue;
    const stage = drawnStage(one, open, supplies);
    stages.push(stage);
    for (const net of open) addDrawn(drives, stage, net);
  }
  stages.push(...traced.map((stage) => withDrawn(stage, drawnOn)));
  for (const list of drives.values()) list.sort((a, b) => Number(b.certain) - Number(a.certain));

  const next = new Map<string, Set<string>>();
  for (const [net, list] of drives)
    for (const { from, certain } of list)
      if (certain)
        for (const one of from) {
          const there = next.get(one);
          if (there === undefined) next.set(one, new Set([net]));
          else there.add(net);
        }
  const named = withRegulators(stages, next, new Set(supplies.keys()));
  const driversOf = new Map<string, Stage[]>();
  for (const stage of named)
    for (const net of stage.outputs) {
      const there = driversOf.get(net);
      if (there === undefined) driversOf.set(net, [stage]);
      else there.push(stage);
    }
  return {
    drives,
    stages: named,
    driversOf,
    supplies: new Set(supplies.keys()),
    next,
    contradictions: contradictionsOf(machine, drawnOn, wired, next, supplies),
  };
}

function addDrawn(drives: Map<string, Drive[]>, stage: Stage, net: string): void {
  const drive: Drive = { net, from: stage.inputs, way: 'drawn', by: stage.name, certain: true };
  const there = drives.get(net);
  if (there === undefined) drives.set(net, [drive]);
  else there.push(drive);
}

function isTraced({ parts }: Pick<Machine, 'parts'>, board: string): boolean {
  return parts.some((part) => part.board === board && part.kind !== 'connector' && part.kind !== 'other');
}

function drawnStage(
  { board, stage, inputs, outputs, breaks }: FlowStage,
  puts: readonly string[],
  supplies: ReadonlyMap<string, number>,
): Stage {
  return {
    name: `${board}/${stage}`,
    kind: 'drawn',
    board,
    parts: [],
    inputs: inputs.filter((net) => !supplies.has(net) && !outputs.includes(net)),
    outputs: puts,
    supplies: inputs.filter((net) => (supplies.get(net) ?? 0) > 0),
    drawn: `${board}/${stage}`,
    breaks,
  };
}

/**
 * Stages of boards that are not traced: as flow.csv draws them, else each board as one stage. Such a board takes in what others are
 * known to drive and may put out the rest. Parts without a model are read in the same way.
 */
function hiddenStages(machine: Wiring, supplies: ReadonlySet<string>): Stage[] {
  const orders = new Map([...supplies].map((net) => [net, 0]));
  const stages = machine.flow
    .filter(({ board }) => !isTraced(machine, board))
    .map((one) =>
      drawnStage(
        one,
        one.outputs.filter((net) => !supplies.has(net)),
        orders,
      ),
    );
  const driven = new Set(stages.flatMap(({ outputs }) => outputs));
  for (const part of machine.parts)
    if (part.kind === 'transistor') for (const { pin, net } of part.pins) if (pin !== 'b') driven.add(net);
  for (const { drives } of machine.conditions) for (const { net } of drives) driven.add(net);
  const described = new Set(machine.flow.map(({ board }) => board));
  const boards = untracedBoards(machine).filter((board) => !described.has(board));
  for (const board of boards) {
    const nets = new Set(
      machine.parts.filter((part) => part.board === board).flatMap(({ pins }) => pins.map(({ net }) => net)),
    );
    stages.push(unknownStage(`${board}/board`, board, 'board', nets, driven, supplies));
  }
  for (const part of machine.parts)
    if (part.kind === 'other' && !boards.includes(part.board) && !described.has(part.board)) {
      const nets = new Set(part.pins.map(({ net }) => net));
      stages.push(unknownStage(part.name, part.board, 'stage', nets, driven, supplies));
    }
  return stages.filter(({ outputs }) => outputs.length > 0);
}

function unknownStage(
  name: string,
  board: string,
  kind: 'board' | 'stage',
  nets: ReadonlySet<string>,
  driven: ReadonlySet<string>,
  supplies: ReadonlySet<string>,
): Stage {
  const signals = [...nets].filter((net) => !supplies.has(net));
  return {
    name,
    kind,
    board,
    parts: kind === 'board' ? [] : [name],
    inputs: signals.filter((net) => driven.has(net)),
    outputs: signals.filter((net) => !driven.has(net)),
    supplies: [...nets].filter((net) => supplies.has(net)),
    breaks: '',
  };
}

/** The stage with the one of flow.csv that puts out all that it puts out. */
function withDrawn(stage: Stage, drawn: readonly FlowStage[]): Stage {
  const one = drawn.find(
    ({ board, outputs }) => board === stage.board && stage.outputs.every((net) => outputs.includes(net)),
  );
  return one === undefined ? stage : { ...stage, drawn: `${one.board}/${one.stage}`, breaks: one.breaks };
}

/** Stages in a loop that holds a supply, named a regulator together. */
function withRegulators(
  stages: readonly Stage[],
  next: ReadonlyMap<string, ReadonlySet<string>>,
  supplies: ReadonlySet<string>,
): Stage[] {
  const groups = new Map<Stage, StageGroup>();
  for (const nets of strongParts(next)) {
    if (!nets.some((net) => supplies.has(net))) continue;
    const members = stages.filter(({ outputs }) => outputs.some((net) => nets.includes(net)));
    const active = members.filter(({ kind }) => ACTIVE.has(kind));
    const group = { kind: 'series regulator' as const, parts: active.map(({ name }) => name) };
    for (const member of active) if (member.group === undefined) groups.set(member, group);
  }
  return stages.map((stage) => {
    const group = groups.get(stage);
    return group === undefined ? stage : { ...stage, group };
  });
}

const ACTIVE: ReadonlySet<Stage['kind']> = new Set([
  'inverter',
  'lamp driver',
  'relay driver',
  'amplifier stage',
  'common-base stage',
  'follower',
  'complementary follower',
  'series regulator',
]);

function contradictionsOf(
  machine: Wiring,
  drawn: readonly FlowStage[],
  wired: ReadonlyMap<string, readonly Drive[]>,
  next: ReadonlyMap<string, ReadonlySet<string>>,
  supplies: ReadonlyMap<string, number>,
): Contradiction[] {
  const boardOf = new Map(machine.parts.map((part) => [part.name, part.board]));
  const found: Contradiction[] = [];
  for (const { board, stage, inputs, outputs } of drawn) {
    const name = `${board}/${stage}`;
    for (const net of outputs) {
      if (supplies.has(net)) continue;
      const sure = (wired.get(net) ?? []).filter(({ certain, way }) => certain && way !== 'outside');
      if (sure.length > 0 && sure.every(({ by }) => boardOf.get(by) !== board))
        found.push({ stage: name, net, kind: 'driven elsewhere', instead: sure[0]!.by });
    }
    const follows = reached(next, outputs);
    for (const net of inputs) {
      if (supplies.has(net) || outputs.includes(net) || !follows.has(net)) continue;
      const onward = reached(next, [net]);
      if (outputs.some((one) => onward.has(one))) continue;
      const from = outputs.find((one) => reached(next, [one]).has(net))!;
      found.push({ stage: name, net, kind: 'other way', instead: from });
    }
  }
  return found;
}

/** All nets that follow any of these, themselves only where they are reached again. */
function reached(next: ReadonlyMap<string, ReadonlySet<string>>, from: Iterable<string>): Set<string> {
  const seen = new Set<string>();
  const todo = [...from];
  for (let net = todo.pop(); net !== undefined; net = todo.pop())
    for (const one of next.get(net) ?? []) {
      if (seen.has(one)) continue;
      seen.add(one);
      todo.push(one);
    }
  return seen;
}
