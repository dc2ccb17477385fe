/** Modes and peaks of a histogram. */

import { coarser, type Extremes, type Histogram } from './histogram.ts';

/** Bins of the histogram whose modes are sought: the root of the number of samples, within these. */
const FEWEST_BINS = 16;
const MOST_BINS = 256;
/** Fewer are not smoothed. */
const FEW_BINS = 32;
/** The valley beside a state's peak is lower than this share of it. */
const VALLEY = 0.5;

/** Coarse bins; whole steps of the resolution wide, so that no bin holds more steps than its neighbours. */
export function binned(fine: Histogram, { minimum, maximum, count }: Extremes, step: number): Histogram {
  const range = maximum - minimum;
  const wanted = Math.min(MOST_BINS, Math.max(FEWEST_BINS, Math.round(Math.sqrt(count))));
  if (step === 0) return coarser(fine, minimum, range / wanted, wanted);
  const width = step * Math.max(1, Math.round(range / wanted / step));
  return coarser(fine, minimum - step / 2, width, Math.max(2, Math.ceil((range + step / 2) / width)));
}

/** Counts smoothed by 1-2-1, so that chance does not break a peak in two; ends keep what would fall over. */
export function smoothed({ counts, start, width }: Histogram): Histogram {
  if (counts.length < FEW_BINS) return { counts, start, width };
  const last = counts.length - 1;
  const at = (i: number): number => counts[Math.min(last, Math.max(0, i))]!;
  return { counts: counts.map((count, i) => at(i - 1) + 2 * count + at(i + 1)), start, width };
}

/** Bin with the most samples below (`side` -1) or above (1) a value; of equals the one that lies farther out. */
export function mode({ counts, start, width }: Histogram, half: number, side: 1 | -1): number {
  let best = side < 0 ? 0 : counts.length - 1;
  counts.forEach((count, i) => {
    if (side * (start + (i + 0.5) * width - half) < 0) return;
    if (count > counts[best]! || (side > 0 && count === counts[best])) best = i;
  });
  return best;
}

/** Bins of the peaks: each parted from higher ones by a valley that chance does not make. */
export function peaks({ counts }: Histogram): number[] {
  const found: number[] = [];
  const order = Array.from(counts.keys()).sort((a, b) => counts[b]! - counts[a]!);
  for (const bin of order) {
    const peak = counts[bin]!;
    if (peak === 0) break;
    const parted = found.every((other) => {
      const between = counts.subarray(Math.min(bin, other), Math.max(bin, other) + 1);
      const valley = between.reduce((least, count) => Math.min(least, count));
      return valley < VALLEY * peak && peak - valley > 4 * Math.sqrt(peak);
    });
    if (parted) found.push(bin);
  }
  return found;
}
