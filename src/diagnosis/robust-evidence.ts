/**
 * The probability density of a set of readings under a Gaussian with heavy tails: a few slips of the probe, and a few nets
 * where the model is off.
 *
 * A slip reads anything within the supply range. At a net where the model is off (a stage at the edge of saturation, a
 * leakage beyond the usual) all readings in all states may be off by some tenths of a volt. Readings leave the Gaussian
 * one by one or net by net, the worst first, for as long as that makes the whole more probable.
 */

export interface Evidence {
  /** Natural log of the density, slips included. */
  readonly log: number;
  /** Inverse covariance times residual; zero for readings that were set aside. */
  readonly weights: Float64Array;
  /** Readings taken for slips. */
  readonly setAside: readonly number[];
  /** Nets at which the model is off by more than its error says. */
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
function inverseOf(l: Float64Array, n: number): Float64Array {
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
 * @param net        net number of each reading: readings of one net share a misfit of the model
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
    let slip = false;
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
          slip = true;
          lost = own;
        }
      }
    if (misfits.length < tails.mostMisfits)
      for (const [, members] of groups) {
        const kept = members.filter((i) => inverse[i * n + i] !== 0);
        if (kept.length === 0 || misfits.includes(net[kept[0]!]!)) continue;
        const out = leftOut(inverse, weights, n, kept);
        if (!out || out.lost < 6) continue;
        // Each reading of the net is then only known to lie within some misfitVolts of where the others put it.
        let price = Math.log(misfitRate);
        for (let q = 0; q < kept.length; q++) {
          const s2 = misfitVolts * misfitVolts + out.variance[q]!;
          price -= 0.5 * ((out.residual[q]! * out.residual[q]!) / s2 + Math.log(s2) + LOG_TWO_PI);
        }
        const g = 0.5 * (out.lost + out.logDet + kept.length * LOG_TWO_PI) + price;
        if (g > gain) {
          gain = g;
          leave = kept;
          slip = false;
          lost = out.lost;
        }
      }
    if (leave.length === 0) break;
    log += gain;
    chi -= lost;
    for (const i of leave) takeOut(inverse, weights, n, i);
    if (slip) setAside.push(leave[0]!);
    else misfits.push(net[leave[0]!]!);
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

/**
 * What the other readings say of a group: P = G[group, group] of the inverse covariance; left-out residual P^-1 w with
 * covariance P^-1. `lost` is w' P^-1 w, `logDet` that of P^-1.
 */
function leftOut(
  inverse: Float64Array,
  weights: Float64Array,
  n: number,
  group: readonly number[],
): { residual: Float64Array; variance: Float64Array; lost: number; logDet: number } | undefined {
  const m = group.length;
  const p = new Float64Array(m * m);
  for (let a = 0; a < m; a++) for (let b = 0; b < m; b++) p[a * m + b] = inverse[group[a]! * n + group[b]!]!;
  const l = cholesky(p, m);
  if (!l) return undefined;
  const inv = inverseOf(l, m);
  const residual = new Float64Array(m);
  const variance = new Float64Array(m);
  let lost = 0;
  let logDet = 0;
  for (let a = 0; a < m; a++) {
    for (let b = 0; b < m; b++) residual[a]! += inv[a * m + b]! * weights[group[b]!]!;
    variance[a] = inv[a * m + a]!;
    lost += residual[a]! * weights[group[a]!]!;
    logDet -= 2 * Math.log(l[a * m + a]!);
  }
  return { residual, variance, lost, logDet };
}

const LOG_TWO_PI = Math.log(2 * Math.PI);
