/** Least-squares fit of a time map between two even series that already lie nearly right. */

import { coarse } from './even-series.ts';

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
  readonly likeness: number;
  /** Pairs of samples that were compared. */
  readonly pairs: number;
}

/** Steps of a fit at one scale at most; it ends earlier once it moves by less than this, in samples. */
const STEPS = 8;
const SMALL_STEP = 1e-4;
/** A sample that is off by more than this share of the swing is not weighed once the traces lie right: it is a difference. */
const GROSS = 0.25;
/** Ratio of one scale to the next finer one. */
const FINER = 4;

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
function fitAt(
  a: Float32Array,
  b: Float32Array,
  first: SampleMap,
  from: number,
  to: number,
  fitRate: boolean,
  most: number,
): Omit<Fit, 'likeness' | 'pairs'> | undefined {
  let { start, rate } = first;
  const [begin, end] = [Math.max(1, from), Math.min(a.length - 1, to)];
  const middle = (begin + end) / 2;
  const length = Math.max(1, end - begin);
  const swing = range(a, begin, end);
  let [alpha, beta, gross] = [1, 0, Number.POSITIVE_INFINITY];
  let fit: Omit<Fit, 'likeness' | 'pairs'> | undefined;
  for (let step = 0; step < STEPS; step++) {
    // Sums over the pairs: n, a, b, aa, ab, bb, and those with the slope d and with x d.
    let [n, sa, sb, saa, sab, sbb] = [0, 0, 0, 0, 0, 0];
    let [sd, sad, sbd, sdd] = [0, 0, 0, 0];
    let [se, sae, sbe, sde, see] = [0, 0, 0, 0, 0];
    const low = Math.max(begin, Math.ceil(-start / rate));
    const high = Math.min(end, Math.floor((b.length - 2 - start) / rate));
    for (let i = low; i < high; i++) {
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
      if (d === 0) continue;
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
    if (Math.abs(u) + Math.abs(w) < SMALL_STEP) break;
  }
  return fit;
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

/** Correlation coefficient of all pairs of samples under a map, differences between the units included. */
function likeness(
  a: Float32Array,
  b: Float32Array,
  { start, rate }: SampleMap,
): { likeness: number; pairs: number } {
  let [n, sa, sb, saa, sab, sbb] = [0, 0, 0, 0, 0, 0];
  const low = Math.max(0, Math.ceil(-start / rate));
  const high = Math.min(a.length, Math.floor((b.length - 2 - start) / rate));
  for (let i = low; i < high; i++) {
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
  return { likeness: varied > 0 ? (n * sab - sa * sb) / Math.sqrt(varied) : 0, pairs: n };
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

/**
 * Fit from a scale of `factor` samples, at which the traces lie within half a pulse, down to single samples. Where the rate is
 * sought, a stretch about `centre` that is `known` samples long is right already, and is doubled until it is the whole.
 */
export function fineAlignment(
  a: Float32Array,
  b: Float32Array,
  first: SampleMap,
  factor: number,
  rateSought: { readonly centre: number; readonly known: number; readonly most: number } | undefined,
): Fit | undefined {
  let map = first;
  let fit: Omit<Fit, 'likeness' | 'pairs'> | undefined;
  for (let scale = factor; ; scale = Math.max(1, Math.floor(scale / FINER))) {
    const [as, bs] = [coarse(a, scale), coarse(b, scale)];
    // Mean of `scale` samples stands at their middle.
    const shift = (scale - 1) / 2;
    const toScale = ({ start, rate }: SampleMap): SampleMap => ({
      start: (start + (rate - 1) * shift) / scale,
      rate,
    });
    const toSamples = ({ start, rate }: SampleMap): SampleMap => ({
      start: start * scale - (rate - 1) * shift,
      rate,
    });
    const stretches: [number, number][] = [];
    if (rateSought && scale === factor) {
      for (let half = rateSought.known / 2; half < a.length; half *= 2) {
        stretches.push([(rateSought.centre - half) / scale, (rateSought.centre + half) / scale]);
      }
    }
    stretches.push([0, as.length]);
    for (const [from, to] of stretches) {
      const next = fitAt(as, bs, toScale(map), Math.floor(from), Math.ceil(to), rateSought !== undefined, 2);
      const held =
        next !== undefined && (!rateSought || Math.abs(next.map.rate - 1) <= 1.1 * rateSought.most);
      if (!held) continue;
      fit = {
        ...next,
        map: toSamples(next.map),
        shiftUncertainty: next.shiftUncertainty * scale,
      };
      map = fit.map;
    }
    if (scale === 1) return fit && { ...fit, ...likeness(a, b, fit.map) };
  }
}
