/**
 * The probability density of a set of readings under a Gaussian with heavy tails: a few slips of the probe, and a few nets
 * where the model is off.
 *
 * A slip reads anything within the supply range and leaves the Gaussian by itself. At a net where the model is off (a stage
 * at the edge of saturation, a leakage beyond the usual) all readings at one level are off together, by some tenths of a
 * volt. The worst slip or net comes first, for as long as that makes the whole more probable.
 */

export interface Evidence {
  /** Natural log of the density, slips included. */
  readonly log: number;
  /** Inverse covariance times residual; zero for readings that were set aside. */
  readonly weights: Float64Array;
  /** Readings taken for slips. */
  readonly setAside: readonly number[];
  /** Groups (nets at one level) at which the model is off by more than its error says. */
  readonly misfits: readonly number[];
  /** Sum of squared standardised residuals of the readings that were kept. */
  readonly chiSquare: number;
}

/** Lower Cholesky factor of the symmetric n x n `a` (row-major, lower part used); undefined when it is not positive definite. */
export function cholesky(a: Float64Array, n: number): Float64Array | undefined {
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * n + j]!;
      for (let k = 0; k < j; k++) sum -= l[i * n + k]! * l[j * n + k]!;
      if (i === j) {
        if (!(sum > 0)) return undefined;
        l[i * n + i] = Math.sqrt(sum);
      } else l[i * n + j] = sum / l[j * n + j]!;
    }
  }
  return l;
}

/** Inverse of l l' from its Cholesky factor, row-major, full. */
export function inverseOf(l: Float64Array, n: number): Float64Array {
  const m = new Float64Array(n * n);
  // Columns of the inverse of l, then m = l^-T l^-1.
  const inv = new Float64Array(n * n);
  for (let c = 0; c < n; c++) {
    inv[c * n + c] = 1 / l[c * n + c]!;
    for (let i = c + 1; i < n; i++) {
      let sum = 0;
      for (let k = c; k < i; k++) sum -= l[i * n + k]! * inv[k * n + c]!;
      inv[i * n + c] = sum / l[i * n + i]!;
    }
  }
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < n; k++) sum += inv[k * n + i]! * inv[k * n + j]!;
      m[i * n + j] = sum;
      m[j * n + i] = sum;
    }
  return m;
}

/** How readings may fail to follow the Gaussian. */
export interface Tails {
  /** Probability that a reading is a slip, and the density of what it then reads, 1/V. */
  readonly slipRate: number;
  readonly slipDensity: number;
  readonly mostSlips: number;
  /** Probability that the model is off at a net by more than its error says, and by how many volts then. */
  readonly misfitRate: number;
  readonly misfitVolts: number;
  readonly mostMisfits: number;
}

/**
 * @param residual   reading minus mean, length n
 * @param covariance n x n row-major, noise included
 * @param net        group of each reading: those of one net at one level share a misfit of the model
 */
export function robustEvidence(
  residual: Float64Array,
  covariance: Float64Array,
  net: ArrayLike<number>,
  tails: Tails,
): Evidence | undefined {
  const n = residual.length;
  const l = cholesky(covariance, n);
  if (!l) return undefined;
  const { slipRate, slipDensity, misfitRate, misfitVolts } = tails;
  const keepCost = Math.log1p(-slipRate);
  const slipCost = Math.log(slipRate * slipDensity);
  let logDet = 0;
  for (let i = 0; i < n; i++) logDet += 2 * Math.log(l[i * n + i]!);
  const weights = new Float64Array(n);
  let chi = 0;
  for (let i = 0; i < n; i++) {
    let sum = residual[i]!;
    for (let k = 0; k < i; k++) sum -= l[i * n + k]! * weights[k]!;
    weights[i] = sum / l[i * n + i]!;
    chi += weights[i]! * weights[i]!;
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = weights[i]!;
    for (let k = i + 1; k < n; k++) sum -= l[k * n + i]! * weights[k]!;
    weights[i] = sum / l[i * n + i]!;
  }
  let log = -0.5 * (chi + logDet + n * LOG_TWO_PI) + n * keepCost;
  const setAside: number[] = [];
  const misfits: number[] = [];
  // Nobody gains by leaving where there is no misfit to speak of: then no inverse is needed.
  if (n === 0 || chi < 9) return { log, weights, setAside, misfits, chiSquare: chi };
  const inverse = inverseOf(l, n);
  const groups = new Map<number, number[]>();
  for (let i = 0; i < n; i++) {
    const list = groups.get(net[i]!);
    if (list) list.push(i);
    else groups.set(net[i]!, [i]);
  }
  while (setAside.length < tails.mostSlips || misfits.length < tails.mostMisfits) {
    let gain = 0;
    let leave: number[] = [];
    let lost = 0;
    if (setAside.length < tails.mostSlips)
      for (let i = 0; i < n; i++) {
        const precision = inverse[i * n + i]!;
        if (precision === 0) continue;
        const own = (weights[i]! * weights[i]!) / precision;
        // Taking i out: chi falls by `own`, log det by -log(precision); it pays the slip's price instead of its place.
        const g = 0.5 * (own - Math.log(precision) + LOG_TWO_PI) - keepCost + slipCost;
        if (g > gain) {
          gain = g;
          leave = [i];
          lost = own;
        }
      }
    let shifted: number[] = [];
    if (misfits.length < tails.mostMisfits)
      for (const [key, members] of groups) {
        if (misfits.includes(key)) continue;
        // One offset of misfitVolts for the whole group: covariance + V² u u'.
        const { along, pull } = ofGroup(inverse, weights, n, members);
        const factor = 1 + misfitVolts * misfitVolts * along;
        const own = (misfitVolts * misfitVolts * pull * pull) / factor;
        const g = 0.5 * (own - Math.log(factor)) + Math.log(misfitRate);
        if (g > gain) {
          gain = g;
          shifted = members;
          lost = own;
        }
      }
    if (shifted.length > 0) {
      log += gain;
      chi -= lost;
      loosen(inverse, weights, n, shifted, misfitVolts * misfitVolts);
      misfits.push(net[shifted[0]!]!);
      continue;
    }
    if (leave.length === 0) break;
    log += gain;
    chi -= lost;
    for (const i of leave) takeOut(inverse, weights, n, i);
    setAside.push(leave[0]!);
  }
  return { log, weights, setAside, misfits, chiSquare: Math.max(0, chi) };
}

/** Removes reading i: the inverse covariance and weights of the others alone. */
function takeOut(inverse: Float64Array, weights: Float64Array, n: number, i: number): void {
  const p = inverse[i * n + i]!;
  const w = weights[i]! / p;
  const column = new Float64Array(n);
  for (let k = 0; k < n; k++) column[k] = inverse[k * n + i]!;
  for (let k = 0; k < n; k++) weights[k]! -= column[k]! * w;
  for (let a = 0; a < n; a++) {
    const f = column[a]! / p;
    if (f === 0) continue;
    for (let b = 0; b < n; b++) inverse[a * n + b]! -= f * column[b]!;
  }
  for (let k = 0; k < n; k++) {
    inverse[k * n + i] = 0;
    inverse[i * n + k] = 0;
  }
  weights[i] = 0;
}

/** u' G u and u' w of a group's indicator u: how sure the others are of its common level, and how far it is off. */
function ofGroup(
  inverse: Float64Array,
  weights: Float64Array,
  n: number,
  group: readonly number[],
): { along: number; pull: number } {
  let along = 0;
  let pull = 0;
  for (const a of group) {
    pull += weights[a]!;
    for (const b of group) along += inverse[a * n + b]!;
  }
  return { along, pull };
}

/** Adds `variance` common to a group to the covariance: Sherman-Morrison on the inverse and the weights. */
function loosen(
  inverse: Float64Array,
  weights: Float64Array,
  n: number,
  group: readonly number[],
  variance: number,
): void {
  const { along, pull } = ofGroup(inverse, weights, n, group);
  const scale = variance / (1 + variance * along);
  const column = new Float64Array(n);
  for (let i = 0; i < n; i++) for (const g of group) column[i]! += inverse[i * n + g]!;
  for (let i = 0; i < n; i++) {
    weights[i]! -= scale * pull * column[i]!;
    const f = scale * column[i]!;
    if (f !== 0) for (let k = 0; k < n; k++) inverse[i * n + k]! -= f * column[k]!;
  }
}

const LOG_TWO_PI = Math.log(2 * Math.PI);
