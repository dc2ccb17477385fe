/** One scale of the fit of a time map: Gauss-Newton on two even series that lie nearly right. */

/** Position `start + rate i` in the second series for sample `i` of the first. */
export interface SampleMap {
  readonly start: number;
  readonly rate: number;
}

export interface Fit {
  readonly map: SampleMap;
  /** Standard uncertainty of the position at the middle, samples. */
  readonly shiftUncertainty: number;
  readonly rateUncertainty: number;
}

/** Steps of a fit at one scale at most; it ends earlier once it moves by less than this, in samples. */
const STEPS = 8;
const SMALL_STEP = 1e-4;
/** A sample that is off by more than this share of the swing is not weighed once the traces lie right: it is a difference. */
const GROSS = 0.25;
/** … or than this share of the uncertainty. */
const SMALL_SHARE = 0.05;
/** Samples where the slope is at least this share of the greatest carry the time; … */
const STEEP = 0.2;
/** … they alone are weighed where they are so few. */
const STEEP_SHARE = 0.3;

/**
 * Gauss-Newton on
 *
 *     b(p_i) = alpha a_i + beta + alpha (u + w x_i) a'_i,       x_i = (i - middle) / length,      p_i <- p_i - (u + w x_i)
 *
 * with `b` interpolated linearly and `a'` the central difference of `a`: noise of `b`, which interpolation smooths between samples
 * and not at them, is then not correlated with the slope, and does not draw the fit towards positions between samples.
 *
 * @param from, to  samples of `a` that are compared
 * @param fitRate  whether the rate moves, too
 */
export function timeFit(
  a: Float32Array,
  b: Float32Array,
  first: SampleMap,
  from: number,
  to: number,
  fitRate: boolean,
  most: number,
): Fit | undefined {
  let { start, rate } = first;
  const [begin, end] = [Math.max(1, from), Math.min(a.length - 1, to)];
  const middle = (begin + end) / 2;
  const length = Math.max(1, end - begin);
  const swing = range(a, begin, end);
  const steep = steepSamples(a, begin, end);
  let [alpha, beta, gross] = [1, 0, Number.POSITIVE_INFINITY];
  let fit: Fit | undefined;
  for (let step = 0; step < STEPS; step++) {
    const low = Math.max(begin, Math.ceil(-start / rate));
    const high = Math.min(end, Math.floor((b.length - 2 - start) / rate));
    const pairs = { a, b, steep, low, high, start, rate, alpha, beta, gross, middle, length };
    const { n, sa, sb, saa, sab, sbb, sd, sad, sbd, sdd, se, sae, sbe, sde, see } = sums(pairs);
    if (n < 8) return fit;
    const rows = [
      [saa, sa, sad, sae],
      [sa, n, sd, se],
      [sad, sd, sdd, sde],
      [sae, se, sde, see],
    ];
    const size = fitRate ? 4 : 3;
    const solved = solution(
      rows.slice(0, size).map((row) => row.slice(0, size)),
      [sab, sb, sbd, sbe].slice(0, size),
    );
    if (solved === undefined) return fit;
    [alpha, beta] = [solved[0]!, solved[1]!];
    if (!(alpha > 0)) return fit;
    const limit = (shift: number): number => Math.max(-most, Math.min(most, shift));
    const u = limit(solved[2]! / alpha);
    const w = fitRate ? limit(solved[3]! / alpha) : 0;
    start -= u - (w * middle) / length;
    rate -= w / length;
    const [va, vb] = [saa - (sa * sa) / n, sbb - (sb * sb) / n];
    const covariance = sab - (sa * sb) / n;
    const variance = Math.max(0, vb - (covariance * covariance) / va) / n;
    const s = Math.sqrt(variance) / alpha;
    fit = {
      map: { start, rate },
      shiftUncertainty: s / Math.sqrt(sdd),
      rateUncertainty: fitRate ? s / Math.sqrt(see) / length : 0,
    };
    if (Math.abs(u) + Math.abs(w) < 0.5) {
      // Nearly right: what is still far off is a difference between the units, and not the alignment's business.
      gross = GROSS * swing * alpha;
    }
    if (Math.abs(u) + Math.abs(w) < Math.max(SMALL_STEP, SMALL_SHARE * fit.shiftUncertainty)) break;
  }
  return fit;
}

interface Pairs {
  readonly a: Float32Array;
  readonly b: Float32Array;
  readonly steep: Int32Array | undefined;
  readonly low: number;
  readonly high: number;
  readonly start: number;
  readonly rate: number;
  readonly alpha: number;
  readonly beta: number;
  readonly gross: number;
  readonly middle: number;
  readonly length: number;
}

/**
 * Sums over the pairs of samples: of `a` and `b`, of the slope `d` of `a`, and of `e = x d`, and of their products. The innermost loop,
 * in a function of its own so that it is compiled once for all scales.
 */
function sums(pairs: Pairs) {
  const { a, b, steep, low, high, start, rate, alpha, beta, gross, middle, length } = pairs;
  let n = 0;
  let sa = 0;
  let sb = 0;
  let saa = 0;
  let sab = 0;
  let sbb = 0;
  let sd = 0;
  let sad = 0;
  let sbd = 0;
  let sdd = 0;
  let se = 0;
  let sae = 0;
  let sbe = 0;
  let sde = 0;
  let see = 0;
  const number = steep === undefined ? high - low : steep.length;
  for (let k = 0; k < number; k++) {
    const i = steep === undefined ? low + k : steep[k]!;
    if (i < low || i >= high) continue;
    const p = start + rate * i;
    const j = Math.floor(p);
    const y0 = b[j]!;
    const y = y0 + (b[j + 1]! - y0) * (p - j);
    const x = a[i]!;
    const d = (a[i + 1]! - a[i - 1]!) / 2;
    const off = y - alpha * x - beta;
    // False for what is not a number, too.
    if (!(Math.abs(off) < gross) || d - d !== 0) continue;
    n++;
    sa += x;
    sb += y;
    saa += x * x;
    sab += x * y;
    sbb += y * y;
    sd += d;
    sad += x * d;
    sbd += y * d;
    sdd += d * d;
    const e = (d * (i - middle)) / length;
    se += e;
    sae += x * e;
    sbe += y * e;
    sde += d * e;
    see += e * e;
  }
  return { n, sa, sb, saa, sab, sbb, sd, sad, sbd, sdd, se, sae, sbe, sde, see };
}

/** Samples on edges, where they are few: the rest of a waveform with states says nothing of its time. */
function steepSamples(a: Float32Array, begin: number, end: number): Int32Array | undefined {
  let greatest = 0;
  for (let i = begin; i < end; i++) {
    const d = Math.abs(a[i + 1]! - a[i - 1]!);
    if (d > greatest) greatest = d;
  }
  const most = Math.floor(STEEP_SHARE * (end - begin));
  const found = new Int32Array(most);
  const least = STEEP * greatest;
  let n = 0;
  for (let i = begin; i < end; i++) {
    if (!(Math.abs(a[i + 1]! - a[i - 1]!) >= least)) continue;
    if (n === most) return undefined;
    found[n++] = i;
  }
  return n < 32 ? undefined : found.subarray(0, n);
}

function range(values: Float32Array, begin: number, end: number): number {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = begin; i < end; i++) {
    const v = values[i]!;
    if (v < least) least = v;
    if (v > most) most = v;
  }
  return most - least;
}

/** Correlation coefficient of the pairs of samples under a map, of a long series an even choice; differences between the units included. */
export function likeness(
  a: Float32Array,
  b: Float32Array,
  { start, rate }: SampleMap,
): { likeness: number; pairs: number } {
  let [n, sa, sb, saa, sab, sbb] = [0, 0, 0, 0, 0, 0];
  const low = Math.max(0, Math.ceil(-start / rate));
  const high = Math.min(a.length, Math.floor((b.length - 2 - start) / rate));
  const stride = Math.max(1, (high - low) >> 17);
  for (let i = low; i < high; i += stride) {
    const p = start + rate * i;
    const j = Math.floor(p);
    const y = b[j]! + (b[j + 1]! - b[j]!) * (p - j);
    const x = a[i]!;
    if (x + y - (x + y) !== 0) continue;
    n++;
    sa += x;
    sb += y;
    saa += x * x;
    sab += x * y;
    sbb += y * y;
  }
  const varied = (n * saa - sa * sa) * (n * sbb - sb * sb);
  return { likeness: varied > 0 ? (n * sab - sa * sb) / Math.sqrt(varied) : 0, pairs: n * stride };
}

/** Solution of a small symmetric system by Gauss's elimination with pivots; undefined where it has none. */
function solution(rows: number[][], right: number[]): number[] | undefined {
  const n = right.length;
  // Unknowns differ in scale by far: rows and columns are brought to ones on the diagonal.
  const scale = rows.map((row, i) => 1 / Math.sqrt(row[i]!));
  if (!scale.every(Number.isFinite)) return undefined;
  const m = rows.map((row, i) => [...row.map((v, j) => v * scale[i]! * scale[j]!), right[i]! * scale[i]!]);
  for (let k = 0; k < n; k++) {
    let pivot = k;
    for (let i = k + 1; i < n; i++) if (Math.abs(m[i]![k]!) > Math.abs(m[pivot]![k]!)) pivot = i;
    if (Math.abs(m[pivot]![k]!) < 1e-13) return undefined;
    [m[k], m[pivot]] = [m[pivot]!, m[k]!];
    for (let i = k + 1; i < n; i++) {
      const factor = m[i]![k]! / m[k]![k]!;
      for (let j = k; j <= n; j++) m[i]![j]! -= factor * m[k]![j]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let k = n - 1; k >= 0; k--) {
    let sum = m[k]![n]!;
    for (let j = k + 1; j < n; j++) sum -= m[k]![j]! * x[j]!;
    x[k] = sum / m[k]![k]!;
  }
  return x.map((v, i) => v * scale[i]!);
}
