/** The step of an instrument's resolution, found from the samples. */

/** Samples looked at, taken evenly over the trace. */
const LOOKED_AT = 16_384;
/** Gaps of more steps than this say little: an error of the step grows with them. */
const MOST_STEPS = 20;
/** How far from a whole number of steps a gap may be, in steps; single precision rounds values. */
const OFF_STEP = 0.15;
/** Share of the gaps that must be whole numbers of steps. */
const WHOLE_SHARE = 0.95;

/**
 * The smallest step between values, of which all others are multiples; 0 where values are as good as continuous.
 *
 * Recurring values are asked for: at most a quarter of the samples looked at may be distinct. With fewer than three distinct values
 * nothing can be told, since a clean two-level trace has only those. A computed ramp that meets the same values in every
 * period is taken for steps.
 */
export function quantum(values: Float32Array, begin: number, end: number): number {
  const stride = Math.max(1, Math.floor((end - begin) / LOOKED_AT));
  const looked = new Float64Array(Math.ceil((end - begin) / stride));
  let n = 0;
  for (let i = begin; i < end; i += stride) {
    const v = values[i]!;
    if (Number.isFinite(v)) looked[n++] = v;
  }
  const sorted = looked.subarray(0, n).sort();
  const range = n > 0 ? sorted[n - 1]! - sorted[0]! : 0;
  const rounding = Math.max(Math.abs(sorted[0] ?? 0), Math.abs(sorted[n - 1] ?? 0)) * 2 ** -21;
  const gaps: number[] = [];
  for (let i = 1; i < n; i++) {
    const gap = sorted[i]! - sorted[i - 1]!;
    if (gap > rounding) gaps.push(gap);
  }
  if (gaps.length < 2 || gaps.length + 1 > n / 4) return 0;
  const smallest = gaps.reduce((least, gap) => Math.min(least, gap));
  const single = gaps.filter((gap) => gap < 1.5 * smallest);
  const step = single.reduce((sum, gap) => sum + gap, 0) / single.length;
  const few = gaps.filter((gap) => gap < MOST_STEPS * step);
  const whole = few.filter((gap) => Math.abs(gap / step - Math.round(gap / step)) < OFF_STEP);
  if (whole.length < WHOLE_SHARE * few.length) return 0;
  return range / Math.round(range / step);
}
