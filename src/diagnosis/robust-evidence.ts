/**
 * The probability density of a set of readings under a Gaussian with heavy tails: a few slips of the probe, and a few nets
 * where the model is off.
 *
 * A slip reads anything within the supply range and leaves the Gaussian by itself. Other things put several readings off
 * together: a net where the model is off (a stage at the edge of saturation), a leakage far above the usual. The worst
 * comes first, for as long as that makes the whole more probable.
 */

export interface Evidence {
  /** Natural log of the density, slips included. */
  readonly log: number;
  /** Inverse covariance times residual; zero for readings that were set aside. */
  readonly weights: Float64Array;
  /** Readings taken for slips. */
  readonly setAside: readonly number[];
  /** Which of the loose ways the readings have gone. */
  readonly loose: readonly number[];
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

/** A way in which some readings may be off together by more than the Gaussian allows. */
export interface LooseWay {
  /** Which readings, and the standard deviation by which it moves each, volts; signs say which move against each other. */
  readonly readings: readonly number[];
  readonly volts: readonly number[];
  /** Probability that they have gone this way. */
  readonly rate: number;
}

/** How readings may fail to follow the Gaussian. */
export interface Tails {
  /** Probability that a reading is a slip, and the density of what it then reads, 1/V. */
  readonly slipRate: number;
  readonly slipDensity: number;
  readonly mostSlips: number;
  readonly ways: readonly LooseWay[];
  readonly mostWays: number;
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
 * @returns undefined when the covariance is not positive definite
 */
export function robustEvidence(
  residual: Float64Array,
  covariance: Float64Array,
  tails: Tails,
): Evidence | undefined {
  const ready = factored(covariance, residual.length);
  return ready && evidenceOf(ready, residual, tails, () => alongWays(ready, tails.ways));
}

/**
 * The same for a covariance that was factored before. It is never changed: what leaves and what is loosened is kept as rank-one
 * corrections of the inverse, G - sum of s v v'.
 *
 * @param along  what `alongWays` gives for the covariance and the ways; asked for only where something is off
 * @param wider  readings whose variance is another one than in the covariance
 */
export function evidenceOf(
  ready: Factored,
  residual: Float64Array,
  tails: Tails,
  along: () => Float64Array,
  wider: readonly Wider[] = [],
): Evidence | undefined {
  const { n } = ready;
  const { slipRate, slipDensity, ways } = tails;
  const keepCost = Math.log1p(-slipRate);
  const slipCost = Math.log(slipRate * slipDensity);
  const weights = solved(ready, residual);
  const precision = ready.precision.slice();
  let { logDet } = ready;
  let chi = 0;
  for (let i = 0; i < n; i++) chi += weights[i]! * residual[i]!;
  const corrections: Correction[] = [];
  const out = new Uint8Array(n);
  /** Inverse covariance, as corrected so far, times the vector of a way. */
  const times = ({ readings, volts }: Pick<LooseWay, 'readings' | 'volts'>): Float64Array => {
    const vector = new Float64Array(n);
    readings.forEach((i, k) => {
      vector[i] = volts[k]!;
    });
    const v = solved(ready, vector);
    for (const c of corrections) {
      let f = 0;
      readings.forEach((i, k) => {
        f += c.along[i]! * volts[k]!;
      });
      f *= c.scale;
      if (f !== 0) for (let i = 0; i < n; i++) v[i]! -= f * c.along[i]!;
    }
    return v;
  };
  const single = (i: number): Float64Array => times({ readings: [i], volts: [1] });
  /** G - scale v v', with v = G u of the vector u that the readings pull along by `pull` = u' w. */
  const correct = (v: Float64Array, pull: number, scale: number): void => {
    const f = scale * pull;
    for (let i = 0; i < n; i++) {
      weights[i]! -= f * v[i]!;
      precision[i]! -= scale * v[i]! * v[i]!;
    }
    corrections.push({ scale, along: v });
  };
  for (const { i, by } of wider) {
    const v = single(i);
    const factor = 1 + by * v[i]!;
    if (!(factor > 0)) return undefined;
    chi -= (by * weights[i]! * weights[i]!) / factor;
    logDet += Math.log(factor);
    correct(v, weights[i]!, by / factor);
  }
  let log = -0.5 * (chi + logDet + n * LOG_TWO_PI) + n * keepCost;
  const setAside: number[] = [];
  const loose: number[] = [];
  // Nobody gains by leaving where there is no misfit to speak of.
  if (n === 0 || chi < 9) return { log, weights, setAside, loose, chiSquare: Math.max(0, chi), corrections };
  const sure = along().slice();
  let counted = 0;
  while (setAside.length < tails.mostSlips || loose.length < tails.mostWays) {
    // How sure the others are of each way, with what was corrected since the last look.
    for (; counted < corrections.length; counted++) {
      const { scale, along: v } = corrections[counted]!;
      for (let k = 0; k < ways.length; k++) sure[k]! -= scale * alongWay(ways[k]!, v) ** 2;
    }
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
    let gone = -1;
    if (loose.length < tails.mostWays)
      for (let k = 0; k < ways.length; k++) {
        if (loose.includes(k)) continue;
        // The covariance grows by u u'.
        const pull = alongWay(ways[k]!, weights);
        const own = (pull * pull) / (1 + sure[k]!);
        const g = 0.5 * (own - Math.log1p(sure[k]!)) + Math.log(ways[k]!.rate);
        if (g > gain) {
          gain = g;
          gone = k;
          lost = own;
        }
      }
    if (gone < 0 && leave < 0) break;
    log += gain;
    chi -= lost;
    if (gone >= 0) {
      correct(times(ways[gone]!), alongWay(ways[gone]!, weights), 1 / (1 + sure[gone]!));
      loose.push(gone);
    } else {
      correct(single(leave), weights[leave]!, 1 / precision[leave]!);
      out[leave] = 1;
      weights[leave] = 0;
      setAside.push(leave);
    }
  }
  for (const i of setAside) weights[i] = 0;
  return { log, weights, setAside, loose, chiSquare: Math.max(0, chi), corrections };
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

/** u' G u of each way: how sure a covariance is that the readings have not gone it. */
export function alongWays({ n, inverse }: Factored, ways: readonly LooseWay[]): Float64Array {
  return Float64Array.from(ways, ({ readings, volts }) => {
    let sum = 0;
    for (let i = 0; i < n; i++) {
      let x = 0;
      for (let k = 0; k < readings.length; k++)
        if (readings[k]! <= i) x += inverse[i * n + readings[k]!]! * volts[k]!;
      sum += x * x;
    }
    return sum;
  });
}

function alongWay({ readings, volts }: LooseWay, x: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < readings.length; k++) sum += volts[k]! * x[readings[k]!]!;
  return sum;
}

const LOG_TWO_PI = Math.log(2 * Math.PI);
