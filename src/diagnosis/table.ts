/**
 * The fault table: what every net reads in every state, sound and under every fault; of the states that run, what is told of its waveform.
 *
 * It depends on the machine's description alone, is computed in shares (one a worker thread) and kept as bytes. Of a
 * fault only the nets that it moves are stored.
 */
import { CircuitSolver, type Netlist, netlistOf, type OperatingPoint } from '../circuit/index.ts';
import {
  type Fault,
  faultHypotheses,
  type Hypothesis,
  isSeenRunningOnly,
  type RunningShare,
  RunningTable,
  runningShare,
  runsOf,
  SOLVES_OF_A_RUN,
} from '../faults/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import { fedConditions, tableUnit } from './stage.ts';

/** A net counts as moved by a fault from here on, volts. */
const LEAST_MOVE = 1e-3;
/** Input conductance of the meter that the table assumes: 10 Mohm. */
const TABLE_METER_SIEMENS = 1e-7;

/** What one worker computed: the faults of parts number `share`, `share + shares`, … in the order of `faultsOf`. */
export interface TableShare {
  readonly share: number;
  readonly shares: number;
  readonly ambient: number;
  /** For each fault of the share and each condition: how many nets moved; -1 no operating point, -2 as sound. */
  readonly counts: Int32Array;
  readonly nets: Int32Array;
  readonly volts: Float32Array;
  /** Volts of the open joint's own pin under the meter; NaN where the fault has none. */
  readonly pins: Float32Array;
  readonly stateLost: Uint8Array;
  /** Of the states that run; left out where there are none. */
  readonly running?: RunningShare;
  readonly steps: number;
  readonly solves: number;
  /** How many solves needed which aid, in the order of AIDS. */
  readonly aids: Int32Array;
}

const AIDS = ['none', 'state', 'shunts', 'sources', 'transient'] as const;

/** The temperature a table is computed at: that of the readings of the units believed faulty, else the machine's. */
export function tableAmbient(machine: Machine): number {
  const faulty = new Set(machine.units.filter((u) => u.health !== 'healthy').map((u) => u.id));
  const seen = machine.readings
    .filter((r) => faulty.has(r.unit) && r.ambient !== undefined)
    .map((r) => r.ambient!)
    .sort((a, b) => a - b);
  const middle = seen.length > 0 ? seen[seen.length >> 1]! : machine.ambient;
  return Math.round(middle);
}

/** Every fault at every severity, in a fixed order. */
function faultsOf(hypotheses: readonly Hypothesis[]): { fault: Fault; hypothesis: number }[] {
  return hypotheses.flatMap((h, hypothesis) => h.faults.map((fault) => ({ fault, hypothesis })));
}

/** The share that computes each hypothesis: all of one part go together, since some are the same circuit. */
function sharesOf(hypotheses: readonly Hypothesis[], shares: number): Int32Array {
  let part = -1;
  let last = '';
  return Int32Array.from(hypotheses, (h) => {
    if (h.part !== last) part++;
    last = h.part;
    return shares > 0 ? part % shares : 0;
  });
}

/** Sound operating points of all conditions, at the table's temperature. */
export function soundPoints(
  solver: CircuitSolver,
  conditions: Machine['conditions'],
  ambient: number,
): OperatingPoint[] {
  solver.setParts(undefined, ambient);
  return conditions.map((c) => solver.solve(c, { accuracy: 'fine' }));
}

/**
 * Computes one share of the table. Structured-cloneable, so that it can come from a worker.
 *
 * @param onProgress called now and then with the solves done and to do of this share
 * @param atRest     only the states that stand still, which take a small part of the time
 */
export function tableShare(
  machine: Machine,
  share: number,
  shares: number,
  onProgress?: (done: number, total: number) => void,
  atRest = false,
): TableShare {
  const netlist = netlistOf(machine);
  const solver = new CircuitSolver(netlist);
  const ambient = tableAmbient(machine);
  const conditions = fedConditions(machine, tableUnit(machine));
  const sound = soundPoints(solver, conditions, ambient);
  const hypotheses = faultHypotheses(netlist);
  const shareOf = sharesOf(hypotheses, shares);
  const own = faultsOf(hypotheses).filter((f) => shareOf[f.hypothesis] === share);
  const counts = new Int32Array(own.length * conditions.length);
  const pins = new Float32Array(own.length * conditions.length).fill(Number.NaN);
  const stateLost = new Uint8Array(own.length * conditions.length);
  const aids = new Int32Array(AIDS.length);
  let steps = 0;
  let solves = 0;
  const twins = twinsOf(own.map((f) => f.fault));
  const twinned = new Set(twins);
  const standing = own.length * conditions.length;
  const runs = atRest ? 0 : runsOf(machine, own.length, shares);
  const total = standing + SOLVES_OF_A_RUN * runs;
  const running = machine.conditions.map(isRunning);
  // State after state, so that what is linearised for one fault serves the next.
  const moved = conditions.map((condition, c) => {
    const nets: number[] = [];
    const volts: number[] = [];
    const base = sound[c]!;
    // Grades of one mode follow each other: the milder one is the start of the next.
    let before: OperatingPoint | undefined;
    let mode = -1;
    const points: (OperatingPoint | undefined)[] = [];
    own.forEach(({ fault, hypothesis }, f) => {
      if (onProgress && f % 16 === 0) onProgress(c * own.length + f, total);
      const at = f * conditions.length + c;
      // A state that runs has no level that stands still, and what only it shows moves no other.
      if (running[c] || isSeenRunningOnly(fault.edit)) return;
      if (!base.converged) {
        counts[at] = -1;
        return;
      }
      if (hypothesis !== mode) before = undefined;
      mode = hypothesis;
      const start = before?.converged ? before : base;
      let point = twins[f]! >= 0 ? points[twins[f]!] : undefined;
      if (!point) {
        point = solver.solve(condition, {
          edit: fault.edit,
          start: start.volts,
          stateLost: !start.stateHeld,
          sound: base.volts,
          accuracy: 'table',
        });
        steps += point.steps;
        solves++;
        aids[AIDS.indexOf(point.aid)]!++;
      }
      before = point;
      if (twinned.has(f)) points[f] = point;
      if (!point.converged) {
        counts[at] = -1;
        return;
      }
      stateLost[at] = point.stateHeld ? 0 : 1;
      const first = nets.length;
      for (let i = 0; i < point.volts.length; i++) {
        if (!(Math.abs(point.volts[i]! - base.volts[i]!) > LEAST_MOVE)) continue;
        nets.push(i);
        volts.push(point.volts[i]!);
      }
      counts[at] = nets.length - first;
      if (fault.pin) pins[at] = pinVolts(solver, condition, fault, point, base.volts);
    });
    return { nets, volts };
  });
  const waves =
    runs > 0
      ? runningShare(
          solver,
          own.map(({ fault }) => fault),
          {
            ...{ share, shares, ambient },
            onProgress: (done) => onProgress?.(standing + SOLVES_OF_A_RUN * done, total),
          },
        )
      : undefined;
  onProgress?.(total, total);
  const { nets, volts } = byFault(moved, counts);
  return {
    share,
    shares,
    ambient,
    counts,
    nets,
    volts,
    pins,
    stateLost,
    ...(waves === undefined ? {} : { running: waves }),
    steps,
    solves,
    aids,
  };
}

/**
 * For each fault the number of an earlier one of the same part that is the same circuit, or -1. An open joint is the same
 * circuit as an open part; only the pin's own reading tells them apart.
 */
function twinsOf(faults: readonly Fault[]): Int32Array {
  let part = '';
  const known = new Map<string, number>();
  return Int32Array.from(faults, (fault, f) => {
    if (fault.part !== part) known.clear();
    part = fault.part;
    if (fault.grade) return -1;
    const circuit = JSON.stringify(fault.edit);
    const twin = known.get(circuit) ?? -1;
    if (twin < 0) known.set(circuit, f);
    return twin;
  });
}

/** What each condition's pass over the faults has found, as one list in the order of `counts`: fault by fault. */
function byFault(
  passes: readonly { readonly nets: readonly number[]; readonly volts: readonly number[] }[],
  counts: Int32Array,
): { nets: Int32Array; volts: Float32Array } {
  const size = passes.reduce((sum, pass) => sum + pass.nets.length, 0);
  const nets = new Int32Array(size);
  const volts = new Float32Array(size);
  const next = passes.map(() => 0);
  let at = 0;
  for (let cell = 0; cell < counts.length; cell++) {
    const c = cell % passes.length;
    for (let k = 0; k < counts[cell]!; k++) {
      nets[at] = passes[c]!.nets[next[c]!]!;
      volts[at++] = passes[c]!.volts[next[c]!++]!;
    }
  }
  return { nets, volts };
}

/** Volts of the open joint's pin with the table's meter on it; `sound` as for `solve`. */
export function pinVolts(
  solver: CircuitSolver,
  condition: Machine['conditions'][number],
  fault: Fault,
  point: OperatingPoint,
  sound?: Float64Array,
): number {
  const pin = fault.pin!;
  if (!pin.metered) return pin.volts(point.volts, TABLE_METER_SIEMENS, point.opened, solver.values.celsius);
  const metered = solver.solve(condition, {
    edit: pin.metered(TABLE_METER_SIEMENS),
    start: point.volts,
    stateLost: !point.stateHeld,
    ...(sound && { sound }),
    accuracy: 'table',
  });
  const best = metered.converged ? metered : point;
  return pin.volts(best.volts, TABLE_METER_SIEMENS, best.opened, solver.values.celsius);
}

/** The whole table, ready to be asked. */
export class FaultTable {
  readonly machine: Machine;
  readonly netlist: Netlist;
  /** The machine's conditions in their order, with what is learnt of nets that the circuit does not compute. */
  readonly conditions: Machine['conditions'];
  readonly ambient: number;
  readonly hypotheses: readonly Hypothesis[];
  readonly faults: readonly { fault: Fault; hypothesis: number }[];
  readonly solves: number;
  readonly steps: number;
  readonly aids: Int32Array;
  /** Sound operating points by condition; of a running one where it rests before time 0. */
  readonly sound: readonly OperatingPoint[];
  /** Of the states that run; undefined where there are none. */
  readonly running: RunningTable | undefined;
  private readonly shares: readonly TableShare[];
  private readonly starts: readonly Int32Array[];
  /** Share of each fault, and its number within it. */
  private readonly place: (readonly [number, number])[];

  constructor(
    machine: Machine,
    shares: readonly TableShare[],
    ready?: {
      readonly conditions: Machine['conditions'];
      readonly sound: readonly OperatingPoint[];
      readonly running?: RunningTable | undefined;
    },
  ) {
    this.machine = machine;
    this.netlist = netlistOf(machine);
    this.conditions = ready?.conditions ?? fedConditions(machine, tableUnit(machine));
    this.hypotheses = faultHypotheses(this.netlist);
    this.faults = faultsOf(this.hypotheses);
    this.shares = [...shares].sort((a, b) => a.share - b.share);
    this.ambient = shares[0]?.ambient ?? tableAmbient(machine);
    this.sound = ready?.sound ?? soundPoints(new CircuitSolver(this.netlist), this.conditions, this.ambient);
    this.starts = this.shares.map((s) => {
      const starts = new Int32Array(s.counts.length + 1);
      for (let i = 0; i < s.counts.length; i++) starts[i + 1] = starts[i]! + Math.max(0, s.counts[i]!);
      return starts;
    });
    this.place = this.faults.map(() => [0, 0] as const);
    const next = this.shares.map(() => 0);
    const shareOf = sharesOf(this.hypotheses, this.shares.length);
    this.faults.forEach(({ hypothesis }, fault) => {
      const share = shareOf[hypothesis]!;
      this.place[fault] = [share, next[share]!++];
    });
    const waves = this.shares.flatMap(({ running }) => running ?? []);
    this.running =
      ready?.running ?? (waves.length > 0 ? new RunningTable(this.netlist, waves, this.place) : undefined);
    this.solves = this.shares.reduce((sum, s) => sum + s.solves, 0);
    this.steps = this.shares.reduce((sum, s) => sum + s.steps, 0);
    this.aids = Int32Array.from(AIDS, (_, i) => this.shares.reduce((sum, s) => sum + s.aids[i]!, 0));
  }

  /** A table without faults, for what asks only for sound levels. */
  static soundOnly(
    machine: Machine,
    conditions: Machine['conditions'],
    sound: readonly OperatingPoint[],
    running?: RunningTable,
  ): FaultTable {
    return new FaultTable(machine, [], { conditions, sound, running });
  }

  private at(
    fault: number,
    condition: number,
  ): { share: TableShare; index: number; start: number; end: number } {
    const [which, within] = this.place[fault]!;
    const share = this.shares[which]!;
    const index = within * this.machine.conditions.length + condition;
    return { share, index, start: this.starts[which]![index]!, end: this.starts[which]![index + 1]! };
  }

  /** False when no operating point was found for this fault in this condition. */
  known(fault: number, condition: number): boolean {
    const { share, index } = this.at(fault, condition);
    return share.counts[index]! !== -1;
  }

  /** The fault has destroyed the state that the condition's hints name. */
  stateLost(fault: number, condition: number): boolean {
    const { share, index } = this.at(fault, condition);
    return share.stateLost[index] === 1;
  }

  /** Volts of `net` under fault number `fault`; the sound value where the fault does not move it. */
  volts(fault: number, condition: number, net: number): number {
    const { share, start, end } = this.at(fault, condition);
    let lo = start;
    let hi = end - 1;
    while (lo <= hi) {
      const mid = (lo + hi) >> 1;
      const n = share.nets[mid]!;
      if (n === net) return share.volts[mid]!;
      if (n < net) lo = mid + 1;
      else hi = mid - 1;
    }
    return this.sound[condition]!.volts[net]!;
  }

  /** Calls `visit` for each net that the fault moves. */
  moved(fault: number, condition: number, visit: (net: number, volts: number) => void): void {
    const { share, start, end } = this.at(fault, condition);
    for (let i = start; i < end; i++) visit(share.nets[i]!, share.volts[i]!);
  }

  /** Volts at the open joint's own pin, NaN when the fault has none. */
  pin(fault: number, condition: number): number {
    const { share, index } = this.at(fault, condition);
    return share.pins[index]!;
  }

  /** The table as bytes; `fromBytes` gives it back for the same machine. */
  toBytes(): Uint8Array {
    const pieces: Uint8Array[] = [];
    const head: unknown[] = [];
    const view = (a: { buffer: ArrayBufferLike; byteOffset: number; byteLength: number }): void => {
      pieces.push(new Uint8Array(a.buffer, a.byteOffset, a.byteLength));
    };
    for (const s of this.shares) {
      head.push({
        share: s.share,
        shares: s.shares,
        ambient: s.ambient,
        cells: s.counts.length,
        moved: s.nets.length,
        steps: s.steps,
        solves: s.solves,
        aids: [...s.aids],
        running: s.running && RUNNING.map((field) => s.running![field].length),
      });
      view(s.counts);
      view(s.nets);
      view(s.volts);
      view(s.pins);
      view(s.stateLost);
      if (s.running) for (const field of RUNNING) view(s.running[field]);
    }
    const text = new TextEncoder().encode(JSON.stringify(head));
    const size = HEAD + text.length + pieces.reduce((sum, p) => sum + p.length, 0);
    const bytes = new Uint8Array(size);
    const data = new DataView(bytes.buffer);
    data.setUint32(0, MARK, true);
    data.setUint32(8, text.length, true);
    bytes.set(text, HEAD);
    let at = HEAD + text.length;
    for (const p of pieces) {
      bytes.set(p, at);
      at += p.length;
    }
    data.setUint32(4, checkSum(data), true);
    return bytes;
  }

  /** The table in `bytes`, or undefined when they are damaged or do not fit this machine. */
  static fromBytes(machine: Machine, bytes: Uint8Array): FaultTable | undefined {
    try {
      const data = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
      if (data.getUint32(0, true) !== MARK || data.getUint32(4, true) !== checkSum(data)) return undefined;
      const length = data.getUint32(8, true);
      const head = JSON.parse(new TextDecoder().decode(bytes.subarray(HEAD, HEAD + length))) as (Omit<
        TableShare,
        'counts' | 'nets' | 'volts' | 'pins' | 'stateLost' | 'aids' | 'running'
      > & { cells: number; moved: number; aids: number[]; running?: number[] })[];
      let at = HEAD + length;
      const take = (size: number): ArrayBuffer => {
        const piece = bytes.slice(at, at + size);
        if (piece.length !== size) throw new RangeError('table ends early');
        at += size;
        return piece.buffer as ArrayBuffer;
      };
      const shares = head.map(
        (h): TableShare => ({
          share: h.share,
          shares: h.shares,
          ambient: h.ambient,
          steps: h.steps,
          solves: h.solves,
          aids: Int32Array.from(h.aids),
          counts: new Int32Array(take(4 * h.cells)),
          nets: new Int32Array(take(4 * h.moved)),
          volts: new Float32Array(take(4 * h.moved)),
          pins: new Float32Array(take(4 * h.cells)),
          stateLost: new Uint8Array(take(h.cells)),
          ...(h.running ? { running: takenRunning(h.running, take) } : {}),
        }),
      );
      if (at !== bytes.length) return undefined;
      const table = new FaultTable(machine, shares);
      const cells = shares.reduce((sum, s) => sum + s.counts.length, 0);
      return cells === table.faults.length * machine.conditions.length &&
        table.ambient === tableAmbient(machine)
        ? table
        : undefined;
    } catch {
      return undefined;
    }
  }
}

/** In the order in which they are kept. */
const RUNNING = ['followed', 'sound', 'draws', 'counts', 'nets', 'rows'] as const;

function takenRunning(lengths: readonly number[], take: (bytes: number) => ArrayBuffer): RunningShare {
  const [followed, sound, draws, counts, nets, rows] = lengths as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return {
    followed: new Uint8Array(take(followed)),
    sound: new Float32Array(take(4 * sound)),
    draws: new Float32Array(take(4 * draws)),
    counts: new Int32Array(take(4 * counts)),
    nets: new Int32Array(take(4 * nets)),
    rows: new Float32Array(take(4 * rows)),
  };
}

const MARK = 0x33544653;
/** Mark, check sum, length of the description that follows. */
const HEAD = 12;

/** A sum over all that stands behind it, which any single damaged word changes: each step can be undone. */
function checkSum(data: DataView): number {
  let sum = data.byteLength;
  let at = 8;
  for (; at + 4 <= data.byteLength; at += 4) {
    sum = Math.imul(sum ^ data.getUint32(at, true), 0x85ebca6b);
    sum = (sum << 13) | (sum >>> 19);
  }
  for (; at < data.byteLength; at++) sum = Math.imul(sum ^ data.getUint8(at), 0x85ebca6b);
  return sum >>> 0;
}

/** Joins shares, all of them in any order, into the table. */
export function faultTable(machine: Machine, shares: readonly TableShare[]): FaultTable {
  return new FaultTable(machine, shares);
}

/** Text of everything the table depends on: the same text, the same table. */
export function tableKey(machine: Machine): string {
  const used = new Set(machine.parts.map((p) => p.type));
  return JSON.stringify({
    ambient: tableAmbient(machine),
    reference: machine.reference,
    rails: machine.rails,
    // Not the words that bring a unit there.
    conditions: fedConditions(machine, tableUnit(machine)).map(({ name, drives, hints, watch }) => ({
      name,
      drives,
      hints,
      watch,
    })),
    parts: machine.parts.map(({ note: _, ...p }) => p),
    types: [...machine.types.values()].filter((t) => used.has(t.type)),
  });
}
