/** What follows a transition: overshoot, undershoot, and how long it takes to settle. */

import type { Edges } from './edges.ts';
import { type Estimate, isMeasured, Mean } from './estimate.ts';
import { extent, firstAtOrAfter, type TimeWindow } from './extent.ts';
import { instantAt, type Trace } from './trace.ts';

/** The post-transition region lasts so many transition durations. */
const REGION = 3;

export interface Aberrations {
  /** Farthest beyond the new level in the post-transition region, as a share of the amplitude. */
  readonly overshoot: Estimate;
  /** Farthest short of the new level in that region once it was reached, as a share of the amplitude. */
  readonly undershoot: Estimate;
  /** Seconds from the mid instant until the waveform stays within the band about the new level. */
  readonly settling: Estimate;
}

/**
 * Aberrations after transitions of one direction; the region ends where the next transition begins.
 *
 * Extremes of noisy samples lie outside what they are extremes of: `sigma sqrt(2 ln n)` for `n` samples is part of the uncertainty,
 * and is not subtracted.
 *
 * @param band  half the settling band, as a share of the amplitude
 * @source IEEE Std 181-2011, 5.4 (post-transition aberration region of three transition durations, settling duration from the mid
 *   instant; clauses from memory). Undershoot counted from the first reach of the level is our reading of it
 */
export function aberrations(
  trace: Trace,
  edges: Edges,
  rising: boolean,
  band: number,
  window?: TimeWindow,
): Aberrations {
  const { levels } = edges;
  if (!isMeasured(levels.low) || !isMeasured(levels.high)) {
    const none: Estimate = { reason: edges.reason ?? 'one level only' };
    return { overshoot: none, undershoot: none, settling: none };
  }
  const amplitude = levels.high.value - levels.low.value;
  const target = rising ? levels.high.value : levels.low.value;
  const sign = rising ? 1 : -1;
  const { values, timebase } = trace;
  const { end } = extent(trace, window);
  const [over, under, settling] = [new Mean(), new Mean(), new Mean()];
  let samples = 0;
  for (let n = 0; n < edges.count; n++) {
    const duration = edges.end[n]! - edges.begin[n]!;
    if ((edges.rising[n] === 1) !== rising || Number.isNaN(duration)) continue;
    const next =
      n + 1 < edges.count ? Math.min(edges.begin[n + 1]!, edges.mid[n + 1]!) : Number.POSITIVE_INFINITY;
    const regionEnd = Math.min(edges.end[n]! + REGION * duration, next || edges.mid[n + 1]!);
    let [most, least] = [0, 0];
    let reached = false;
    let i = edges.sample[n]!;
    const first = i;
    for (; i < end; i++) {
      const off = sign * (values[i]! - target);
      if (off - off !== 0 || (i > first && instantAt(timebase, i) > regionEnd)) break;
      if (off >= 0) reached = true;
      if (off > most) most = off;
      if (reached && -off > least) least = -off;
    }
    samples = Math.max(samples, i - first);
    over.add(most / amplitude);
    under.add(least / amplitude);

    // It has settled where it stays in the band for as long as the region lasts.
    const hold = REGION * duration;
    let entered = Number.NaN;
    const before = firstAtOrAfter(timebase, values.length, edges.mid[n]!) - 1;
    for (let k = Math.max(0, before); k < end; k++) {
      const t = instantAt(timebase, k);
      const off = Math.abs(values[k]! - target);
      if (off - off !== 0 || t > next) break;
      if (off > band * amplitude) entered = Number.NaN;
      else if (Number.isNaN(entered)) {
        const last = k > 0 ? Math.abs(values[k - 1]! - target) : off;
        const edge = last > off ? Math.min(1, (last - band * amplitude) / (last - off)) : 0;
        entered = last > band * amplitude ? t - (1 - edge) * (t - instantAt(timebase, k - 1)) : t;
      } else if (t - entered >= hold) {
        settling.add(entered - edges.mid[n]!);
        break;
      }
    }
  }
  const noisy = (levels.noise * Math.sqrt(2 * Math.log(Math.max(2, samples)))) / amplitude;
  const resolution = Math.hypot(noisy, levels.quantum / Math.sqrt(12) / amplitude);
  const instant = Math.hypot(edges.instantNoise, edges.instantResolution);
  const wide = 3 * levels.noise > band * amplitude;
  const none = edges.count === 0 ? (edges.reason ?? 'no full transition') : 'no full transition';
  return {
    overshoot: over.estimate(none, levels.noise / amplitude, resolution),
    undershoot: under.estimate(none, levels.noise / amplitude, resolution),
    settling: wide
      ? { reason: 'noise wider than the settling band' }
      : settling.estimate(over.count === 0 ? none : 'not settled in the window', instant, instant),
  };
}
