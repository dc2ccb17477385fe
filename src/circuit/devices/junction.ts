/**
 * A junction with a series resistance: diodes, zeners. Current from anode to cathode, amperes.
 *
 *   i(vd) = is (exp(vd/nvt) - 1) + leak s(vd) - iz exp(-(vd + vz)/KNEE)          v = vd + rs i(vd)
 *
 * with s(vd) = tanh(vd / 0.1 V): a leakage that saturates within a few tenths of a volt. The law of the leakage is a
 * choice of ours; what matters is its amount.
 */

import { exponentialOf } from './exponential.ts';

/** Below this the exponential is lost beside the 1 that is taken from it: exp(-40) is under a tenth of a unit in the last place. */
const LOW = -40;
/**
 * Current of a junction above which its curve goes on as its tangent, amperes: no part of these machines carries it, and
 * a junction that a fault lays across two rails then has a current that doubles can balance.
 */
export const MOST_AMPERES = 100;

/** exp(x) of a junction of saturation current `is`, and its derivative by x, in the object that is returned. */
const curve = { e: 0, de: 0 };
export function exponential(x: number, is: number): { readonly e: number; readonly de: number } {
  if (x < LOW) {
    curve.e = 0;
    curve.de = 0;
    return curve;
  }
  const e = exponentialOf(x);
  if (is * e > MOST_AMPERES) {
    const top = MOST_AMPERES / is;
    curve.e = top * (1 + x - Math.log(top));
    curve.de = top;
  } else {
    curve.e = e;
    curve.de = e;
  }
  return curve;
}

/** Voltage within which a leakage saturates, volts. */
export const LEAK_VOLTS = 0.1;

/** tanh(v / LEAK_VOLTS) and its derivative by v, in the object that is returned (one at a time). */
const saturated = { s: 0, ds: 0 };
export function saturatedLeakage(v: number): { readonly s: number; readonly ds: number } {
  const u = v / LEAK_VOLTS;
  if (u > 20 || u < -20) {
    saturated.s = u > 0 ? 1 : -1;
    saturated.ds = 0;
    return saturated;
  }
  const e = exponentialOf(-2 * Math.abs(u));
  const t = (1 - e) / (1 + e);
  saturated.s = u < 0 ? -t : t;
  saturated.ds = (1 - t * t) / LEAK_VOLTS;
  return saturated;
}
/** Softness of a zener's knee, volts for a factor e of current. Common practice, no source. */
export const KNEE = 0.03;
/** Current at which a zener's voltage is stated, amperes. Common practice, no source. */
export const ZENER_AMPERES = 5e-3;

export interface Junction {
  is: number;
  nvt: number;
  rs: number;
  leak: number;
  /** Breakdown voltage at ZENER_AMPERES, positive volts; Infinity for a plain diode. */
  vz: number;
}

/** What `loose` is without a say: current and slope are then good to some 1e-7 of themselves. */
const EXACT = 1e-9;

/** Result of the last call of `junctionCurrent` (one at a time: the caller reads it before the next call). */
export const junction = { i: 0, g: 0, vd: 0 };

/**
 * Inner voltage at which a zener's breakdown current is ZENER_AMPERES: the stated voltage less what the dynamic resistance
 * takes, but never less than half of it.
 */
export function kneeVolts(j: Junction): number {
  return Math.max(0.5 * j.vz, j.vz - j.rs * ZENER_AMPERES);
}

/**
 * Current and conductance of the whole branch at `v` volts; leaves them in `junction`.
 *
 * With a series resistance the inner voltage is found by Newton's method between bounds. From the voltage at which the
 * resistance alone would carry all the current, Newton comes down a convex curve without overshoot.
 *
 * @param guess  inner voltage near by, or nothing
 * @param loose  a step of the inner voltage that need not be followed by another look, volts: the error is its square over 2 nvt
 */
export function junctionCurrent(j: Junction, v: number, guess = Number.NaN, loose = EXACT): void {
  const { is, nvt, rs, leak, vz } = j;
  const perVolt = 1 / nvt;
  // The inner voltage lies between zero and v, and not beyond where the resistance would need more than all of v.
  let lo = 0;
  let hi = 0;
  let vd = v;
  if (rs === 0) {
    lo = v;
    hi = v;
  } else if (v > 0) {
    hi = v;
    vd = guess > 0 && guess < v ? guess : Number.NaN;
    // Far above its place Newton would come down by nvt a step.
    const top = v > 4 * nvt ? nvt * Math.log1p(v / (rs * (is + 1e-30))) : v;
    if (top < hi) hi = top;
    if (!(vd <= hi)) vd = hi;
  } else {
    lo = v;
    if (v < -vz) lo = Math.max(v, -vz - KNEE * Math.log1p((-v - vz) / (rs * ZENER_AMPERES)));
    vd = guess >= lo && guess <= 0 ? guess : lo;
  }
  let i = 0;
  let g = 0;
  for (let k = 0; k < 80; k++) {
    const { e, de } = exponential(vd * perVolt, is);
    i = is * (e - 1);
    g = is * de * perVolt;
    if (leak !== 0) {
      const { s, ds } = saturatedLeakage(vd);
      i += leak * s;
      g += leak * ds;
    }
    if (vz !== Infinity) {
      const knee = exponential(-(vd + kneeVolts(j)) / KNEE, ZENER_AMPERES);
      i -= ZENER_AMPERES * knee.e;
      g += (ZENER_AMPERES * knee.de) / KNEE;
    }
    const h = vd + rs * i - v;
    if (h > 0) hi = vd;
    else lo = vd;
    let next = vd - h / (1 + rs * g);
    if (!(next >= lo && next <= hi)) next = 0.5 * (lo + hi);
    if (Math.abs(next - vd) < loose) break;
    vd = next;
  }
  // The branch current by its tangent at the last inner voltage.
  const scale = 1 / (1 + rs * g);
  i += g * scale * (v - vd - rs * i);
  junction.i = i;
  junction.g = g * scale;
  junction.vd = v - rs * i;
}

/**
 * Derivatives of the branch current at `v` by the junction's own parameters: per unit relative change of `is`, of
 * `leak`, of `rs`, and per volt of `vz`. Written into `out[0..3]`, amperes (A/V for the last).
 *
 * Implicit differentiation of v = vd + rs i(vd; p): di/dp = (∂i/∂p) / (1 + rs g), di/d(ln rs) = -g rs i / (1 + rs g).
 */
export function junctionByParameters(j: Junction, v: number, out: Float64Array): void {
  junctionCurrent(j, v);
  const { i, g, vd } = junction;
  const scale = 1 - j.rs * g;
  out[0] = j.is * (exponential(vd / j.nvt, j.is).de - 1) * scale;
  out[1] = j.leak * saturatedLeakage(vd).s * scale;
  out[2] = -g * j.rs * i;
  out[3] = 0;
  if (j.vz !== Infinity)
    out[3] = ((ZENER_AMPERES * exponential(-(vd + kneeVolts(j)) / KNEE, ZENER_AMPERES).de) / KNEE) * scale;
}

/**
 * The junction voltage at which the next Newton step may linearise: steps that would run up the exponential are
 * taken in the logarithm instead. `old` is the voltage of the last linearisation.
 *
 * @param critical voltage of the curve's smallest radius of bend, nvt ln(nvt / (sqrt(2) is))
 */
export function limitedJunction(v: number, old: number, nvt: number, critical: number): number {
  if (v <= critical || Math.abs(v - old) <= 2 * nvt) return v;
  // Where the curve has gone over into its tangent a step may be of any length.
  const top = critical + nvt * Math.log((MOST_AMPERES * Math.SQRT2) / nvt);
  if (old >= top) return Math.max(v, top);
  if (old > 0) {
    const x = 1 + (v - old) / nvt;
    return x > 0 ? old + nvt * Math.log(x) : critical;
  }
  return Math.min(v, Math.max(critical, nvt * Math.log(Math.max(1, v / nvt))));
}

/** The critical voltage of `limitedJunction`. */
export function criticalVoltage(is: number, nvt: number): number {
  return nvt * Math.log(nvt / (Math.SQRT2 * Math.max(is, 1e-30)));
}
