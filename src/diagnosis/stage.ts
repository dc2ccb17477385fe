/**
 * What is not traced: boards of which only the connectors are known, stages known by their signal flow, parts without a
 * model. They take part by what they do to the nets they share with the rest.
 *
 * A stage that works keeps its output near what the sound twin shows. A stage that fails, or one whose input is wrong,
 * may put anything out. So the stage with good inputs and a bad output stands out by itself.
 */
import { strongParts } from '../logic/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import { netOfPoint } from './site.ts';

export interface Stage {
  /** `BOARD/STAGE`, or `BOARD/board` for a board of which nothing but the connectors is known. */
  readonly name: string;
  readonly inputs: ReadonlySet<string>;
  readonly outputs: ReadonlySet<string>;
  /** Where a loop through this stage can be opened or held; empty when not known. */
  readonly breaks: string;
}

export interface Flow {
  readonly stages: readonly Stage[];
  /** Nets whose voltage the circuit cannot compute: stages put it out, or a part without a model hangs on it. */
  readonly learnt: ReadonlySet<string>;
  /** What of the flow depends on the points read: those that lie inside boards that are not traced, as text. */
  readonly inside: string;
}

const flows = new WeakMap<Machine, Flow>();

/** The stages of a machine and the nets that only a twin can tell the level of. */
export function flowOf(machine: Machine): Flow {
  let flow = flows.get(machine);
  if (!flow) {
    flow = computedFlow(machine);
    flows.set(machine, flow);
  }
  return flow;
}

function computedFlow(machine: Machine): Flow {
  const fixed = new Set([machine.reference, ...machine.rails.map((r) => r.net)]);
  const traced = new Set(
    machine.parts.filter((p) => p.kind !== 'connector' && p.kind !== 'other').map((p) => p.board),
  );
  /** Nets that a traced part's collector or emitter, or any other current path, can set. */
  const driven = new Set<string>();
  for (const p of machine.parts)
    if (p.kind === 'transistor') for (const pin of p.pins) if (pin.pin !== 'b') driven.add(pin.net);
  const stages: Stage[] = machine.flow.map((f) => ({
    name: `${f.board}/${f.stage}`,
    inputs: new Set(f.inputs),
    outputs: new Set(f.outputs),
    breaks: f.breaks,
  }));
  const described = new Set(machine.flow.map((f) => f.board));
  const boards = new Map<string, Set<string>>();
  for (const p of machine.parts)
    if (!traced.has(p.board) && !described.has(p.board)) {
      const nets = boards.get(p.board) ?? new Set();
      for (const pin of p.pins) if (!fixed.has(pin.net)) nets.add(pin.net);
      boards.set(p.board, nets);
    }
  // A point on no part at all lies inside some board that is not traced: it may be any of theirs.
  const onParts = new Set(machine.parts.flatMap((p) => p.pins.map((pin) => pin.net)));
  const places =
    boards.size === 0 ? [] : new Set([...machine.points, ...machine.readings].map((x) => x.point));
  const inside = new Set(
    [...places]
      .map((point) => netOfPoint(machine, point).net)
      .filter((net) => !onParts.has(net) && !fixed.has(net)),
  );
  for (const nets of boards.values()) for (const net of inside) nets.add(net);
  const put = new Set(stages.flatMap((s) => [...s.outputs]));
  for (const [board, nets] of boards) {
    // The direction is not known: what others are known to drive comes in, the rest may go out.
    const inputs = new Set([...nets].filter((n) => driven.has(n) || put.has(n)));
    const outputs = new Set([...nets].filter((n) => !inputs.has(n)));
    stages.push({ name: `${board}/board`, inputs, outputs, breaks: '' });
  }
  const learnt = new Set<string>();
  for (const s of stages) {
    // A stage of a traced board is a remark on what its parts do; the parts compute its nets.
    if (traced.has(s.name.slice(0, s.name.indexOf('/')))) continue;
    for (const n of s.outputs) learnt.add(n);
  }
  for (const p of machine.parts)
    if (p.kind === 'other') for (const pin of p.pins) if (!fixed.has(pin.net)) learnt.add(pin.net);
  return {
    stages: stages.filter((s) => !traced.has(s.name.slice(0, s.name.indexOf('/')))),
    learnt,
    inside: [...inside].join('\n'),
  };
}

/** Nets that may read anything when `bad` nets do: all that stages make of them, and so on through the flow. */
export function spoilt(flow: Flow, bad: Iterable<string>): Set<string> {
  const found = new Set(bad);
  for (let grown = true; grown; ) {
    grown = false;
    for (const s of flow.stages) {
      if (![...s.inputs].some((n) => found.has(n))) continue;
      for (const n of s.outputs)
        if (!found.has(n)) {
          found.add(n);
          grown = true;
        }
    }
  }
  return found;
}

/**
 * The machine's conditions for one unit, with every learnt net that the circuit needs fed at the level that this unit
 * shows there, or else a sound one. So the traced boards are judged by what really comes in.
 */
export function fedConditions(machine: Machine, unit: string | undefined): Machine['conditions'] {
  const { learnt } = flowOf(machine);
  if (learnt.size === 0) return machine.conditions;
  const healthy = new Set(machine.units.filter((u) => u.health === 'healthy').map((u) => u.id));
  const own = new Map<string, number>();
  const twin = new Map<string, number>();
  for (const r of machine.readings) {
    if (r.quantity !== 'V') continue;
    const { net } = netOfPoint(machine, r.point);
    if (!learnt.has(net)) continue;
    const key = `${r.condition}\n${net}`;
    if (r.unit === unit) own.set(key, r.value);
    else if (healthy.has(r.unit) && !twin.has(key)) twin.set(key, r.value);
  }
  const used = new Set(
    machine.parts.flatMap((p) =>
      p.kind === 'connector' || p.kind === 'other' ? [] : p.pins.map((x) => x.net),
    ),
  );
  return machine.conditions.map((c) => {
    // What stands still says nothing of a waveform.
    if (isRunning(c)) return c;
    const driven = new Set(c.drives.map((d) => d.net));
    const extra = [...learnt].flatMap((net) => {
      const volts = own.get(`${c.name}\n${net}`) ?? twin.get(`${c.name}\n${net}`);
      return volts === undefined || driven.has(net) || !used.has(net) ? [] : [{ net, volts, ohms: 0 }];
    });
    return extra.length === 0 ? c : { ...c, drives: [...c.drives, ...extra] };
  });
}

/** Spread of a point that the circuit does not compute between two sound units: 6 % and 0.1 V (common practice, no source). */
export function learntSigma(volts: number): number {
  return Math.hypot(0.06 * volts, 0.1);
}

/** Likewise of a time of its waveform: 15 % and 50 ns (common practice, no source). */
export function learntSeconds(seconds: number): number {
  return Math.hypot(0.15 * seconds, 50e-9);
}

/**
 * Stages that feed themselves through others, each loop as the stages in it. In a loop everything looks bad; it must be
 * opened or held first.
 */
export function loopsOf(flow: Flow): Stage[][] {
  const next = flow.stages.map((s, i): [string, string[]] => [
    `${i}`,
    flow.stages.flatMap((t, k) => ([...s.outputs].some((n) => t.inputs.has(n)) ? [`${k}`] : [])),
  ]);
  return strongParts(new Map(next)).map((part) => part.map((i) => flow.stages[Number(i)]!));
}

/** The unit that a fault table is made for: the first that is not believed healthy. */
export function tableUnit(machine: Machine): string | undefined {
  return machine.units.find((u) => u.health !== 'healthy')?.id;
}
