/**
 * The running table: what is told of the waveform of every net in every running condition, sound, with its parts as they may differ in
 * sound units, and under every fault.
 *
 * The spread of sound units comes from seeded draws of all parts, storages, rails and the room together: two dozen runs tell how far
 * every figure strays and which stray together, edges that bend included, where one run for each parameter would be some two hundred.
 */
import type { CircuitSolver, Edit, Netlist } from '../../circuit/index.ts';
import { movingNets, stirs, storageOf } from '../../circuit/index.ts';
import { type Condition, isRunning, type Machine } from '../../machine/index.ts';
import type { Fault } from '../fault.ts';
import { nearFigures, ROW, sameFigures, writeFigures } from './figures.ts';
import { type Course, courseLike, type SoundCourse, soundCourse } from './follow.ts';
import { isFollowable } from './span.ts';

/** Draws of a sound unit. */
export const DRAWS = 24;
/** A deviation is no further than so many spreads. */
const MOST_SPREADS = 2.5;
/** What a run counts for beside a solve of the static table, in the progress. */
export const SOLVES_OF_A_RUN = 60;
/** A net whose volts differ from the sound ones by no more at any of so many instants has the sound figures. */
const SAME_VOLTS = 0.01;
const LOOKS = 257;

/** What one worker computed. */
export interface RunningShare {
  /** By running condition: 1 when the sound circuit can be followed, 2 when it does not come to repeat with its drives. */
  readonly followed: Uint8Array;
  /** Rows of figures: by running condition, by net. */
  readonly sound: Float32Array;
  /** Likewise, by draw first: the share's own draws. */
  readonly draws: Float32Array;
  /** By running condition, by fault of the share: how many nets moved; -1 when it cannot be followed. */
  readonly counts: Int32Array;
  readonly nets: Int32Array;
  /** A row for each of `nets`. */
  readonly rows: Float32Array;
}

/** Numbers of the conditions that run and can be followed. */
function runningConditions({ conditions }: Machine): number[] {
  return conditions.flatMap((condition, i) => (isRunning(condition) && isFollowable(condition) ? [i] : []));
}

export interface RunningWork {
  readonly share: number;
  readonly shares: number;
  /** Room, °C. */
  readonly ambient: number;
  readonly onProgress?: (runs: number) => void;
}

/** How many runs a share makes at most. */
export function runsOf(machine: Machine, faults: number, shares: number): number {
  return runningConditions(machine).length * (faults + Math.ceil(DRAWS / Math.max(1, shares)));
}

/** Computes the running part of a share: of the faults `own`, and its part of the draws. Leaves the solver at nominal parts. */
export function runningShare(
  solver: CircuitSolver,
  own: readonly Fault[],
  { share, shares, ambient, onProgress }: RunningWork,
): RunningShare {
  const { netlist } = solver;
  const { machine } = netlist;
  const conditions = runningConditions(machine).map((i) => machine.conditions[i]!);
  const nets = netlist.nets.length;
  const drawn = Array.from({ length: DRAWS }, (_, d) => d).filter((d) => d % shares === share);
  const followed = new Uint8Array(conditions.length);
  const sound = new Float32Array(conditions.length * nets * ROW).fill(Number.NaN);
  const draws = new Float32Array(drawn.length * conditions.length * nets * ROW).fill(Number.NaN);
  const counts = new Int32Array(conditions.length * own.length).fill(-1);
  const movedNets: number[] = [];
  const rows: Float32Array[] = [];
  let runs = 0;
  solver.setParts(undefined, ambient);
  conditions.forEach((condition, c) => {
    const base = keptCourse(solver, condition, ambient);
    if (base === undefined) return;
    followed[c] = base.settled ? 1 : 2;
    // What stands still in it is read in a state that stands still, and what lies there alone changes nothing of what moves.
    const moving = movingIn(netlist, condition);
    const told = Array.from(moving.keys()).filter((net) => moving[net] !== 0);
    const at = c * nets * ROW;
    for (const net of told) writeFigures(base.instants, base.volts[net]!, sound, at + net * ROW);
    drawn.forEach((draw, k) => {
      onProgress?.(++runs);
      const storage = new Float64Array(storageOf(netlist).parameters.length);
      solver.setParts(drawnDeviations(netlist, draw, storage), ambient);
      const course = courseLike(solver, condition, base, { storageDeviations: storage });
      const from = (k * conditions.length + c) * nets * ROW;
      if (course !== undefined)
        for (const net of told) writeFigures(course.instants, course.volts[net]!, draws, from + net * ROW);
    });
    solver.setParts(undefined, ambient);
    const soundRow = (net: number): Float32Array => sound.subarray(at + net * ROW, at + (net + 1) * ROW);
    const known = new Map<string, Moved | undefined>();
    const moved = new Array<Moved | undefined>(own.length);
    const follow = (f: number): Moved | undefined => {
      const { part, edit } = own[f]!;
      if (!stirs(netlist, edit, moving)) {
        moved[f] = UNMOVED;
        return UNMOVED;
      }
      // An open joint is the circuit of the open part.
      const circuit = `${part} ${JSON.stringify(edit)}`;
      if (!known.has(circuit))
        known.set(
          circuit,
          movedBy(told, base, () => courseLike(solver, condition, base, { edit }), soundRow),
        );
      moved[f] = known.get(circuit);
      return moved[f];
    };
    for (const [first, last] of gradesOf(own)) {
      const begin = follow(first);
      if (last > first) between(first, begin, last, follow(last), soundRow, follow, moved);
      runs += last - first + 1;
      onProgress?.(runs);
    }
    moved.forEach((found, f) => {
      if (found === undefined) return;
      counts[c * own.length + f] = found.nets.length;
      for (const net of found.nets) movedNets.push(net);
      for (const row of found.rows) rows.push(row);
    });
  });
  const flat = new Float32Array(rows.length * ROW);
  rows.forEach((row, i) => {
    flat.set(row, i * ROW);
  });
  return { followed, sound, draws, counts, nets: Int32Array.from(movedNets), rows: flat };
}

/** The running table of the sound circuit alone, with all draws. */
export function soundShare(solver: CircuitSolver, ambient: number): RunningShare {
  return runningShare(solver, [], { share: 0, shares: 1, ambient });
}

const courses = new WeakMap<
  Condition,
  { ambient: number; machine: Machine; course: SoundCourse | undefined }
>();

/** The sound course of a condition at nominal parts, found once for all shares that one thread computes. */
function keptCourse(solver: CircuitSolver, condition: Condition, ambient: number): SoundCourse | undefined {
  const { machine } = solver.netlist;
  const known = courses.get(condition);
  if (known?.machine === machine && known.ambient === ambient) return known.course;
  const course = soundCourse(solver, condition);
  courses.set(condition, { ambient, machine, course });
  return course;
}

/** The nets that a fault moves, rising, and their rows. */
interface Moved {
  readonly nets: number[];
  readonly rows: Float32Array[];
}
const UNMOVED: Moved = { nets: [], rows: [] };

/** Which nets can move in a running condition: see `movingNets`. */
function movingIn(netlist: Netlist, { drives, hints }: Condition): Uint8Array {
  const at = (net: string): number => netlist.netIndex.get(net)!;
  return movingNets(
    netlist,
    drives.map(({ net, ohms, wave }) => ({
      net: at(net),
      stiff: ohms === 0,
      moves: wave !== undefined && wave.kind !== 'constant',
    })),
    hints.map(({ net }) => at(net)),
  );
}

/** The severities of one mode that lie beside each other, by their first and last number; others by themselves. */
function gradesOf(own: readonly Fault[]): (readonly [number, number])[] {
  const groups: [number, number][] = [];
  own.forEach((fault, f) => {
    const before = own[f - 1];
    const together = before !== undefined && before.part === fault.part && before.mode === fault.mode;
    // The two halves of a trimmer are no severities.
    if (together && /\d/.test(fault.severity)) groups.at(-1)![1] = f;
    else groups.push([f, f]);
  });
  return groups;
}

/**
 * The severities between two that were followed: where those tell nearly the same, in between; else the middle one is followed, and so
 * on.
 */
function between(
  first: number,
  begin: Moved | undefined,
  last: number,
  end: Moved | undefined,
  soundRow: (net: number) => Float32Array,
  follow: (f: number) => Moved | undefined,
  moved: (Moved | undefined)[],
): void {
  if (last - first < 2) return;
  if (begin !== undefined && end !== undefined && near(begin, end, soundRow)) {
    for (let f = first + 1; f < last; f++)
      moved[f] = mixed(begin, end, (f - first) / (last - first), soundRow);
    return;
  }
  const middle = (first + last) >> 1;
  const found = follow(middle);
  between(first, begin, middle, found, soundRow, follow, moved);
  between(middle, found, last, end, soundRow, follow, moved);
}

function rowIn({ nets, rows }: Moved, net: number, soundRow: (net: number) => Float32Array): Float32Array {
  const at = nets.indexOf(net);
  return at < 0 ? soundRow(net) : rows[at]!;
}

function near(a: Moved, b: Moved, soundRow: (net: number) => Float32Array): boolean {
  return [...new Set([...a.nets, ...b.nets])].every((net) =>
    nearFigures(rowIn(a, net, soundRow), rowIn(b, net, soundRow)),
  );
}

function mixed(a: Moved, b: Moved, share: number, soundRow: (net: number) => Float32Array): Moved {
  const nets = [...new Set([...a.nets, ...b.nets])].sort((x, y) => x - y);
  const rows = nets.map((net) => {
    const other = rowIn(b, net, soundRow);
    return rowIn(a, net, soundRow).map((x, i) => x + share * (other[i]! - x));
  });
  return { nets, rows };
}

function movedBy(
  told: readonly number[],
  sound: SoundCourse,
  run: () => Course | undefined,
  soundRow: (net: number) => Float32Array,
): Moved | undefined {
  const course = run();
  if (course === undefined) return undefined;
  const nets: number[] = [];
  const rows: Float32Array[] = [];
  const looks = lookedAt(sound.instants, course.instants);
  for (const net of told) {
    if (looks.same(sound.volts[net]!, course.volts[net]!)) continue;
    const row = new Float32Array(ROW);
    writeFigures(course.instants, course.volts[net]!, row, 0);
    if (sameFigures(soundRow(net), row)) continue;
    nets.push(net);
    rows.push(row);
  }
  return { nets, rows };
}

/** Compares two waveforms on instants of the first one. */
function lookedAt(
  first: Float64Array,
  second: Float64Array,
): { same: (a: Float64Array, b: Float64Array) => boolean } {
  const stride = Math.max(1, Math.floor(first.length / LOOKS));
  const ours: number[] = [];
  const theirs: number[] = [];
  const shares: number[] = [];
  let j = 0;
  for (let i = 0; i < first.length; i += stride) {
    const t = first[i]!;
    while (j + 2 < second.length && second[j + 1]! < t) j++;
    const step = second[j + 1]! - second[j]!;
    ours.push(i);
    theirs.push(j);
    shares.push(step > 0 ? Math.max(0, Math.min(1, (t - second[j]!) / step)) : 0);
  }
  return {
    same: (a, b) => {
      for (let k = 0; k < ours.length; k++) {
        const v = b[theirs[k]!]! + shares[k]! * (b[theirs[k]! + 1]! - b[theirs[k]!]!);
        const off = a[ours[k]!]! - v;
        if (off > SAME_VOLTS || off < -SAME_VOLTS) return false;
        if (Number.isNaN(a[ours[k]!]!) !== Number.isNaN(v)) return false;
      }
      return true;
    },
  };
}

/** All parameters of a sound unit, drawn; those of the storage are written into `storage`. The same number, the same unit. */
export function drawnDeviations(netlist: Netlist, draw: number, storage: Float64Array): Float64Array {
  const normal = normals(draw);
  const parts = Float64Array.from(netlist.parameters, normal);
  for (let i = 0; i < storage.length; i++) storage[i] = normal();
  return parts;
}

/** Standard normal numbers within MOST_SPREADS, of a seed. */
function normals(seed: number): () => number {
  let state = Math.imul(seed + 1, 0x9e3779b1) >>> 0;
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
  return () => {
    const x = Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
    return Math.max(-MOST_SPREADS, Math.min(MOST_SPREADS, x));
  };
}

/** The shares put together, ready to be asked. */
export class RunningTable {
  /** Numbers of the machine's conditions that run. */
  readonly conditions: readonly number[];
  private readonly shares: readonly RunningShare[];
  private readonly nets: number;
  /** Share of each fault, and its number within it. */
  private readonly place: readonly (readonly [number, number])[];
  private readonly starts: readonly Int32Array[];
  private readonly number: ReadonlyMap<number, number>;

  /** @param place  share of each fault and its number among the share's own */
  constructor(
    { machine, nets }: Netlist,
    shares: readonly RunningShare[],
    place: readonly (readonly [number, number])[],
  ) {
    this.conditions = runningConditions(machine);
    this.number = new Map(this.conditions.map((condition, c) => [condition, c]));
    this.shares = shares;
    this.nets = nets.length;
    this.place = place;
    this.starts = shares.map(({ counts }) => {
      const starts = new Int32Array(counts.length + 1);
      for (let i = 0; i < counts.length; i++) starts[i + 1] = starts[i]! + Math.max(0, counts[i]!);
      return starts;
    });
  }

  /** Of the sound circuit and one fault, or none: what is asked of any other is that one. */
  static of(
    solver: CircuitSolver,
    ambient: number,
    faults: number,
    fault?: Fault,
    sound: RunningShare = soundShare(solver, ambient),
  ): RunningTable {
    // A share behind the last one has no draws.
    const none = { share: DRAWS, shares: DRAWS + 1, ambient };
    const { counts, nets, rows } = fault ? runningShare(solver, [fault], none) : sound;
    return new RunningTable(
      solver.netlist,
      [{ ...sound, counts, nets, rows }],
      Array.from({ length: faults }, () => [0, 0] as const),
    );
  }

  /** Whether the sound circuit was followed in this condition. */
  followed(condition: number): boolean {
    const c = this.number.get(condition);
    return c !== undefined && (this.shares[0]?.followed[c] ?? 0) > 0;
  }

  /** False where the sound circuit does not come to repeat with its drives: what is told is of its last period. */
  settled(condition: number): boolean {
    const c = this.number.get(condition);
    return c !== undefined && this.shares[0]?.followed[c] === 1;
  }

  /** The figures of a net of the sound circuit. */
  sound(condition: number, net: number): Float32Array {
    return this.rowIn(this.shares[0]!.sound, (this.number.get(condition)! * this.nets + net) * ROW);
  }

  /** The figures of a net in each sound unit that was drawn. */
  drawn(condition: number, net: number): Float32Array[] {
    const c = this.number.get(condition)!;
    const count = this.conditions.length;
    return this.shares.flatMap(({ draws }) =>
      Array.from({ length: draws.length / (count * this.nets * ROW) }, (_, k) =>
        this.rowIn(draws, ((k * count + c) * this.nets + net) * ROW),
      ),
    );
  }

  /** False where the circuit under the fault could not be followed. */
  known(fault: number, condition: number): boolean {
    return this.followed(condition) && this.at(fault, condition).count >= 0;
  }

  /** The figures of a net under a fault: of one that it leaves alone the sound ones; undefined where it cannot be followed. */
  row(fault: number, condition: number, net: number): Float32Array | undefined {
    if (!this.followed(condition)) return undefined;
    const { share, start, count } = this.at(fault, condition);
    if (count < 0) return undefined;
    for (let i = start; i < start + count; i++)
      if (share.nets[i] === net) return this.rowIn(share.rows, i * ROW);
    return this.sound(condition, net);
  }

  /** Whether the fault moves the net, or cannot be followed. */
  moves(fault: number, condition: number, net: number): boolean {
    const { share, start, count } = this.at(fault, condition);
    if (count < 0) return true;
    for (let i = start; i < start + count; i++) if (share.nets[i] === net) return true;
    return false;
  }

  /** Whether two faults tell the same of every waveform. */
  alike(a: number, b: number): boolean {
    return this.conditions.every((condition) => {
      if (!this.followed(condition)) return true;
      if (!this.known(a, condition) || !this.known(b, condition)) return false;
      for (let net = 0; net < this.nets; net++)
        if (
          (this.moves(a, condition, net) || this.moves(b, condition, net)) &&
          !sameFigures(this.row(a, condition, net)!, this.row(b, condition, net)!)
        )
          return false;
      return true;
    });
  }

  private at(fault: number, condition: number): { share: RunningShare; start: number; count: number } {
    const [which, within] = this.place[fault]!;
    const share = this.shares[which]!;
    const own = share.counts.length / this.conditions.length;
    const cell = this.number.get(condition)! * own + within;
    return { share, start: this.starts[which]![cell]!, count: share.counts[cell]! };
  }

  private rowIn(rows: Float32Array, at: number): Float32Array {
    return rows.subarray(at, at + ROW);
  }
}

/** Whether direct current sees nothing of an edit. */
export function isSeenRunningOnly(edit: Edit): boolean {
  const { stored, ...others } = edit;
  return (
    stored !== undefined && Object.values(others).every((list) => list === undefined || list.length === 0)
  );
}
