/**
 * The transport form of the Ebers-Moll transistor with a saturating collector-base leakage.
 *
 *   icc = is (exp(vbe/vt) - 1)     iec = is (exp(vbc/vt) - 1)     il = leak s(vcb)
 *   ic  = icc - iec (1 + 1/br) + il          ib = icc/bf + iec/br - il          ie = -ic - ib
 *
 * Currents run into the device, in the polarity of an NPN; a PNP takes negated voltages and gives negated currents.
 *
 * @source J. J. Ebers, J. L. Moll, Proc. IRE 42 (1954) 1761-1772, in the transport form (from memory)
 */
import { exponential, saturatedLeakage } from './junction.ts';

export interface Transistor {
  /** +1 NPN, -1 PNP. */
  sign: number;
  is: number;
  /** n kT/q, volts. */
  nvt: number;
  bf: number;
  br: number;
  /** Leakage that makes up the stated ICBO, amperes. */
  leak: number;
}

export const BASE = 0;
export const COLLECTOR = 1;
export const EMITTER = 2;

/**
 * What the last call left: `current[t]` into terminal t (base, collector, emitter), amperes, and
 * `jacobian[3 t + u]` = d current[t] / d volts[u], siemens. `inner` is the voltage of an opened terminal.
 */
export const transistor = { current: new Float64Array(3), jacobian: new Float64Array(9), inner: 0 };

/** Evaluates at junction voltages in NPN polarity: vbe, vbc; the caller has limited them. */
export function transistorCurrents(q: Transistor, vbe: number, vbc: number): void {
  const nvt = q.nvt;
  const is = q.is;
  const forward = exponential(vbe / nvt, is);
  const icc = is * (forward.e - 1);
  const dcc = (is * forward.de) / nvt;
  const reverse = exponential(vbc / nvt, is);
  const iec = is * (reverse.e - 1);
  const dec = (is * reverse.de) / nvt;
  const leakage = saturatedLeakage(-vbc);
  const il = q.leak * leakage.s;
  const dil = -q.leak * leakage.ds;
  const rr = 1 / q.br;
  const rf = 1 / q.bf;
  const ic = icc - iec * (1 + rr) + il;
  const ib = icc * rf + iec * rr - il;
  const icBe = dcc;
  const icBc = -dec * (1 + rr) + dil;
  const ibBe = dcc * rf;
  const ibBc = dec * rr - dil;
  const c = transistor.current;
  const j = transistor.jacobian;
  const s = q.sign;
  c[BASE] = s * ib;
  c[COLLECTOR] = s * ic;
  c[EMITTER] = -s * (ib + ic);
  j[0] = ibBe + ibBc;
  j[1] = -ibBc;
  j[2] = -ibBe;
  j[3] = icBe + icBc;
  j[4] = -icBc;
  j[5] = -icBe;
  j[6] = -(j[0]! + j[3]!);
  j[7] = ibBc + icBc;
  j[8] = ibBe + icBe;
}

/**
 * A transistor with one terminal open: that terminal's current is what a meter of `siemens` to the reference draws from
 * it (0: nothing touches it), and its inner voltage follows from the other two. The inner voltage is eliminated, so
 * that the circuit sees a device of two terminals; row and column of the open one are zero.
 *
 * Terminal current rises with the terminal's own voltage, so the root is single; it lies between the other two
 * terminals and the reference.
 *
 * @param open    BASE, COLLECTOR or EMITTER
 * @param volts   base, collector, emitter against the reference; the open one's entry is the starting guess
 */
export function openTransistorCurrents(
  q: Transistor,
  open: number,
  volts: Float64Array,
  siemens: number,
): void {
  const v = volts;
  const a = v[(open + 1) % 3]!;
  const b = v[(open + 2) % 3]!;
  let lo = Math.min(a, b, siemens > 0 ? 0 : a) - 1;
  let hi = Math.max(a, b, siemens > 0 ? 0 : a) + 1;
  let x = v[open]!;
  if (!(x > lo && x < hi)) x = 0.5 * (lo + hi);
  const s = q.sign;
  const { current, jacobian } = transistor;
  for (let k = 0; k < 200; k++) {
    v[open] = x;
    transistorCurrents(q, s * (v[BASE]! - v[EMITTER]!), s * (v[BASE]! - v[COLLECTOR]!));
    const f = current[open]! + siemens * x;
    const df = jacobian[4 * open]! + siemens;
    if (f > 0) hi = x;
    else lo = x;
    let next = x - f / df;
    if (!(next > lo && next < hi)) next = 0.5 * (lo + hi);
    const step = next - x;
    x = next;
    if (Math.abs(step) < 1e-13 + 1e-14 * Math.abs(x)) break;
  }
  transistor.inner = x;
  // Schur complement: terminals other than `open` see J - J[:,o] J[o,:] / (J[o,o] + siemens).
  const pivot = jacobian[4 * open]! + siemens;
  for (let t = 0; t < 3; t++) {
    if (t === open) continue;
    const factor = jacobian[3 * t + open]! / pivot;
    for (let u = 0; u < 3; u++) jacobian[3 * t + u]! -= factor * jacobian[3 * open + u]!;
    jacobian[3 * t + open] = 0;
  }
  for (let u = 0; u < 3; u++) jacobian[3 * open + u] = 0;
  current[open] = 0;
}

/**
 * Derivatives of the terminal currents by the device's own parameters, per unit relative change: rows is, bf, leak of
 * `out[3 row + terminal]`, amperes. With `open` >= 0 the inner voltage of that terminal (`volts[open]`, as
 * `openTransistorCurrents` left it) follows along.
 */
export function transistorByParameters(
  q: Transistor,
  volts: Float64Array,
  open: number,
  siemens: number,
  out: Float64Array,
): void {
  const s = q.sign;
  const vbe = s * (volts[BASE]! - volts[EMITTER]!);
  const vbc = s * (volts[BASE]! - volts[COLLECTOR]!);
  const forward = exponential(vbe / q.nvt, q.is);
  const icc = q.is * (forward.e - 1);
  const iccByIs = q.is * (forward.de - 1);
  const iecByIs = q.is * (exponential(vbc / q.nvt, q.is).de - 1);
  const il = q.leak * saturatedLeakage(-vbc).s;
  out[BASE] = s * (iccByIs / q.bf + iecByIs / q.br);
  out[COLLECTOR] = s * (iccByIs - iecByIs * (1 + 1 / q.br));
  out[3 + BASE] = (-s * icc) / q.bf;
  out[3 + COLLECTOR] = 0;
  out[6 + BASE] = -s * il;
  out[6 + COLLECTOR] = s * il;
  for (let row = 0; row < 3; row++) out[3 * row + EMITTER] = -out[3 * row]! - out[3 * row + 1]!;
  if (open < 0) return;
  transistorCurrents(q, vbe, vbc);
  const j = transistor.jacobian;
  const pivot = j[4 * open]! + siemens;
  for (let row = 0; row < 3; row++) {
    const own = out[3 * row + open]!;
    for (let t = 0; t < 3; t++) out[3 * row + t]! -= (j[3 * t + open]! / pivot) * own;
    out[3 * row + open] = 0;
  }
}
