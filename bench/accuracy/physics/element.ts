/**
 * The elements of the true physics. Each states the currents that leave its nodes into it and their
 * derivatives. Junctions keep the voltage they were last evaluated at, so that a Newton step that would
 * overshoot an exponential is held back (`evaluate` then answers true: the point is not final).
 */
export interface Element {
  /** Node numbers. */
  readonly nodes: Int32Array;
  /**
   * Currents `i` (length k) at node voltages `v` and derivatives `g` (k x k, row-major), amperes and siemens.
   * With `hold`, junction voltages are limited against the last evaluation and the currents are the tangent
   * there carried to `v`; the answer tells whether any was limited.
   */
  evaluate(v: Float64Array, i: Float64Array, g: Float64Array, hold: boolean): boolean;
  /** Takes the junction voltages of `v` as the last ones, a far too large forward one cut down to a plausible one. */
  remember(v: Float64Array): void;
}

/** No junction at rest is further forward than this; a start from afar may be. Volts. */
const FORWARD_MOST = 1.2;

/** exp(x) that goes on as its tangent above x = 60 and is zero below -100. */
function growth(x: number): number {
  return x > 60 ? Math.exp(60) * (x - 59) : x < -100 ? 0 : Math.exp(x);
}
function growthSlope(x: number): number {
  return x > 60 ? Math.exp(60) : x < -100 ? 0 : Math.exp(x);
}

/** A junction voltage held back against the last one: logarithmic above the critical voltage. */
function heldBack(wanted: number, last: number, vt: number, critical: number): number {
  if (wanted <= critical || Math.abs(wanted - last) <= 2 * vt) return wanted;
  if (last > 0) {
    const argument = 1 + (wanted - last) / vt;
    return argument > 0 ? last + vt * Math.log(argument) : critical;
  }
  return vt * Math.log(Math.max(wanted / vt, 1.1));
}

export class Conductor implements Element {
  readonly nodes: Int32Array;
  siemens: number;
  constructor(a: number, b: number, siemens: number) {
    this.nodes = Int32Array.of(a, b);
    this.siemens = siemens;
  }
  evaluate(v: Float64Array, i: Float64Array, g: Float64Array): boolean {
    const s = this.siemens;
    const current = s * (v[this.nodes[0]!]! - v[this.nodes[1]!]!);
    i[0] = current;
    i[1] = -current;
    g[0] = s;
    g[1] = -s;
    g[2] = -s;
    g[3] = s;
    return false;
  }
  remember(): void {}
}

/** A filament: cold it has a tenth of its hot resistance, and warms over about a volt. */
export class Lamp implements Element {
  readonly nodes: Int32Array;
  hot: number;
  constructor(a: number, b: number, hot: number) {
    this.nodes = Int32Array.of(a, b);
    this.hot = hot;
  }
  evaluate(v: Float64Array, i: Float64Array, g: Float64Array): boolean {
    const u = v[this.nodes[0]!]! - v[this.nodes[1]!]!;
    const w = Math.abs(u);
    const under = w + 0.1;
    const current = (u * (w + 1)) / (this.hot * under);
    const slope = ((2 * w + 1) * under - w * (w + 1)) / (this.hot * under * under);
    i[0] = current;
    i[1] = -current;
    g[0] = slope;
    g[1] = -slope;
    g[2] = -slope;
    g[3] = slope;
    return false;
  }
  remember(): void {}
}

/** Constants of a two-terminal junction at its own temperature. */
export interface JunctionConstants {
  /** Saturation current of diffusion and its slope voltage n kT/q. */
  is: number;
  slope: number;
  /** Saturation current of recombination, slope 2 kT/q. */
  isr: number;
  vt: number;
  /** Saturating leakage beyond the two, and the ohmic one. */
  leak: number;
  ohmic: number;
  /** Breakdown: volts at `iz` amperes and the softness of the knee in volts; `iz` 0 means none. */
  vz: number;
  iz: number;
  knee: number;
}

/** A diode or zener junction without its series resistance; nodes anode, cathode. */
export class Junction implements Element {
  readonly nodes: Int32Array;
  constants: JunctionConstants;
  last = 0;
  constructor(anode: number, cathode: number, constants: JunctionConstants) {
    this.nodes = Int32Array.of(anode, cathode);
    this.constants = constants;
  }
  evaluate(v: Float64Array, i: Float64Array, g: Float64Array, hold: boolean): boolean {
    const c = this.constants;
    const across = v[this.nodes[0]!]! - v[this.nodes[1]!]!;
    let u = across;
    if (hold) {
      const critical = c.slope * Math.log(c.slope / (Math.SQRT2 * c.is));
      u = heldBack(across, this.last, c.slope, critical);
      if (c.iz > 0 && u < 0) {
        const zc = c.knee * Math.log(c.knee / (Math.SQRT2 * c.iz));
        u = -(heldBack(-u - c.vz, -this.last - c.vz, c.knee, zc) + c.vz);
      }
      this.last = u;
    }
    let current = c.is * (growth(u / c.slope) - 1) + c.ohmic * u;
    let slope = (c.is * growthSlope(u / c.slope)) / c.slope + c.ohmic;
    const r = u / (2 * c.vt);
    current += c.isr * (growth(r) - 1);
    slope += (c.isr * growthSlope(r)) / (2 * c.vt);
    const t = Math.tanh(r);
    current += c.leak * t;
    slope += (c.leak * (1 - t * t)) / (2 * c.vt);
    if (c.iz > 0) {
      const x = (-u - c.vz) / c.knee;
      current -= c.iz * growth(x);
      slope += (c.iz * growthSlope(x)) / c.knee;
    }
    current += slope * (across - u);
    i[0] = current;
    i[1] = -current;
    g[0] = slope;
    g[1] = -slope;
    g[2] = -slope;
    g[3] = slope;
    return Math.abs(across - u) > 1e-12;
  }
  remember(v: Float64Array): void {
    this.last = Math.min(v[this.nodes[0]!]! - v[this.nodes[1]!]!, FORWARD_MOST);
  }
}

/** Constants of a transistor at its own temperature, all as of an NPN device. */
export interface BipolarConstants {
  sign: 1 | -1;
  vt: number;
  is: number;
  bf: number;
  br: number;
  /** Early voltage, V, and knee current of high injection, A. */
  vaf: number;
  ikf: number;
  /** Base-emitter recombination: saturation current and emission coefficient. */
  ise: number;
  ne: number;
  /** Saturating leakages, A, and the ohmic collector-base one, S. */
  icbo: number;
  iebo: number;
  ohmic: number;
}

/**
 * A bipolar transistor after Gummel and Poon (Bell Syst. Tech. J. 49 (1970) 827-852, from memory) without
 * its series resistances; nodes base, emitter, collector, all inner. Base charge
 * qb = q1/2 (1 + sqrt(1 + 4 q2)), q1 = 1/(1 - vbc/VAF), q2 = IS (exp(vbe/VT) - 1)/IKF; transport current
 * (If - Ir)/qb; base current If/BF + Ir/BR + recombination; leakages as tanh(v/2VT) and ohmic.
 */
export class Bipolar implements Element {
  readonly nodes: Int32Array;
  constants: BipolarConstants;
  lastBe = 0;
  lastBc = 0;
  constructor(base: number, emitter: number, collector: number, constants: BipolarConstants) {
    this.nodes = Int32Array.of(base, emitter, collector);
    this.constants = constants;
  }
  evaluate(v: Float64Array, i: Float64Array, g: Float64Array, hold: boolean): boolean {
    const c = this.constants;
    const s = c.sign;
    const vb = v[this.nodes[0]!]!;
    const acrossBe = s * (vb - v[this.nodes[1]!]!);
    const acrossBc = s * (vb - v[this.nodes[2]!]!);
    let be = acrossBe;
    let bc = acrossBc;
    if (hold) {
      const critical = c.vt * Math.log(c.vt / (Math.SQRT2 * c.is));
      be = heldBack(be, this.lastBe, c.vt, critical);
      bc = heldBack(bc, this.lastBc, c.vt, critical);
      this.lastBe = be;
      this.lastBc = bc;
    }
    const xf = be / c.vt;
    const xr = bc / c.vt;
    const forward = c.is * (growth(xf) - 1);
    const dForward = (c.is * growthSlope(xf)) / c.vt;
    const reverse = c.is * (growth(xr) - 1);
    const dReverse = (c.is * growthSlope(xr)) / c.vt;
    const width = Math.max(1 - bc / c.vaf, 0.2);
    const dWidth = width > 0.2 ? -1 / c.vaf : 0;
    const root = Math.sqrt(1 + (4 * Math.max(forward, 0)) / c.ikf);
    const qb = (1 + root) / (2 * width);
    const dqbBe = forward > 0 ? dForward / (c.ikf * root * width) : 0;
    const dqbBc = (-qb * dWidth) / width;
    const transport = (forward - reverse) / qb;
    const dTransportBe = (dForward - transport * dqbBe) / qb;
    const dTransportBc = (-dReverse - transport * dqbBc) / qb;

    const xl = be / (c.ne * c.vt);
    const tanhBe = Math.tanh(xf / 2);
    const tanhBc = Math.tanh(xr / 2);
    const ibe = forward / c.bf + c.ise * (growth(xl) - 1) + c.iebo * tanhBe + 1e-12 * be;
    const gbe =
      dForward / c.bf +
      (c.ise * growthSlope(xl)) / (c.ne * c.vt) +
      (c.iebo * (1 - tanhBe * tanhBe)) / (2 * c.vt) +
      1e-12;
    const ibc = reverse / c.br + c.icbo * tanhBc + (c.ohmic + 1e-12) * bc;
    const gbc = dReverse / c.br + (c.icbo * (1 - tanhBc * tanhBc)) / (2 * c.vt) + c.ohmic + 1e-12;

    const dBe = acrossBe - be;
    const dBc = acrossBc - bc;
    const base = ibe + ibc + gbe * dBe + gbc * dBc;
    const collector = transport - ibc + dTransportBe * dBe + (dTransportBc - gbc) * dBc;
    i[0] = s * base;
    i[2] = s * collector;
    i[1] = -s * (base + collector);
    // Rows base, emitter, collector; columns base, emitter, collector. The signs of s cancel.
    g[0] = gbe + gbc;
    g[1] = -gbe;
    g[2] = -gbc;
    g[6] = dTransportBe + dTransportBc - gbc;
    g[7] = -dTransportBe;
    g[8] = gbc - dTransportBc;
    g[3] = -(g[0] + g[6]);
    g[4] = -(g[1] + g[7]);
    g[5] = -(g[2] + g[8]);
    return Math.abs(dBe) > 1e-12 || Math.abs(dBc) > 1e-12;
  }
  remember(v: Float64Array): void {
    const s = this.constants.sign;
    this.lastBe = Math.min(s * (v[this.nodes[0]!]! - v[this.nodes[1]!]!), FORWARD_MOST);
    this.lastBc = Math.min(s * (v[this.nodes[0]!]! - v[this.nodes[2]!]!), FORWARD_MOST);
  }
}
