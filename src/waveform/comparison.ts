/** Where two aligned traces differ, by how much, and in what way. */

import { type Departure, departures, differenceTrace } from './difference.ts';
import { matches } from './edge-alignment.ts';
import { type EdgeOptions, type Edges, edgesOf } from './edges.ts';
import { extent, firstAtOrAfter, meanStep, type TimeWindow } from './extent.ts';
import { COMMON_TRIGGER, inverseMap, mapped, type TimeMap } from './time-map.ts';
import { instantAt, type Trace } from './trace.ts';

/** Standard deviations of both traces' noise that are no difference: one sample in a thousand million is beyond. */
const NOISE_SIGMAS = 6;
/** Edges are of one event within this share of the shorter usual interval. */
const SAME_EVENT = 0.4;
/** A shift of an edge is one of time where its three instants agree to this share of it. */
const EDGE_AGREES = 0.5;
/** A difference is one of level where it varies by less than this share of its mean. */
const LEVEL_VARIES = 0.35;
/** Differences that are given one by one, where nothing else is asked. */
const MOST = 10_000;

export type DifferenceKind = 'level' | 'timing' | 'missing pulse' | 'extra pulse' | 'shape';

/** One stretch in which the second trace is not as the first. */
export interface Difference {
  readonly kind: DifferenceKind;
  /** Seconds of the first trace. */
  readonly from: number;
  readonly to: number;
  /** Second less first where they are farthest apart; NaN where it cannot be read. */
  readonly volts: number;
  /** Second less first in the mean of the stretch. */
  readonly meanVolts: number;
  /** Seconds by which the second is late (negative: early); of differences in timing only. */
  readonly seconds?: number;
}

export interface ComparisonOptions {
  /** How the second trace lies on the first; a common trigger where absent. */
  readonly map?: TimeMap;
  /** Stretch of the first trace that is compared. */
  readonly window?: TimeWindow;
  /** What levels may differ by, volts (or amperes); six standard deviations of the noise and the resolution where absent. */
  readonly amplitudeTolerance?: number;
  /** What edges may differ by, seconds; six standard deviations of an instant and a sample interval where absent. */
  readonly timingTolerance?: number;
  /** Differences given one by one at most. */
  readonly most?: number;
  /** How edges are found in each. */
  readonly first?: EdgeOptions;
  readonly second?: EdgeOptions;
}

export interface Comparison {
  /** In the order of time; `differences[0]` is where the traces first part. */
  readonly differences: readonly Difference[];
  /** All that were found, listed or not. */
  readonly count: number;
  readonly amplitudeTolerance: number;
  readonly timingTolerance: number;
  /** Seconds of the first trace over which both have samples. */
  readonly from: number;
  readonly to: number;
  /** Root mean square of second less first. */
  readonly rms: number;
}

export type NoComparison = { readonly reason: 'no samples' | 'no overlap' };

/**
 * All stretches in which the second trace differs from the first by more than the tolerances.
 *
 * A sample agrees if the other trace comes within the amplitude tolerance of it at some instant within the timing tolerance; it is asked
 * from both sides, so that a pulse too many is seen as well as one too few.
 *
 * @throws RangeError  when a tolerance is negative
 */
export function comparison(
  first: Trace,
  second: Trace,
  options: ComparisonOptions = {},
): Comparison | NoComparison {
  const map = options.map ?? COMMON_TRIGGER;
  for (const name of ['amplitudeTolerance', 'timingTolerance'] as const) {
    if ((options[name] ?? 0) < 0) throw new RangeError(`${name} ${options[name]}: 0 or above`);
  }
  if (first.values.length < 2 || second.values.length < 2) return { reason: 'no samples' };
  const back = inverseMap(map);
  const from = Math.max(
    instantAt(first.timebase, 0),
    mapped(back, instantAt(second.timebase, 0)),
    options.window?.from ?? Number.NEGATIVE_INFINITY,
  );
  const to = Math.min(
    instantAt(first.timebase, first.values.length - 1),
    mapped(back, instantAt(second.timebase, second.values.length - 1)),
    options.window?.to ?? Number.POSITIVE_INFINITY,
  );
  if (!(from < to)) return { reason: 'no overlap' };

  const [a, b] = [edgesOf(first, options.first), edgesOf(second, options.second)];
  const noise = Math.hypot(a.levels.noise, b.levels.noise);
  const volts =
    options.amplitudeTolerance ??
    NOISE_SIGMAS * noise +
      (a.levels.quantum + b.levels.quantum) / 2 +
      1e-6 * (a.levels.maximum - a.levels.minimum);
  const step = Math.max(meanStep(first), meanStep(second) / map.rate);
  const seconds =
    options.timingTolerance ??
    NOISE_SIGMAS * Math.hypot(a.instantNoise, b.instantNoise) +
      Math.max(step, a.instantResolution, b.instantResolution);

  const seen = departures(first, second, map, volts, seconds);
  const unseen = departures(second, first, back, volts, seconds / map.rate).map((stretch) => ({
    from: mapped(back, stretch.from),
    to: mapped(back, stretch.to),
  }));
  const stretches = joined(seen, unseen, 2 * seconds + 2 * step, from, to);
  const trace = differenceTrace(first, second, map);
  const events = new Events(a, b, map, seconds);
  const most = options.most ?? MOST;
  return {
    differences: stretches.slice(0, most).map((stretch) => events.difference(stretch, trace)),
    count: stretches.length,
    amplitudeTolerance: volts,
    timingTolerance: seconds,
    from,
    to,
    rms: rms(trace, { from, to }),
  };
}

/** Departures of both kinds in the order of time; those nearer than `gap` are one. */
function joined(
  seen: readonly Departure[],
  unseen: readonly Departure[],
  gap: number,
  from: number,
  to: number,
): Departure[] {
  const all = [...seen, ...unseen]
    .filter((stretch) => stretch.to >= from && stretch.from <= to)
    .sort((p, q) => p.from - q.from);
  const found: Departure[] = [];
  for (const stretch of all) {
    const last = found.at(-1);
    if (last && stretch.from <= last.to + gap) last.to = Math.max(last.to, stretch.to);
    else found.push({ from: Math.max(from, stretch.from), to: Math.min(to, stretch.to) });
  }
  return found;
}

function rms(trace: Trace, window: TimeWindow): number {
  const { begin, end } = extent(trace, window);
  let [squares, count] = [0, 0];
  for (let i = begin; i < end; i++) {
    const v = trace.values[i]!;
    if (v - v !== 0) continue;
    squares += v * v;
    count++;
  }
  return count > 0 ? Math.sqrt(squares / count) : Number.NaN;
}

/** Edges of both traces, in the first one's seconds, and which belong together. */
class Events {
  readonly #first: Edges;
  readonly #second: Edges;
  readonly #seconds: number;
  readonly #map: TimeMap;
  /** Instants of the second's edges in the first's seconds. */
  readonly #mids: Float64Array;
  /** Partner of each edge in the other trace; -1 without. */
  readonly #partner: Int32Array;
  readonly #taken: Uint8Array;

  constructor(first: Edges, second: Edges, map: TimeMap, seconds: number) {
    [this.#first, this.#second, this.#map, this.#seconds] = [first, second, map, seconds];
    const back = inverseMap(map);
    this.#mids = second.mid.map((t) => mapped(back, t));
    this.#partner = new Int32Array(first.count).fill(-1);
    this.#taken = new Uint8Array(second.count);
    const within = Math.max(2 * seconds, SAME_EVENT * Math.min(usual(first.mid), usual(this.#mids)));
    for (const [i, j] of matches(first, second, map, within * map.rate)) {
      this.#partner[i] = j;
      this.#taken[j] = 1;
    }
  }

  difference(stretch: Departure, trace: Trace): Difference {
    const { from, to } = stretch;
    const { varies, ...reading } = read(trace, from, to);
    const margin = this.#seconds;
    const mine = between(this.#first.mid, from - margin, to + margin);
    const theirs = between(this.#mids, from - margin, to + margin);
    const gone = mine.filter((i) => this.#partner[i]! < 0);
    const come = theirs.filter((j) => this.#taken[j] === 0);
    const is = (kind: DifferenceKind, seconds?: number): Difference => ({
      kind,
      from,
      to,
      ...reading,
      ...(seconds === undefined ? {} : { seconds }),
    });
    if (gone.length > come.length) return is('missing pulse');
    if (come.length > gone.length) return is('extra pulse');
    // As many without partner on either side have moved by more than edges are looked for, if they go the same way.
    if (gone.length > 0 && this.#first.rising[gone[0]!] === this.#second.rising[come[0]!])
      return is('timing', this.#mids[come[0]!]! - this.#first.mid[gone[0]!]!);
    if (gone.length > 0) return is('shape');
    const moved = mine
      .map((i) => ({ i, by: this.#shift(i) }))
      .filter(({ by }) => Math.abs(by) > margin)
      .sort((p, q) => Math.abs(q.by) - Math.abs(p.by))[0];
    if (moved) return this.#wholeShift(moved.i, moved.by) ? is('timing', moved.by) : is('shape');
    return is(varies < LEVEL_VARIES * Math.abs(reading.meanVolts) ? 'level' : 'shape');
  }

  #shift(i: number): number {
    const j = this.#partner[i]!;
    return j < 0 ? 0 : this.#mids[j]! - this.#first.mid[i]!;
  }

  /** Whether the edge moved as it is, rather than growing slower or faster. */
  #wholeShift(i: number, by: number): boolean {
    const j = this.#partner[i]!;
    const back = inverseMap(this.#map);
    const allowed = Math.max(this.#seconds, EDGE_AGREES * Math.abs(by));
    return (['begin', 'end'] as const).every((which) => {
      const shift = mapped(back, this.#second[which][j]!) - this.#first[which][i]!;
      return Number.isNaN(shift) || Math.abs(shift - by) <= allowed;
    });
  }
}

/** Interval that a quarter of all are shorter than; infinite for fewer than two edges. */
function usual(mids: Float64Array): number {
  if (mids.length < 2) return Number.POSITIVE_INFINITY;
  const intervals = mids.slice(1).map((t, i) => t - mids[i]!);
  return intervals.sort()[intervals.length >> 2]!;
}

/** Indices of instants from one time to another. */
function between(mids: Float64Array, from: number, to: number): number[] {
  const found: number[] = [];
  for (let i = firstAtOrAfter({ stamps: mids }, mids.length, from); i < mids.length && mids[i]! <= to; i++) {
    found.push(i);
  }
  return found;
}

/** Greatest, mean and spread of the difference in a stretch. */
function read(trace: Trace, from: number, to: number): { volts: number; meanVolts: number; varies: number } {
  const { begin, end } = extent(trace, { from, to });
  let [most, sum, squares, count] = [Number.NaN, 0, 0, 0];
  for (let i = begin; i < end; i++) {
    const v = trace.values[i]!;
    if (v - v !== 0) continue;
    if (!(Math.abs(v) <= Math.abs(most))) most = v;
    sum += v;
    squares += v * v;
    count++;
  }
  if (count === 0) return { volts: Number.NaN, meanVolts: Number.NaN, varies: Number.POSITIVE_INFINITY };
  const mean = sum / count;
  return { volts: most, meanVolts: mean, varies: Math.sqrt(Math.max(0, squares / count - mean * mean)) };
}
