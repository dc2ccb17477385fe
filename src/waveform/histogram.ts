/** How often each value occurs: fine counts, from which coarser ones and medians follow without another look at the samples. */

/** Fine enough for a median at a 65,000th of the range, small enough for a processor's second-level cache. */
const FINE = 65_536;

export interface Extremes {
  readonly minimum: number;
  readonly maximum: number;
  /** Samples that are numbers. */
  readonly count: number;
  /** Mean of the squared steps from sample to sample over the variance: 2 for white noise, near 0 for what moves slowly. */
  readonly roughness: number;
}

/** @source J. von Neumann, Annals of Mathematical Statistics 12 (1941) 367-395, for the ratio (from memory) */
export function extremes(values: Float32Array, begin: number, end: number): Extremes {
  let minimum = Number.POSITIVE_INFINITY;
  let maximum = Number.NEGATIVE_INFINITY;
  let count = 0;
  let steps = 0;
  let [sum, squares, stepSquares] = [0, 0, 0];
  let pivot = 0;
  let last = Number.NaN;
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    // True for NaN and the infinities only: not a number that an instrument read.
    if (v - v !== 0) {
      last = Number.NaN;
      continue;
    }
    if (count === 0) pivot = v;
    if (v < minimum) minimum = v;
    if (v > maximum) maximum = v;
    count++;
    const off = v - pivot;
    sum += off;
    squares += off * off;
    const step = off - last;
    if (step - step === 0) {
      stepSquares += step * step;
      steps++;
    }
    last = off;
  }
  const variance = (squares - (sum * sum) / count) / count;
  const roughness = steps > 0 && variance > 0 ? stepSquares / steps / variance : 0;
  return { minimum, maximum, count, roughness };
}

export interface Histogram {
  readonly counts: Int32Array;
  /** Value at the lower end of the first bin. */
  readonly start: number;
  /** Volts (or amperes) a bin. */
  readonly width: number;
}

/** Counts in fine bins from the minimum to the maximum, which must differ. */
export function histogram(
  values: Float32Array,
  begin: number,
  end: number,
  { minimum, maximum }: Extremes,
): Histogram {
  const counts = new Int32Array(FINE);
  const width = (maximum - minimum) / (FINE - 1);
  const start = minimum - width / 2;
  const scale = 1 / width;
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (v - v === 0) counts[((v - start) * scale) | 0]!++;
  }
  return { counts, start, width };
}

/** The same counts in wider bins. */
export function coarser(fine: Histogram, start: number, width: number, bins: number): Histogram {
  const counts = new Int32Array(bins);
  fine.counts.forEach((count, i) => {
    if (count === 0) return;
    const bin = Math.floor((fine.start + (i + 0.5) * fine.width - start) / width);
    counts[Math.min(bins - 1, Math.max(0, bin))]! += count;
  });
  return { counts, start, width };
}

/** Bins of the fine histogram that lie between two values: first, and one past the last. */
function binsBetween({ counts, start, width }: Histogram, from: number, to: number): [number, number] {
  const first = Math.max(0, Math.floor((from - start) / width));
  const last = Math.min(counts.length, Math.floor((to - start) / width) + 1);
  return [first, Math.max(first, last)];
}

/** Samples, median and mean of what lies between two values. */
export function middle(fine: Histogram, from: number, to: number): { count: number; median: number } {
  const [first, last] = binsBetween(fine, from, to);
  let count = 0;
  for (let i = first; i < last; i++) count += fine.counts[i]!;
  let below = 0;
  let i = first;
  while (i < last - 1 && below + fine.counts[i]! < count / 2) below += fine.counts[i++]!;
  return { count, median: fine.start + (i + 0.5) * fine.width };
}

/** Median distance from a value of the samples between two others. */
export function medianDistance(fine: Histogram, centre: number, from: number, to: number): number {
  const [first, last] = binsBetween(fine, from, to);
  let count = 0;
  for (let i = first; i < last; i++) count += fine.counts[i]!;
  let low = Math.min(last - 1, Math.max(first, Math.floor((centre - fine.start) / fine.width)));
  let high = low + 1;
  let within = 0;
  let distance = 0;
  // Bins are taken in the order of their distance, from both sides at once.
  while (within < count / 2 && (low >= first || high < last)) {
    const down = low >= first ? centre - (fine.start + (low + 0.5) * fine.width) : Number.POSITIVE_INFINITY;
    const up = high < last ? fine.start + (high + 0.5) * fine.width - centre : Number.POSITIVE_INFINITY;
    distance = Math.max(0, Math.min(down, up));
    within += down <= up ? fine.counts[low--]! : fine.counts[high++]!;
  }
  return distance;
}
