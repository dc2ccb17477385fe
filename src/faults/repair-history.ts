/**
 * How often parts fail, learnt from the repairs on record: a gamma prior for the rate, and failures that come at random
 * (Poisson). Hours are part-hours: ten parts in service for a hundred hours are a thousand.
 *
 * @source textbook conjugacy of the gamma and the Poisson distribution
 */

/** What is known of a rate of failures: a gamma distribution worth `shape` failures in `hours`. */
export interface GammaRate {
  readonly shape: number;
  readonly hours: number;
}

/** The rate after `failures` more in `hours` more. @throws RangeError for a negative or missing number */
export function rateAfter(prior: GammaRate, failures: number, hours: number): GammaRate {
  if (!(failures >= 0) || !(hours >= 0))
    throw new RangeError(`${failures} failures in ${hours} part-hours: both must be 0 or more`);
  return { shape: prior.shape + failures, hours: prior.hours + hours };
}

/** Mean rate, failures an hour. */
export function meanRate({ shape, hours }: GammaRate): number {
  return shape / hours;
}

/** Most probable rate, failures an hour; 0 below one failure. */
export function modalRate({ shape, hours }: GammaRate): number {
  return Math.max(0, shape - 1) / hours;
}

/** Standard deviation of the rate, failures an hour. */
export function rateDeviation({ shape, hours }: GammaRate): number {
  return Math.sqrt(shape) / hours;
}

/**
 * The rate that is not exceeded with probability `p`, failures an hour: 0 at 0, Infinity at 1.
 *
 * @throws RangeError when `p` is no probability
 */
export function rateQuantile({ shape, hours }: GammaRate, p: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`probability ${p}: must lie between 0 and 1`);
  if (p === 1) return Infinity;
  let low = 0;
  let high = shape + 10;
  while (gammaShare(shape, high) < p) high *= 2;
  for (;;) {
    const middle = 0.5 * (low + high);
    // Until no number lies between: quantiles near zero keep their digits, too.
    if (!(middle > low && middle < high)) return high / hours;
    if (gammaShare(shape, middle) < p) low = middle;
    else high = middle;
  }
}

/** Probability of exactly `failures` in the next `hours` part-hours: negative binomial. */
export function failureProbability(rate: GammaRate, failures: number, hours: number): number {
  const stays = rate.hours / (rate.hours + hours);
  let p = stays ** rate.shape;
  for (let k = 0; k < failures; k++) p *= ((rate.shape + k) / (k + 1)) * (1 - stays);
  return p;
}

/**
 * Rates with the repairs on record: for each key (a kind of part, or a mode of one) the mean of the gamma-Poisson posterior,
 * the prior rate being worth `worth` failures (common practice, no source).
 *
 * @param rates     prior rates, failures in a unit of time
 * @param repairs   failures on record; a key that is missing has had none
 * @param exposure  part-times in service in the reciprocal unit of the rates; a key that is missing has not been watched
 * @throws RangeError for a negative number, or a repair or an exposure without a rate; the message names it
 */
export function updatedRates(
  rates: ReadonlyMap<string, number>,
  repairs: ReadonlyMap<string, number>,
  exposure: ReadonlyMap<string, number>,
  worth = 2,
): Map<string, number> {
  for (const key of [...repairs.keys(), ...exposure.keys()])
    if (!rates.has(key)) throw new RangeError(`no rate for ${key}`);
  const updated = new Map<string, number>();
  for (const [key, rate] of rates) {
    const failures = repairs.get(key) ?? 0;
    const time = exposure.get(key) ?? 0;
    if (!(rate > 0) || !(failures >= 0) || !(time >= 0))
      throw new RangeError(`${key}: rate ${rate}, ${failures} failures in ${time}`);
    updated.set(key, meanRate(rateAfter({ shape: worth, hours: worth / rate }, failures, time)));
  }
  return updated;
}

/**
 * Exposures in the unit that rates against each other need, as those of `failureRates` are: the parts in service, scaled so
 * that the rates expect as many failures as are on record. Then only the shares between the keys are learnt.
 */
export function relativeExposure(
  rates: ReadonlyMap<string, number>,
  repairs: ReadonlyMap<string, number>,
  parts: ReadonlyMap<string, number>,
): Map<string, number> {
  let seen = 0;
  for (const k of repairs.values()) seen += k;
  let expected = 0;
  for (const [key, n] of parts) expected += n * (rates.get(key) ?? 0);
  return new Map([...parts].map(([key, n]) => [key, expected > 0 ? (n * seen) / expected : 0]));
}

/**
 * Regularised lower incomplete gamma function P(a, x): series below a + 1, continued fraction above.
 *
 * @source Abramowitz & Stegun 6.5.29 and 6.5.31 (from memory)
 */
function gammaShare(a: number, x: number): number {
  if (x <= 0) return 0;
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let n = 1; Math.abs(term) > 1e-17 * sum; n++) {
      term *= x / (a + n);
      sum += term;
    }
    return front * sum;
  }
  // Lentz's way of working the fraction from the front.
  let b = x + 1 - a;
  let c = 1e300;
  let d = 1 / b;
  let h = d;
  for (let n = 1; n < 10_000; n++) {
    const an = -n * (n - a);
    b += 2;
    d = 1 / (an * d + b);
    c = b + an / c;
    h *= c * d;
    if (Math.abs(c * d - 1) < 1e-16) break;
  }
  return 1 - front * h;
}

/** Natural log of the gamma function for a > 0: Stirling's series beyond 15, where its first six terms give all digits. */
function logGamma(a: number): number {
  let shift = 0;
  let x = a;
  for (; x < 15; x++) shift -= Math.log(x);
  const y = 1 / (x * x);
  const series =
    1 / 12 - y * (1 / 360 - y * (1 / 1260 - y * (1 / 1680 - y * (1 / 1188 - (y * 691) / 360360))));
  return shift + (x - 0.5) * Math.log(x) - x + 0.5 * Math.log(2 * Math.PI) + series / x;
}
