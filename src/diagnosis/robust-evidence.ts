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
  /** What was set aside and loosened, as rank-one corrections of the inverse covariance G: G - sum of scale v v'. */
  readonly corrections: readonly Correction[];
}

interface Correction {
  readonly scale: number;
  readonly along: Float64Array;
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

/** A covariance that is ready to be asked for the evidence of readings, whatever their values. */
export interface Factored {
  readonly n: number;
  /** Inverse of the lower Cholesky factor, row-major. */
  readonly inverse: Float64Array;
  readonly logDet: number;
  /** Diagonal of the inverse covariance. */
  readonly precision: Float64Array;
}

/** A reading whose variance is larger than in a covariance, by so many V² (less: negative). */
export interface Wider {
  readonly i: number;
  readonly by: number;
}

/** Factors the symmetric n x n `covariance` (row-major, lower part used); undefined when it is not positive definite. */
export function factored(covariance: Float64Array, n: number): Factored | undefined {
  const l = cholesky(covariance, n);
  if (!l) return undefined;
  const inverse = inverseFactor(l, n);
  let logDet = 0;
  const precision = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    logDet += 2 * Math.log(l[i * n + i]!);
    for (let k = 0; k <= i; k++) precision[k]! += inverse[i * n + k]! ** 2;
  }
  return { n, inverse, logDet, precision };
}

/** Inverse of the lower triangular `l`, row by row. */
function inverseFactor(l: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    const pivot = 1 / l[row + i]!;
    for (let k = 0; k < i; k++) {
      const f = l[row + k]! * pivot;
      if (f === 0) continue;
      for (let c = 0; c <= k; c++) inverse[row + c]! -= f * inverse[k * n + c]!;
    }
    inverse[row + i] = pivot;
  }
  return inverse;
}

/** The inverse covariance in full, row-major; `wider` as for `evidenceOf`. */
export function inverseCovariance({ n, inverse }: Factored, wider: readonly Wider[] = []): Float64Array {
  const full = new Float64Array(n * n);
  for (let k = 0; k < n; k++)
    for (let i = 0; i <= k; i++) {
      const f = inverse[k * n + i]!;
      if (f !== 0) for (let j = 0; j <= k; j++) full[i * n + j]! += f * inverse[k * n + j]!;
    }
  for (const { i, by } of wider) {
    const along = full.slice(i * n, i * n + n);
    const scale = by / (1 + by * along[i]!);
    for (let a = 0; a < n; a++) for (let b = 0; b < n; b++) full[a * n + b]! -= scale * along[a]! * along[b]!;
  }
  return full;
}

/** Inverse covariance times the vector x. */
function solved({ n, inverse }: Factored, x: Float64Array): Float64Array {
  const result = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    let sum = 0;
    for (let k = 0; k <= i; k++) sum += inverse[row + k]! * x[k]!;
    if (sum !== 0) for (let k = 0; k <= i; k++) result[k]! += sum * inverse[row + k]!;
  }
  return result;
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
  const ready = factored(covariance, residual.length);
  return ready && evidenceOf(ready, residual, net, tails);
}

/**
 * The same for a covariance that was factored before. It is never changed: what leaves and what is loosened is kept as rank-one
 * corrections of the inverse, G - sum of s v v'.
 *
 * @param wider  readings whose variance is another one than in the covariance
 */
export function evidenceOf(
  ready: Factored,
  residual: Float64Array,
  net: ArrayLike<number>,
  tails: Tails,
  wider: readonly Wider[] = [],
): Evidence | undefined {
  const { n } = ready;
  const { slipRate, slipDensity, misfitRate, misfitVolts } = tails;
  const keepCost = Math.log1p(-slipRate);
  const slipCost = Math.log(slipRate * slipDensity);
  const weights = solved(ready, residual);
  const precision = ready.precision.slice();
  let { logDet } = ready;
  let chi = 0;
  for (let i = 0; i < n; i++) chi += weights[i]! * residual[i]!;
  const corrections: Correction[] = [];
  const members = new Map<number, number[]>();
  const groups: { key: number; list: readonly number[]; along: number; pull: number; free: boolean }[] = [];
  /** Inverse covariance, as corrected so far, times the indicator of some readings. */
  const times = (list: readonly number[]): Float64Array => {
    const unit = new Float64Array(n);
    for (const i of list) unit[i] = 1;
    const v = solved(ready, unit);
    for (const { scale, along } of corrections) {
      const f = scale * sumOver(along, list);
      if (f !== 0) for (let i = 0; i < n; i++) v[i]! -= f * along[i]!;
    }
    return v;
  };
  const correct = (list: readonly number[], along: Float64Array, scale: number): void => {
    const pull = scale * sumOver(weights, list);
    for (let i = 0; i < n; i++) {
      weights[i]! -= pull * along[i]!;
      precision[i]! -= scale * along[i]! * along[i]!;
    }
    for (const g of groups) {
      const own = sumOver(along, g.list);
      g.along -= scale * own * own;
      g.pull -= pull * own;
    }
    corrections.push({ scale, along });
  };
  for (const { i, by } of wider) {
    const along = times([i]);
    const factor = 1 + by * along[i]!;
    if (!(factor > 0)) return undefined;
    chi -= (by * weights[i]! * weights[i]!) / factor;
    logDet += Math.log(factor);
    correct([i], along, by / factor);
  }
  let log = -0.5 * (chi + logDet + n * LOG_TWO_PI) + n * keepCost;
  const setAside: number[] = [];
  const misfits: number[] = [];
  // Nobody gains by leaving where there is no misfit to speak of.
  if (n === 0 || chi < 9)
    return { log, weights, setAside, misfits, chiSquare: Math.max(0, chi), corrections };
  for (let i = 0; i < n; i++) {
    const list = members.get(net[i]!);
    if (list) list.push(i);
    else members.set(net[i]!, [i]);
  }
  for (const [key, list] of members) {
    const along = list.length === 1 ? precision[list[0]!]! : sumOver(times(list), list);
    groups.push({ key, list, along, pull: sumOver(weights, list), free: false });
  }
  const out = new Uint8Array(n);
  while (setAside.length < tails.mostSlips || misfits.length < tails.mostMisfits) {
    let gain = 0;
    let leave = -1;
    let lost = 0;
    if (setAside.length < tails.mostSlips)
      for (let i = 0; i < n; i++) {
        if (out[i] === 1) continue;
        const own = (weights[i]! * weights[i]!) / precision[i]!;
        // Taking i out: chi falls by `own`, log det by -log(precision); it pays the slip's price instead of its place.
        const g = 0.5 * (own - Math.log(precision[i]!) + LOG_TWO_PI) - keepCost + slipCost;
        if (g > gain) {
          gain = g;
          leave = i;
          lost = own;
        }
      }
    let shifted: (typeof groups)[number] | undefined;
    if (misfits.length < tails.mostMisfits)
      for (const group of groups) {
        if (group.free) continue;
        // One offset of misfitVolts for the whole group: covariance + V² u u'.
        const factor = 1 + misfitVolts * misfitVolts * group.along;
        const own = (misfitVolts * misfitVolts * group.pull * group.pull) / factor;
        const g = 0.5 * (own - Math.log(factor)) + Math.log(misfitRate);
        if (g > gain) {
          gain = g;
          shifted = group;
          lost = own;
        }
      }
    if (!shifted && leave < 0) break;
    log += gain;
    chi -= lost;
    if (shifted) {
      const variance = misfitVolts * misfitVolts;
      correct(shifted.list, times(shifted.list), variance / (1 + variance * shifted.along));
      shifted.free = true;
      misfits.push(shifted.key);
    } else {
      correct([leave], times([leave]), 1 / precision[leave]!);
      out[leave] = 1;
      weights[leave] = 0;
      setAside.push(leave);
    }
  }
  for (const i of setAside) weights[i] = 0;
  return { log, weights, setAside, misfits, chiSquare: Math.max(0, chi), corrections };
}

/**
 * By how much the readings lower the variance of something else, given their covariances with it: c' G c with what was set aside
 * and loosened.
 */
export function explained(
  { n, inverse }: Factored,
  corrections: readonly Correction[],
  shared: Float64Array,
): number {
  let sum = 0;
  for (let i = 0; i < n; i++) {
    let x = 0;
    for (let k = 0; k <= i; k++) x += inverse[i * n + k]! * shared[k]!;
    sum += x * x;
  }
  for (const { scale, along } of corrections) {
    let x = 0;
    for (let i = 0; i < n; i++) x += along[i]! * shared[i]!;
    sum -= scale * x * x;
  }
  return Math.max(0, sum);
}

function sumOver(x: Float64Array, list: readonly number[]): number {
  let sum = 0;
  for (const i of list) sum += x[i]!;
  return sum;
}

const LOG_TWO_PI = Math.log(2 * Math.PI);
