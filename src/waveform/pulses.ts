/** Pulses of a two-level waveform: durations, periods, jitter, and groups of them. */

import type { Edges } from './edges.ts';
import { type Estimate, isMeasured, Mean, type Reason } from './estimate.ts';

/** A pause between leading edges longer than so many of the usual ones parts two groups. */
const BURST_GAP = 4;
/** Intervals from which the usual one is taken. */
const LOOKED_AT = 10_000;

export interface PulseOptions {
  /** `positive`: a pulse is high; `negative`: it is low, as in machines of pnp transistors that rest near the reference. */
  readonly polarity?: 'positive' | 'negative';
  /** Seconds between leading edges that part two groups of pulses; four times the usual interval where absent. */
  readonly burstGap?: number;
}

export interface Bursts {
  /** Groups, whole or cut. */
  readonly count: number;
  /** Pulses in a whole group. */
  readonly pulses: Estimate;
  /** Seconds from the first leading edge of a whole group to its last trailing edge. */
  readonly duration: Estimate;
  /** Seconds from the first leading edge of a group to that of the next. */
  readonly period: Estimate;
}

export interface Pulses {
  /** Leading edges seen. */
  readonly pulseCount: number;
  /** Seconds between mid instants of a pulse. */
  readonly pulseDuration: Estimate;
  /** Seconds between mid instants of leading edges, within groups. */
  readonly period: Estimate;
  readonly frequency: Estimate;
  /** Pulse duration as a share of the period. */
  readonly dutyFactor: Estimate;
  /** Standard deviation of the period, seconds; instrument's noise included. */
  readonly periodJitter: Estimate;
  /** Standard deviation of leading edges about evenly spaced instants, seconds; instrument's noise included. */
  readonly edgeJitter: Estimate;
  readonly bursts: Bursts | { readonly reason: Reason };
}

/** The interval a quarter of all are shorter than: the usual one within a group, even in groups of two. */
function usual(intervals: Float64Array): number {
  const stride = Math.max(1, Math.floor(intervals.length / LOOKED_AT));
  const looked = intervals.filter((_, i) => i % stride === 0).sort();
  return looked[looked.length >> 2] ?? 0;
}

/**
 * What the transitions say of pulses. Intervals across a gap in the samples are left out: pulses may have been missed in it.
 *
 * Jitter is what the trace shows; the share of noise and resolution is `edges.instantNoise` (times sqrt 2 for a period).
 *
 * @param start, end  seconds of the window, for groups that it cuts
 * @source IEEE Std 181-2011, 5.3 and 5.5 (pulse duration, period, duty factor, jitter; clauses from memory)
 */
export function pulses(edges: Edges, start: number, end: number, options: PulseOptions = {}): Pulses {
  const leading = options.polarity === 'negative' ? 0 : 1;
  const { mid, rising, stretch, count } = edges;
  const leads = new Uint32Array(count);
  let number = 0;
  for (let i = 0; i < count; i++) if (rising[i] === leading) leads[number++] = i;
  const intervals = new Float64Array(Math.max(0, number - 1));
  let seen = 0;
  for (let k = 1; k < number; k++) {
    const [a, b] = [leads[k - 1]!, leads[k]!];
    if (stretch[a] === stretch[b]) intervals[seen++] = mid[b]! - mid[a]!;
  }
  const pause = options.burstGap ?? BURST_GAP * usual(intervals.subarray(0, seen));

  const [duration, period, share] = [new Mean(), new Mean(), new Mean()];
  let run = new LineFit();
  let longest = run;
  for (let k = 0; k < number; k++) {
    const i = leads[k]!;
    const whole = i + 1 < count && stretch[i + 1] === stretch[i];
    const width = whole ? mid[i + 1]! - mid[i]! : Number.NaN;
    if (whole) duration.add(width);
    const last = k > 0 ? leads[k - 1]! : -1;
    const apart = last >= 0 && stretch[last] === stretch[i] ? mid[i]! - mid[last]! : Number.POSITIVE_INFINITY;
    if (apart <= pause) period.add(apart);
    else run = new LineFit();
    run.add(mid[i]!);
    if (run.count > longest.count) longest = run;
    const j = k + 1 < number ? leads[k + 1]! : -1;
    if (whole && j >= 0 && stretch[j] === stretch[i] && mid[j]! - mid[i]! <= pause) {
      share.add(width / (mid[j]! - mid[i]!));
    }
  }
  const random = Math.SQRT2 * edges.instantNoise;
  const common = Math.SQRT2 * edges.instantResolution;
  const none: Reason = edges.reason ?? 'no full transition';
  const without = (reason: Reason): Reason => (count === 0 ? none : reason);
  const periodEstimate = period.estimate(without('no whole period'), random, common);
  return {
    pulseCount: number,
    pulseDuration: duration.estimate(without('no whole pulse'), random, common),
    period: periodEstimate,
    frequency: inverse(periodEstimate),
    dutyFactor: isMeasured(periodEstimate)
      ? share.estimate('no whole period', random / periodEstimate.value, common / periodEstimate.value)
      : periodEstimate,
    periodJitter: deviation(period.spread, period.count, without('fewer than three periods')),
    edgeJitter: deviation(longest.deviation, longest.count - 1, without('fewer than three periods')),
    bursts: count === 0 ? { reason: none } : bursts(edges, leads.subarray(0, number), pause, start, end),
  };
}

/** A standard deviation of `n` values with its own uncertainty, `s / sqrt(2 (n - 1))`. */
function deviation(s: number, n: number, reason: Reason): Estimate {
  return n < 3 ? { reason } : { value: s, uncertainty: s / Math.sqrt(2 * (n - 1)), count: n };
}

function inverse(period: Estimate): Estimate {
  if (!isMeasured(period)) return period;
  const { value, uncertainty, count } = period;
  return { value: 1 / value, uncertainty: uncertainty / value ** 2, count };
}

/** Least-squares line of instants over their number, updated as they come. */
class LineFit {
  count = 0;
  #first = 0;
  #sum = 0;
  #squares = 0;
  #products = 0;
  /** Sums are of the departure from the line through the first two, so that nothing cancels. */
  #step = 0;

  add(instant: number): void {
    const k = this.count++;
    if (k === 0) this.#first = instant;
    if (k === 1) this.#step = instant - this.#first;
    const off = instant - this.#first - k * this.#step;
    this.#sum += off;
    this.#squares += off * off;
    this.#products += k * off;
  }

  /** Standard deviation about the line; 0 for fewer than three. */
  get deviation(): number {
    const n = this.count;
    if (n < 3) return 0;
    const centred = this.#products - (this.#sum * (n - 1)) / 2;
    const spread = (n * (n * n - 1)) / 12;
    const rest = this.#squares - this.#sum ** 2 / n - centred ** 2 / spread;
    return Math.sqrt(Math.max(0, rest) / (n - 2));
  }
}

function bursts(
  { mid, stretch, count, instantNoise, instantResolution }: Edges,
  leads: Uint32Array,
  pause: number,
  start: number,
  end: number,
): Bursts | { readonly reason: Reason } {
  const firsts: number[] = [];
  for (let k = 0; k < leads.length; k++) {
    const parted = k > 0 && mid[leads[k]!]! - mid[leads[k - 1]!]! > pause;
    if (k === 0 || parted || stretch[leads[k]!] !== stretch[leads[k - 1]!]) firsts.push(k);
  }
  const [number, duration, period] = [new Mean(), new Mean(), new Mean()];
  let parts = 0;
  firsts.forEach((k, g) => {
    const next = firsts[g + 1] ?? leads.length;
    const [lead, last] = [leads[k]!, leads[next - 1]!];
    const trail = last + 1 < count && stretch[last + 1] === stretch[last] ? last + 1 : -1;
    // Whole where the pause before and after it was seen.
    const before = k === 0 ? mid[lead]! - start : mid[lead]! - mid[leads[k - 1]!]!;
    const after = next === leads.length ? end - mid[last]! : mid[leads[next]!]! - mid[last]!;
    const seenBefore = k === 0 ? stretch[lead] === 0 : stretch[leads[k - 1]!] === stretch[lead];
    const seenAfter = next === leads.length || stretch[leads[next]!] === stretch[last];
    if (seenAfter && next < leads.length) {
      period.add(mid[leads[next]!]! - mid[lead]!);
      parts++;
    }
    if (trail >= 0 && seenBefore && seenAfter && before > pause && after > pause) {
      number.add(next - k);
      duration.add(mid[trail]! - mid[lead]!);
    }
  });
  if (parts === 0) return { reason: 'no gaps between groups of pulses' };
  const random = Math.SQRT2 * instantNoise;
  const common = Math.SQRT2 * instantResolution;
  return {
    count: firsts.length,
    pulses: number.estimate('no whole burst', 0, 0),
    duration: duration.estimate('no whole burst', random, common),
    period: period.estimate('no whole period', random, common),
  };
}
