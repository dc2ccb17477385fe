/** The samples that belong to a state: a band of values about a peak of the histogram. */

import type { Measured } from './estimate.ts';
import { type Histogram, medianDistance, middle } from './histogram.ts';

/** Samples of the next step of the resolution that belong to a quiet level, as a share of its own. */
const BESIDE_SHARE = 0.1;
/** Standard deviation over median distance, of a Gaussian. */
export const MEDIAN_DISTANCE = 1.4826;

/** A state of the waveform: its level, and how the samples in it vary. */
export interface State extends Measured {
  /** Standard deviation of a sample in the state. */
  readonly noise: number;
}

/** A stretch of values, of which a state's samples are taken. */
export interface Band {
  readonly from: number;
  readonly to: number;
  readonly centre: number;
  readonly sigma: number;
}

/**
 * The samples about a peak: four standard deviations about the median to either side, the standard deviation from the median
 * distance, so that neither edges nor tails move the level.
 */
export function band(
  fine: Histogram,
  { counts, start, width }: Histogram,
  bin: number,
  least: number,
  greatest: number,
  step: number,
  visits: (own: number, beside: number) => number,
): Band {
  const floor = counts[bin]! / 4;
  let [first, last] = [bin, bin];
  while (first > 0 && counts[first - 1]! > floor) first--;
  while (last < counts.length - 1 && counts[last + 1]! > floor) last++;
  let from = Math.max(least, start + first * width);
  let to = Math.min(greatest, start + (last + 1) * width);
  const reach = 1.25 * (to - from);
  let [centre, sigma] = [(from + to) / 2, 0];
  for (let round = 0; round < 4; round++) {
    const { count, median } = middle(fine, from, to);
    if (count === 0) break;
    centre = median;
    sigma = MEDIAN_DISTANCE * medianDistance(fine, centre, from, to);
    const within = Math.min(reach, Math.max(4 * sigma, fine.width));
    from = Math.max(least, centre - within);
    to = Math.min(greatest, centre + within);
  }
  // Between two steps of the resolution a quiet level shows as both: the lesser one belongs to it unless it is rare.
  if (sigma < step / 4) {
    const own = middle(fine, centre - step / 2, centre + step / 2).count;
    if (visits(centre, centre - step) > BESIDE_SHARE * own) from = Math.max(least, centre - 1.25 * step);
    if (visits(centre, centre + step) > BESIDE_SHARE * own) to = Math.min(greatest, centre + 1.25 * step);
  }
  return { from, to, centre, sigma };
}

/** Samples of the step beside that came from the own one and went back to it: a toggle, and not the foot of an edge. */
export function visitsBeside(
  values: Float32Array,
  begin: number,
  end: number,
  own: number,
  beside: number,
  step: number,
): number {
  let [total, pending, from] = [0, 0, false];
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (Math.abs(v - own) < step / 2) {
      total += pending;
      pending = 0;
      from = true;
    } else if (from && Math.abs(v - beside) < step / 2) pending++;
    else [pending, from] = [0, false];
  }
  return total;
}

/** Mean and standard deviation of the samples in each band, in one pass over the samples. */
export function inBands(
  values: Float32Array,
  begin: number,
  end: number,
  { counts, start, width }: Histogram,
  bands: readonly Band[],
  step: number,
): State[] {
  const owner = new Uint8Array(counts.length);
  bands.forEach(({ from, to }, k) => {
    const first = Math.max(0, Math.floor((from - start) / width));
    const last = Math.min(counts.length - 1, Math.floor((to - start) / width));
    owner.fill(k + 1, first, last + 1);
  });
  const size = bands.length + 1;
  const number = new Float64Array(size);
  const sums = new Float64Array(size);
  const squares = new Float64Array(size);
  const centres = Float64Array.of(0, ...bands.map(({ centre }) => centre));
  const scale = 1 / width;
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (v - v !== 0) continue;
    const k = owner[((v - start) * scale) | 0]!;
    const off = v - centres[k]!;
    number[k]!++;
    sums[k]! += off;
    squares[k]! += off * off;
  }
  return bands.map(({ centre }, j) => {
    const [n, sum, square] = [number[j + 1]!, sums[j + 1]!, squares[j + 1]!];
    if (n === 0) return { value: centre, uncertainty: width, count: 0, noise: 0 };
    const noise = Math.sqrt(Math.max(0, square - (sum * sum) / n) / Math.max(1, n - 1));
    // Noise of half a step or more makes the mean of many samples finer than a step.
    const resolution = noise < step / 2 ? step / Math.sqrt(12) : 0;
    // Where an approach to the level is still going on, mean and median part.
    const skew = Math.max(0, Math.abs(sum / n) - step / 2);
    return {
      value: centre + sum / n,
      uncertainty: Math.hypot(noise / Math.sqrt(n), resolution, skew),
      count: n,
      noise,
    };
  });
}
