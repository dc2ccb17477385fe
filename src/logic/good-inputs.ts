/**
 * Good inputs, bad output: from what looks good or bad to the stages that may be at fault. It needs no circuit, only what drives what,
 * and takes its verdicts from anywhere: levels, waveforms, a comparison with the twin.
 */

import type { Machine } from '../machine/index.ts';
import { type Loop, loopsOf } from './loops.ts';
import type { SignalFlow } from './signal-flow.ts';
import type { Stage } from './stages.ts';

export type Look = 'good' | 'bad';
/** How nets look in one state of the machine. A net that is not there has not been read, or cannot be told. */
export type Looks = ReadonlyMap<string, Look>;

/** A net that looks bad while nothing that drives it does, and the stages that drive it. */
export interface BadOutput {
  readonly net: string;
  /** All drive the net together; those with nothing bad in front of them. */
  readonly stages: readonly Stage[];
  /** What the stages follow that looks good. */
  readonly good: readonly string[];
  /** What the stages follow that has not been read: while there is any, the stage is not named. */
  readonly unread: readonly string[];
}

/** A loop in which all that was read looks bad. */
export interface BadLoop {
  readonly loop: Loop;
  /** Nets outside it that act on it. */
  readonly fed: readonly string[];
  /** `good`: all of them look good, so that the fault is in the loop. `bad`: one looks bad, look there first. */
  readonly feeds: 'good' | 'bad' | 'unread';
}

export interface NextLook {
  readonly state: string;
  readonly net: string;
  /** Stages still in question that are left if it looks bad, and if it looks good. */
  readonly bad: number;
  readonly good: number;
}

export interface FlowAnswer {
  /** Stages with good inputs and a bad output, those that show it in most states first; so the others. */
  readonly named: readonly (BadOutput & { readonly states: readonly string[] })[];
  /** Stages with a bad output and nothing bad further back, of whose inputs some were not read. */
  readonly open: readonly (BadOutput & { readonly states: readonly string[] })[];
  readonly loops: readonly (BadLoop & { readonly states: readonly string[] })[];
  /** The stages that alone could make everything look as it does; if there is none, those that explain most of it. */
  readonly candidates: readonly Stage[];
  /** What to look at next, what comes nearest to halving the candidates for its minutes first. */
  readonly next: readonly NextLook[];
}

/** Where a probe can go and what it costs. */
export interface Reach {
  readonly net: string;
  readonly minutes: number;
}

/** Looks in several states of the machine together. */
export function goodInputsBadOutput(
  machine: Machine,
  flow: SignalFlow,
  states: ReadonlyMap<string, Looks>,
  reach: readonly Reach[],
): FlowAnswer {
  const named = new Map<string, BadOutput & { states: string[] }>();
  const open = new Map<string, BadOutput & { states: string[] }>();
  const bad = new Map<string, BadLoop & { states: string[] }>();
  const loops = loopsOf(machine, flow);
  for (const [state, looks] of states) {
    for (const output of badOutputs(flow, looks)) {
      // Something bad further back, behind what was not read, explains it as well.
      if (output.unread.length > 0 && badBehind(flow, looks, output.net)) continue;
      const list = output.unread.length === 0 ? named : open;
      const there = list.get(output.net);
      if (there === undefined) list.set(output.net, { ...output, states: [state] });
      else there.states.push(state);
    }
    for (const loop of badLoops(flow, loops, looks)) {
      const key = `${loop.loop.nets.join('\n')}\n${loop.feeds}`;
      const there = bad.get(key);
      if (there === undefined) bad.set(key, { ...loop, states: [state] });
      else there.states.push(state);
    }
  }
  const candidates = candidatesOf(flow, states);
  // One that shows in many states is worth more than one in a few, which a reading just over the limit makes.
  const oftenest = <T extends { readonly states: readonly string[] }>(list: Iterable<T>): T[] =>
    [...list].sort((a, b) => b.states.length - a.states.length);
  return {
    named: oftenest(named.values()),
    open: oftenest(open.values()).filter(({ net }) => !named.has(net)),
    loops: oftenest(bad.values()),
    candidates: flow.stages.filter((stage) => candidates.has(stage)),
    next: nextLooks(flow, states, candidates, reach),
  };
}

/** Nets that look bad with nothing bad in front of them. */
export function badOutputs(flow: SignalFlow, looks: Looks): BadOutput[] {
  return [...looks].flatMap(([net, look]) => {
    if (look !== 'bad') return [];
    const stages = flow.driversOf.get(net) ?? [];
    if (stages.length === 0) return [];
    const sources = sourcesOf(flow, looks, net, stages);
    if ([...sources.all].some((one) => looks.get(one) === 'bad')) return [];
    const good = [...sources.certain].filter((one) => looks.get(one) === 'good');
    const unread = [...sources.certain].filter((one) => !looks.has(one));
    return [{ net, stages, good, unread }];
  });
}

/**
 * The nets that `net` follows. Nets inside the stages that were not read are looked through; supplies count only where they look
 * bad; ways that may run either way excuse a bad output and are not asked for.
 */
function sourcesOf(
  flow: SignalFlow,
  looks: Looks,
  net: string,
  stages: readonly Stage[],
): { readonly all: ReadonlySet<string>; readonly certain: ReadonlySet<string> } {
  const all = new Set(stages.flatMap(({ supplies }) => supplies));
  const certain = new Set<string>();
  const inner = new Set(stages.flatMap(({ outputs }) => outputs));
  const seen = new Set([net]);
  const todo = [net];
  for (let one = todo.pop(); one !== undefined; one = todo.pop())
    for (const drive of flow.drives.get(one) ?? [])
      for (const source of drive.from) {
        if (seen.has(source)) continue;
        if (inner.has(source) && !looks.has(source) && drive.certain) {
          seen.add(source);
          todo.push(source);
          continue;
        }
        all.add(source);
        if (drive.certain) certain.add(source);
      }
  return { all, certain };
}

/** Loops in which something looks bad and nothing good. */
export function badLoops(flow: SignalFlow, loops: readonly Loop[], looks: Looks): BadLoop[] {
  return loops.flatMap((loop) => {
    const read = loop.nets.flatMap((net) => looks.get(net) ?? []);
    if (read.length === 0 || read.includes('good')) return [];
    const inside = new Set(loop.nets);
    const fed = new Set<string>();
    for (const net of loop.nets)
      for (const { from, certain } of flow.drives.get(net) ?? [])
        if (certain) for (const one of from) if (!inside.has(one)) fed.add(one);
    const seen = [...fed].map((net) => looks.get(net));
    const feeds = seen.includes('bad') ? 'bad' : seen.includes(undefined) ? 'unread' : 'good';
    return [{ loop, fed: [...fed], feeds }];
  });
}

/** What a bad net can come from: the nets in front of it, itself included, back to those that look good. */
function behind(flow: SignalFlow, looks: Looks, net: string): Set<string> {
  const seen = new Set([net]);
  const todo = [net];
  for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
    const supplies = (flow.driversOf.get(one) ?? []).flatMap((stage) => stage.supplies);
    const bad = supplies.filter((supply) => looks.get(supply) === 'bad');
    for (const source of [...(flow.drives.get(one) ?? []).flatMap(({ from }) => from), ...bad]) {
      if (seen.has(source) || looks.get(source) === 'good') continue;
      seen.add(source);
      todo.push(source);
    }
  }
  return seen;
}

function badBehind(flow: SignalFlow, looks: Looks, net: string): boolean {
  return [...behind(flow, looks, net)].some((one) => one !== net && looks.get(one) === 'bad');
}

function stagesBehind(flow: SignalFlow, looks: Looks, net: string): Set<Stage> {
  return new Set([...behind(flow, looks, net)].flatMap((one) => flow.driversOf.get(one) ?? []));
}

/** The stages behind most of what looks bad. */
function candidatesOf(flow: SignalFlow, states: ReadonlyMap<string, Looks>): Set<Stage> {
  const explained = new Map<Stage, number>();
  for (const looks of states.values())
    for (const [net, look] of looks)
      if (look === 'bad')
        for (const stage of stagesBehind(flow, looks, net))
          explained.set(stage, (explained.get(stage) ?? 0) + 1);
  const most = Math.max(0, ...explained.values());
  return new Set([...explained].flatMap(([stage, count]) => (count === most ? [stage] : [])));
}

/** How many places are given. */
const MOST_NEXT = 8;

function nextLooks(
  flow: SignalFlow,
  states: ReadonlyMap<string, Looks>,
  candidates: ReadonlySet<Stage>,
  reach: readonly Reach[],
): NextLook[] {
  if (candidates.size < 2) return [];
  const worth: { look: NextLook; worth: number }[] = [];
  for (const [state, looks] of states) {
    if (![...looks.values()].includes('bad')) continue;
    for (const { net, minutes } of reach) {
      if (looks.has(net) || flow.supplies.has(net)) continue;
      const bad = [...stagesBehind(flow, looks, net)].filter((stage) => candidates.has(stage)).length;
      const good = candidates.size - bad;
      const least = Math.min(bad, good);
      if (least > 0) worth.push({ look: { state, net, bad, good }, worth: least / Math.max(minutes, 0.1) });
    }
  }
  worth.sort((a, b) => b.worth - a.worth);
  const seen = new Set<string>();
  return worth
    .filter(({ look }) => !seen.has(look.net) && seen.add(look.net))
    .slice(0, MOST_NEXT)
    .map(({ look }) => look);
}
