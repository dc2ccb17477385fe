/**
 * Charge in the depletion layer of a junction, coulombs, and its derivative, the capacitance.
 *
 *   C(v) = C0 (1 - v/phi)^(-m)     below F phi, above it the tangent of that curve
 *
 * with m = 1/2 for an abrupt junction (alloy) and 1/3 for a graded one (diffused).
 *
 * @source W. Shockley, Bell System Technical Journal 28 (1949) 435-489, the two gradings (from memory); the tangent
 * above F phi is common practice, no source
 */

import { exponential, type Junction, KNEE, kneeVolts, saturatedLeakage, ZENER_AMPERES } from './junction.ts';

/** Share of the built-in voltage from which the capacitance goes on as a straight line. */
const LINEAR_FROM = 0.5;

export interface Depletion {
  /** Farads at no voltage. */
  farads: number;
  /** Built-in voltage, volts. */
  phi: number;
  /** m = 1/2, otherwise 1/3. */
  abrupt: boolean;
}

/** What the last call left: coulombs and farads. */
export const depletion = { q: 0, c: 0 };

export function depletionCharge(d: Depletion, v: number): void {
  const { farads, phi, abrupt } = d;
  const m = abrupt ? 1 / 2 : 1 / 3;
  const from = LINEAR_FROM * phi;
  const at = Math.min(v, from);
  const u = 1 - at / phi;
  // u^m and so u^(1 - m) = u / u^m.
  const root = abrupt ? Math.sqrt(u) : Math.cbrt(u);
  const c = farads / root;
  const q = ((farads * phi) / (1 - m)) * (1 - u / root);
  if (v < from) {
    depletion.q = q;
    depletion.c = c;
    return;
  }
  const slope = (c * m) / (phi * u);
  const over = v - from;
  depletion.q = q + over * (c + 0.5 * slope * over);
  depletion.c = c + slope * over;
}

/** What the last call of `chargedJunction` left: amperes, siemens, coulombs, farads. */
export const charged = { i: 0, g: 0, q: 0, c: 0 };

/**
 * A junction without its series resistance at `x` volts: what it conducts, as in `junctionCurrent`, and what it stores, the
 * layer and `transit` seconds of the forward current.
 */
export function chargedJunction(j: Junction, layer: Depletion, transit: number, x: number): void {
  const { is, nvt, leak, vz } = j;
  const { e, de } = exponential(x / nvt, is);
  const forward = is * (e - 1);
  const slope = (is * de) / nvt;
  depletionCharge(layer, x);
  charged.q = depletion.q + transit * forward;
  charged.c = depletion.c + transit * slope;
  let i = forward;
  let g = slope;
  if (leak !== 0) {
    const { s, ds } = saturatedLeakage(x);
    i += leak * s;
    g += leak * ds;
  }
  if (vz !== Infinity) {
    const knee = exponential(-(x + kneeVolts(j)) / KNEE, ZENER_AMPERES);
    i -= ZENER_AMPERES * knee.e;
    g += (ZENER_AMPERES * knee.de) / KNEE;
  }
  charged.i = i;
  charged.g = g;
}
