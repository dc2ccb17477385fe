/**
 * A first, tolerant look at every fault, each reading by itself: cheap, kept reading by reading, and what decides which faults and
 * which readings are weighed in full.
 */
import type { Baseline, SoundDatum } from './baseline.ts';
import type { Datum } from './datum.ts';
import type { Reach } from './grounds.ts';
import { type Case, pointVolts } from './hypothesis.ts';
import { SCREEN_SHARE, type SeenFault } from './pair-search.ts';
import { type Deviations, rowTimes } from './sparse-gaussian.ts';
import type { FaultTable } from './table.ts';

/** Probability that a reading is a slip of the probe. */
export const SLIP_RATE = 0.002;
/** At most so many readings are weighed with their full covariance. */
export const DENSE_MOST = 150;
/** What logs of the tolerant look are rounded to, so that their sums are exact. */
const LOG_SHARE = 2 ** -28;
/** So far off, in spreads and in volts, a reading is no matter of noise or of the model. */
const GROSS_Z = 7;
const GROSS_VOLTS = 0.6;
/** Parts whose company is looked for when the readings are chosen, and how many faults for each. */
const BESIDE_PARTS = 3;
const BESIDE = 8;
/** Weight of a left-out reading: taken one by one they say more than they know together. */
const LEFT_WEIGHT = 0.4;

/** What one reading says of each fault that it sees, tolerantly, and what that was worked out for. */
export interface Look {
  readonly d: SoundDatum;
  readonly r: number;
  readonly variance: number;
  readonly reach: Reach;
  readonly logs: Float64Array;
}

/** Of many readings those to be weighed; what the others teach, and what they say against a fault (log ratio, negative). */
export interface Narrowed {
  readonly data: readonly SoundDatum[];
  readonly gaussian: Deviations;
  readonly leftOut: ReadonlyMap<number, number>;
}

export class Looks {
  private readonly table: FaultTable;
  private readonly baseline: Baseline;
  private readonly gaussian: Deviations;
  private readonly data: readonly SoundDatum[];
  private readonly logShare: Float64Array;
  private readonly range: number;
  /** The look at each reading. */
  readonly of = new Map<Datum['reading'], Look>();
  /** Of each fault the sum of its logs over all readings. */
  readonly sums: Float64Array;

  /**
   * @param logShare  log prior of each fault
   * @param range  width of what a slip may read, volts
   * @param previous  of the same table and unit, to take over the looks at readings that have not changed
   */
  constructor(baseline: Baseline, logShare: Float64Array, range: number, previous: Looks | undefined) {
    this.table = baseline.table;
    this.baseline = baseline;
    this.gaussian = baseline.gaussian;
    this.data = baseline.data;
    this.logShare = logShare;
    this.range = range;
    this.sums = this.look(previous);
  }

  /** What each fault does to the readings that are weighed. Faults that move none have no entry in `touched`. */
  seenFaults(data: readonly SoundDatum[]): SeenFault[] {
    const list = this.table.faults.map((_, fault) => ({
      fault,
      touched: [] as number[],
      moves: [] as number[],
      logs: [] as number[],
      log: this.sums[fault]!,
    }));
    data.forEach((d, i) => {
      const { reach, logs, variance } = this.of.get(d.reading)!;
      for (let k = 0; k < logs.length; k++) {
        const move = reach.moves[k]!;
        if (!Number.isNaN(move) && !this.isFelt(move, variance)) continue;
        const s = list[reach.faults[k]!]!;
        s.touched.push(i);
        s.moves.push(move);
        s.logs.push(logs[k]!);
      }
    });
    return list;
  }

  /**
   * Of many readings, keeps those that part the leading faults best and lets the ones that no leader moves condition
   * the deviations beforehand. The choice looks at what faults would do, not at how far a reading is off, so that it
   * does not make a sound unit look bad. Readings that a leader moves but that were not chosen are left out, but for what
   * they say against a fault.
   */
  narrowed(): Narrowed {
    const first = highest(this.sums, 40, (fault) => this.sums[fault]! !== 0, this.logShare);
    const leaders = this.touchedBy(first);
    const n = this.data.length;
    const nets = this.table.netlist.nets.length;
    const gaussians = this.data.map((d) => this.of.get(d.reading)!);
    const worth = new Float64Array(n);
    const moved = new Uint8Array(n);
    const chosen = new Set<number>();
    /** Pins of one wire say nearly the same: how often each wire is chosen in each condition. */
    const placed = new Map<number, number>();
    const place = (i: number): number => this.data[i]!.condition * nets + this.data[i]!.site.net;
    const choose = (i: number): void => {
      if (chosen.has(i)) return;
      chosen.add(i);
      placed.set(place(i), (placed.get(place(i)) ?? 0) + 1);
    };
    const rate = (
      s: { touched: readonly number[]; moves: readonly number[] },
      rank: number,
      count: number,
    ) => {
      const rated = s.touched.map((i, k) => {
        const move = s.moves[k]!;
        const z = Number.isNaN(move) ? 3 : Math.min(6, Math.abs(move) / Math.sqrt(gaussians[i]!.variance));
        // Of many that are moved alike, some from all states.
        const turn = (0.618034 * i) % 1;
        moved[i] = 1;
        worth[i]! += z / (4 + rank);
        return { i, z: z + turn };
      });
      rated.sort((a, b) => b.z - a.z);
      for (const { i } of rated.slice(0, count)) choose(i);
    };
    leaders.forEach((s, rank) => {
      rate(s, rank, rank < 10 ? 8 : 3);
    });
    for (const s of this.touchedBy(this.besideLeaders(first, leaders))) rate(s, 10, 4);
    // A reading that is off beyond all noise and that no leader moves asks for a second fault.
    gaussians.forEach((g, i) => {
      const gross = Math.abs(g.r) > Math.max(GROSS_VOLTS, GROSS_Z * Math.sqrt(g.variance));
      if (moved[i] === 0 && gross && chosen.size < DENSE_MOST - 20) {
        choose(i);
        moved[i] = 1;
      }
    });
    let rest = Array.from(worth, (w, i) => ({ w, i })).filter((x) => x.w > 0 && !chosen.has(x.i));
    rest.sort((a, b) => b.w - a.w);
    for (let most = 1; chosen.size < DENSE_MOST && rest.length > 0; most++)
      rest = rest.filter(({ i }) => {
        if (chosen.size >= DENSE_MOST || (placed.get(place(i)) ?? 0) >= most) return true;
        choose(i);
        return false;
      });
    const own = [...chosen].slice(0, DENSE_MOST).sort((a, b) => a - b);
    const gaussian = this.baseline.conditionedOn(this.data.filter((_, i) => moved[i] === 0));
    const data = own.map((i) => this.data[i]!);
    // What the readings that were left out say against a fault.
    const left = this.sums.slice();
    for (const d of data) {
      const { reach, logs } = this.of.get(d.reading)!;
      for (let k = 0; k < logs.length; k++) left[reach.faults[k]!]! -= logs[k]!;
    }
    const leftOut = new Map<number, number>();
    left.forEach((log, fault) => {
      if (log < 0) leftOut.set(fault, LEFT_WEIGHT * log);
    });
    return { data, gaussian, leftOut };
  }

  /** What a reading is off a sound unit's mean, and with which variance. */
  private marginal(d: SoundDatum): { r: number; variance: number } {
    const model = this.baseline.modelAt(d.condition, d.site.net);
    return {
      r: d.value - d.expected - rowTimes(d.row, this.gaussian.mean) - model.offset,
      variance: rowTimes(d.row, this.gaussian.covariance(d.row)) + d.variance + d.rest + model.variance,
    };
  }

  /**
   * A first, tolerant look at every fault: the log ratio of all readings' densities against sound as if they were independent.
   * Sums of whole shares of LOG_SHARE, so that they do not depend on the order in which readings came and went.
   */
  private look(previous: Looks | undefined): Float64Array {
    const before = previous?.baseline.teachesAs(this.baseline) ? previous.of : undefined;
    const known = new Set<Look>();
    for (const d of this.data) {
      const old = before?.get(d.reading);
      if (old?.d === d) known.add(old);
      this.of.set(d.reading, old?.d === d ? old : this.lookAt(d));
    }
    // From the sums before, where that is shorter.
    const from = known.size > this.data.length / 2 ? previous! : undefined;
    const sums = from ? from.sums.slice() : new Float64Array(this.table.faults.length);
    const add = ({ reach, logs }: Look, sign: 1 | -1): void => {
      for (let k = 0; k < logs.length; k++) sums[reach.faults[k]!]! += sign * logs[k]!;
    };
    if (from) for (const look of from.of.values()) if (!known.has(look)) add(look, -1);
    for (const look of this.of.values()) if (!from || !known.has(look)) add(look, 1);
    return sums;
  }

  private lookAt(d: SoundDatum): Look {
    const { r, variance } = this.marginal(d);
    const reach = this.baseline.grounds.reach(d.condition, d.site);
    const base = logDensity(r, variance, this.range);
    const nothing = Math.log(0.5 * Math.exp(base) + 0.5 / this.range) - base;
    const logs = new Float64Array(reach.faults.length);
    for (let k = 0; k < logs.length; k++) {
      const move = reach.moves[k]!;
      let log = 0;
      if (Number.isNaN(move)) log = nothing;
      else if (this.isFelt(move, variance))
        log = logDensity(r - move, variance + (SCREEN_SHARE * move) ** 2, this.range) - base;
      logs[k] = Math.round(log / LOG_SHARE) * LOG_SHARE;
    }
    return { d, r, variance, reach, logs };
  }

  private isFelt(move: number, variance: number): boolean {
    return Math.abs(move) >= 2e-3 && move * move >= 0.0025 * variance;
  }

  /** Faults that explain best what each of the foremost parts leaves alone: where two have failed, the second may be among them. */
  private besideLeaders(
    leaders: readonly number[],
    touched: readonly { readonly touched: readonly number[] }[],
  ): number[] {
    const { table } = this;
    const partOf = (fault: number): string => table.faults[fault]!.fault.part;
    const parts = new Set<string>();
    const found = new Set<number>();
    for (const [rank, leader] of leaders.entries()) {
      if (parts.size === BESIDE_PARTS) break;
      if (parts.has(partOf(leader))) continue;
      parts.add(partOf(leader));
      const left = this.sums.slice();
      for (const i of touched[rank]!.touched) {
        const { reach, logs } = this.of.get(this.data[i]!.reading)!;
        for (let k = 0; k < logs.length; k++) left[reach.faults[k]!]! -= logs[k]!;
      }
      const own = partOf(leader);
      for (const fault of highest(left, BESIDE, (f) => left[f]! > 0 && partOf(f) !== own, this.logShare))
        found.add(fault);
    }
    return [...found];
  }

  /** For each of some faults the readings that it moves. */
  private touchedBy(faults: readonly number[]): { touched: number[]; moves: number[] }[] {
    const { table, data } = this;
    const { solver } = this.baseline.grounds;
    const nets = table.netlist.nets.length;
    const atNet = new Map<number, number[]>();
    const inCondition: number[][] = table.conditions.map(() => []);
    data.forEach(({ condition, site }, i) => {
      inCondition[condition]!.push(i);
      const list = atNet.get(condition * nets + site.net);
      if (list) list.push(i);
      else atNet.set(condition * nets + site.net, [i]);
    });
    return faults.map((fault) => {
      const { pin } = table.faults[fault]!.fault;
      const near = new Set<number>();
      inCondition.forEach((list, c) => {
        if (!table.known(fault, c)) for (const i of list) near.add(i);
        table.moved(fault, c, (net) => {
          for (const i of atNet.get(c * nets + net) ?? []) near.add(i);
        });
        if (pin) for (const i of list) if (data[i]!.site.point === pin.point) near.add(i);
      });
      const touched: number[] = [];
      const moves: number[] = [];
      for (const i of [...near].sort((a, b) => a - b)) {
        const d = data[i]!;
        const move =
          pointVolts(table, solver, single(fault), d.condition, d.site) -
          table.sound[d.condition]!.volts[d.site.net]!;
        if (!Number.isNaN(move) && !this.isFelt(move, this.of.get(d.reading)!.variance)) continue;
        touched.push(i);
        moves.push(move);
      }
      return { touched, moves };
    });
  }
}

/** Log density of a residual (V) of some variance (V²), slips within `range` volts included. */
export function logDensity(r: number, variance: number, range: number): number {
  return Math.log(
    ((1 - SLIP_RATE) * Math.exp((-0.5 * r * r) / variance)) / Math.sqrt(2 * Math.PI * variance) +
      SLIP_RATE / range,
  );
}

/** Numbers of the `count` highest of `scores` + `plus` among those that are asked for, highest first; of equals the lower number. */
export function highest(
  scores: Float64Array,
  count: number,
  wanted: (index: number) => boolean,
  plus: Float64Array,
): number[] {
  // Rounded, so that equals are equal.
  const total = scores.map((x, i) => (wanted(i) ? Math.round((x + plus[i]!) * 1e6) : -Infinity));
  const least = total.slice().sort().at(-count) ?? -Infinity;
  const found: number[] = [];
  total.forEach((x, i) => {
    if (x >= least && x > -Infinity) found.push(i);
  });
  return found.sort((a, b) => total[b]! - total[a]! || a - b).slice(0, count);
}

export function single(fault: number): Case {
  return { faults: [fault], logPrior: 0 };
}
