/**
 * Kirchhoff's equations of one structure: the current that leaves each unknown net, and how it moves with each voltage.
 *
 * Devices that have not moved since they were last linearised keep their stamps: a fault's Newton steps then cost
 * what the neighbourhood of the fault costs, and the matrix entries that stay are the same bits, so that the
 * factorisation repeats only what changed.
 */
import { junction, junctionCurrent, LEAK_VOLTS, limitedJunction } from './devices/junction.ts';
import {
  BASE,
  COLLECTOR,
  EMITTER,
  openTransistorCurrents,
  transistor,
  transistorCurrents,
} from './devices/transistor.ts';
import { SparseLU } from './matrix/index.ts';
import type { Netlist } from './netlist.ts';
import type { Structure } from './structure.ts';
import type { ElementValues } from './values.ts';

/** A leak from every net to the reference, far below any real one: keeps an isolated net determinate. */
const LEAST_SIEMENS = 1e-14;

export interface PlacedDrive {
  readonly net: number;
  readonly volts: number;
  /** 0 for a stiff drive. */
  readonly siemens: number;
}

export class Assembly {
  readonly netlist: Netlist;
  readonly values: ElementValues;
  readonly structure: Structure;
  readonly lu: SparseLU;
  /** Currents that leave each unknown net, amperes; after `step`, the Newton step. */
  readonly residual: Float64Array;
  /** Sum of the absolute currents of the devices at each unknown net, amperes. */
  readonly flow: Float64Array;
  /** Extra conductance from each unknown net to `anchor` volts. */
  readonly shunt: Float64Array;
  readonly anchor: Float64Array;
  /** Place of each unknown's diagonal entry in the matrix. */
  readonly diagonal: Int32Array;
  /** Matrix values, with one more place for stamps that go nowhere. */
  readonly jacobian: Float64Array;
  private readonly matrix: Float64Array;
  /** Stops every junction that jumps over zero: for a Newton iteration that goes in circles. */
  careful = false;
  /** A device is evaluated again when its voltages have moved by more than this, volts. */
  stale = 0;
  /** Inner voltage of each opened transistor terminal. */
  readonly inner: Float64Array;

  private readonly linear: Float64Array;
  private readonly conductanceNets: Int32Array;
  private readonly resistive: Int32Array;
  private readonly lamps: Int32Array;
  private readonly junctionNets: Int32Array;
  private readonly transistorNets: Int32Array;
  private readonly oldJunction: Float64Array;
  private readonly oldBe: Float64Array;
  private readonly oldBc: Float64Array;
  private readonly junctionAt: Float64Array;
  private readonly junctionI: Float64Array;
  private readonly junctionG: Float64Array;
  private readonly junctionGuess: Float64Array;
  private readonly beAt: Float64Array;
  private readonly bcAt: Float64Array;
  private readonly currents: Float64Array;
  private readonly slopes: Float64Array;
  private readonly seenTransistor: Int32Array;
  private readonly seenJunction: Int32Array;
  /** 1 for a junction without breakdown. */
  private readonly breaksNowhere: Uint8Array;
  private readonly three = new Float64Array(3);
  private generation = -1;
  private drives: readonly PlacedDrive[] = [];
  private scale = 1;

  constructor(netlist: Netlist, values: ElementValues, structure: Structure) {
    this.netlist = netlist;
    this.values = values;
    this.structure = structure;
    const n = structure.netOf.length;
    const { pattern } = structure;
    const places = pattern.column.length + 1;
    this.lu = new SparseLU(structure.symbolic);
    this.jacobian = new Float64Array(places);
    this.linear = new Float64Array(places);
    this.residual = new Float64Array(n);
    this.flow = new Float64Array(n);
    this.shunt = new Float64Array(n);
    this.anchor = new Float64Array(n);
    this.diagonal = Int32Array.from({ length: n }, (_, i) => structure.position(i, i));
    this.conductanceNets = Int32Array.from(netlist.conductances.flatMap((c) => [c.a, c.b]));
    this.lamps = Int32Array.from(netlist.conductances.flatMap((c, i) => (c.lamp ? [i] : [])));
    this.resistive = Int32Array.from(netlist.conductances.flatMap((c, i) => (c.lamp ? [] : [i])));
    this.junctionNets = Int32Array.from(netlist.junctions.flatMap((j) => [j.a, j.k]));
    this.transistorNets = Int32Array.from(netlist.transistors.flatMap((q) => [...q.terminals]));
    const nj = netlist.junctions.length;
    const nq = netlist.transistors.length;
    this.breaksNowhere = Uint8Array.from(netlist.junctions, (j) => (j.vz === Infinity ? 1 : 0));
    this.matrix = this.jacobian.subarray(0, places - 1);
    this.oldJunction = new Float64Array(nj);
    this.oldBe = new Float64Array(nq);
    this.oldBc = new Float64Array(nq);
    this.junctionAt = new Float64Array(nj).fill(Number.NaN);
    this.junctionI = new Float64Array(nj);
    this.junctionG = new Float64Array(nj);
    this.junctionGuess = new Float64Array(nj);
    this.beAt = new Float64Array(nq).fill(Number.NaN);
    this.bcAt = new Float64Array(nq).fill(Number.NaN);
    this.currents = new Float64Array(3 * nq);
    this.slopes = new Float64Array(9 * nq);
    this.inner = new Float64Array(nq);
    this.seenTransistor = new Int32Array(nq);
    this.seenJunction = new Int32Array(nj);
  }

  /**
   * Takes over the elements' present values: everything that does not move with the voltages.
   *
   * @param scale factor of the drives (1, or less while sources grow)
   */
  prepare(drives: readonly PlacedDrive[], scale: number): void {
    const { values, structure, linear } = this;
    const { conductanceSlots: slots, position, unknown } = structure;
    this.drives = drives;
    this.scale = scale;
    if (this.generation !== values.generation) {
      this.generation = values.generation;
      this.junctionAt.fill(Number.NaN);
      this.beAt.fill(Number.NaN);
    }
    const { transistorVersion, junctionVersion } = values;
    for (let q = 0; q < transistorVersion.length; q++)
      if (transistorVersion[q] !== this.seenTransistor[q]) {
        this.seenTransistor[q] = transistorVersion[q]!;
        this.beAt[q] = Number.NaN;
      }
    for (let j = 0; j < junctionVersion.length; j++)
      if (junctionVersion[j] !== this.seenJunction[j]) {
        this.seenJunction[j] = junctionVersion[j]!;
        this.junctionAt[j] = Number.NaN;
      }
    linear.fill(0);
    const { diagonal } = this;
    for (let i = 0; i < diagonal.length; i++) linear[diagonal[i]!]! += LEAST_SIEMENS;
    const { siemens } = values;
    for (const i of this.resistive) {
      const g = siemens[i]!;
      linear[slots[4 * i]!]! += g;
      linear[slots[4 * i + 1]!]! -= g;
      linear[slots[4 * i + 2]!]! -= g;
      linear[slots[4 * i + 3]!]! += g;
    }
    for (const { a, b, siemens: g } of values.bridges) {
      const ua = unknown[a]!;
      const ub = unknown[b]!;
      linear[position(ua, ua)]! += g;
      linear[position(ua, ub)]! -= g;
      linear[position(ub, ua)]! -= g;
      linear[position(ub, ub)]! += g;
    }
    for (const d of drives) {
      const u = unknown[d.net]!;
      if (d.siemens > 0 && u >= 0) linear[position(u, u)]! += d.siemens;
    }
  }

  /**
   * Residual and Jacobian at `volts`. True when a junction voltage was limited, so that the linearisation stands at
   * another place than the voltages.
   */
  evaluate(volts: Float64Array): boolean {
    const { structure, jacobian: jac, residual: f, flow, linear, shunt, anchor, diagonal } = this;
    const { unknown, netOf } = structure;
    jac.set(linear);
    for (let i = 0; i < netOf.length; i++) {
      const v = volts[netOf[i]!]!;
      const g = shunt[i]!;
      f[i] = LEAST_SIEMENS * v;
      if (g !== 0) {
        f[i]! += g * (v - anchor[i]!);
        jac[diagonal[i]!]! += g;
      }
      flow[i] = 0;
    }
    this.addResistors(volts);
    if (this.lamps.length > 0) this.addLamps(volts);
    let limited = this.addJunctions(volts, unknown);
    limited = this.addTransistors(volts, unknown) || limited;
    return limited;
  }

  /**
   * Currents by differences of voltages: the difference of two near voltages is exact, so that a net that hangs on a stiff
   * resistor and a hundredth of a picosiemens keeps its digits.
   */
  private addResistors(volts: Float64Array): void {
    const { values, residual: f, conductanceNets: ends } = this;
    const { unknown } = this.structure;
    const { siemens, bridges } = values;
    const add = (a: number, b: number, current: number): void => {
      const ua = unknown[a]!;
      const ub = unknown[b]!;
      if (ua >= 0) f[ua]! += current;
      if (ub >= 0) f[ub]! -= current;
    };
    for (const i of this.resistive) {
      const a = ends[2 * i]!;
      const b = ends[2 * i + 1]!;
      add(a, b, siemens[i]! * (volts[a]! - volts[b]!));
    }
    for (const { a, b, siemens: g } of bridges) add(a, b, g * (volts[a]! - volts[b]!));
    for (const d of this.drives) {
      const u = unknown[d.net]!;
      if (d.siemens > 0 && u >= 0) f[u]! += d.siemens * (volts[d.net]! - d.volts * this.scale);
    }
  }

  private addLamps(volts: Float64Array): void {
    const { netlist, values, jacobian: jac, residual: f, structure } = this;
    const { conductanceSlots: slots, unknown } = structure;
    for (const i of this.lamps) {
      const { a, b, lamp } = netlist.conductances[i]!;
      const d = volts[a]! - volts[b]!;
      const { current, slope } = lampCurrent(values.siemens[i]!, d, lamp!);
      jac[slots[4 * i]!]! += slope;
      jac[slots[4 * i + 1]!]! -= slope;
      jac[slots[4 * i + 2]!]! -= slope;
      jac[slots[4 * i + 3]!]! += slope;
      const ua = unknown[a]!;
      const ub = unknown[b]!;
      if (ua >= 0) f[ua]! += current;
      if (ub >= 0) f[ub]! -= current;
    }
  }

  private addJunctions(volts: Float64Array, unknown: Int32Array): boolean {
    const {
      values,
      jacobian: jac,
      residual: f,
      flow,
      junctionNets: ends,
      oldJunction,
      junctionAt,
      junctionI,
      junctionG,
    } = this;
    const { junctionSlots: slots } = this.structure;
    const { junctions, cut, criticalJunction } = values;
    const flat = this.breaksNowhere;
    let limited = false;
    for (let i = 0; i < junctions.length; i++) {
      if (cut[i] === 1) continue;
      const a = ends[2 * i]!;
      const k = ends[2 * i + 1]!;
      const ua = unknown[a]!;
      const uk = unknown[k]!;
      if (ua < 0 && uk < 0) continue;
      const d = volts[a]! - volts[k]!;
      const old = oldJunction[i]!;
      let at = d;
      if (
        stands(d, junctionAt[i]!, this.stale) &&
        (flat[i] === 1 || Math.abs(d - junctionAt[i]!) <= this.stale)
      ) {
        oldJunction[i] = d;
        at = junctionAt[i]!;
      } else {
        const own = junctions[i]!;
        if (this.careful && crosses(d, old)) at = 0;
        // A series resistance bounds the current by itself.
        else if (own.rs === 0) at = limitedJunction(d, old, own.nvt, criticalJunction[i]!);
        if (Math.abs(at - d) > 1e-9) limited = true;
        oldJunction[i] = at;
        junctionCurrent(own, at, this.junctionGuess[i]!);
        junctionAt[i] = at;
        junctionI[i] = junction.i;
        junctionG[i] = junction.g;
        this.junctionGuess[i] = junction.vd;
      }
      const g = junctionG[i]!;
      const current = junctionI[i]! + g * (d - at);
      const s = 4 * i;
      jac[slots[s]!]! += g;
      jac[slots[s + 1]!]! -= g;
      jac[slots[s + 2]!]! -= g;
      jac[slots[s + 3]!]! += g;
      const size = Math.abs(current);
      if (ua >= 0) {
        f[ua]! += current;
        flow[ua]! += size;
      }
      if (uk >= 0) {
        f[uk]! -= current;
        flow[uk]! += size;
      }
    }
    return limited;
  }

  private addTransistors(volts: Float64Array, unknown: Int32Array): boolean {
    const {
      values,
      jacobian: jac,
      residual: f,
      flow,
      transistorNets: ends,
      beAt,
      bcAt,
      currents,
      slopes,
    } = this;
    const { transistorSlots: slots } = this.structure;
    const { transistors, open } = values;
    let limited = false;
    for (let i = 0; i < transistors.length; i++) {
      const q = transistors[i]!;
      const b = ends[3 * i]!;
      const c = ends[3 * i + 1]!;
      const e = ends[3 * i + 2]!;
      const s = q.sign;
      const be = s * (volts[b]! - volts[e]!);
      const bc = s * (volts[b]! - volts[c]!);
      const at = 9 * i;
      const first = 3 * i;
      // Current into each terminal at the present voltages, by the tangent where the device was last evaluated.
      let ib: number;
      let ic: number;
      let ie: number;
      if (open[i]! >= 0) {
        limited = this.evaluateOpen(i, volts, be, bc) || limited;
        ib = currents[first]!;
        ic = currents[first + 1]!;
        ie = currents[first + 2]!;
      } else {
        let dBe: number;
        let dBc: number;
        if (stands(be, beAt[i]!, this.stale) && stands(bc, bcAt[i]!, this.stale)) {
          this.oldBe[i] = be;
          this.oldBc[i] = bc;
          dBe = be - beAt[i]!;
          dBc = bc - bcAt[i]!;
        } else {
          const critical = values.criticalTransistor[i]!;
          // Between two known voltages there is nothing to limit.
          const free = unknown[b]! >= 0;
          const atBe =
            free || unknown[e]! >= 0 ? this.limitedVoltage(be, this.oldBe[i]!, q.nvt, critical) : be;
          const atBc =
            free || unknown[c]! >= 0 ? this.limitedVoltage(bc, this.oldBc[i]!, q.nvt, critical) : bc;
          this.oldBe[i] = atBe;
          this.oldBc[i] = atBc;
          dBe = be - atBe;
          dBc = bc - atBc;
          if (Math.abs(dBe) > 1e-9 || Math.abs(dBc) > 1e-9) limited = true;
          transistorCurrents(q, atBe, atBc);
          beAt[i] = atBe;
          bcAt[i] = atBc;
          const { current, jacobian } = transistor;
          currents[first] = current[0]!;
          currents[first + 1] = current[1]!;
          currents[first + 2] = current[2]!;
          for (let p = 0; p < 9; p++) slopes[at + p] = jacobian[p]!;
        }
        // dI = -s (J[:,E] dBe + J[:,C] dBc): a rise of vbe is a fall of the emitter, and so on.
        ib = currents[first]! - s * (slopes[at + 2]! * dBe + slopes[at + 1]! * dBc);
        ic = currents[first + 1]! - s * (slopes[at + 5]! * dBe + slopes[at + 4]! * dBc);
        ie = currents[first + 2]! - s * (slopes[at + 8]! * dBe + slopes[at + 7]! * dBc);
      }
      for (let p = at; p < at + 9; p++) jac[slots[p]!]! += slopes[p]!;
      const ub = unknown[b]!;
      const uc = unknown[c]!;
      const ue = unknown[e]!;
      if (ub >= 0) {
        f[ub]! += ib;
        flow[ub]! += Math.abs(ib);
      }
      if (uc >= 0) {
        f[uc]! += ic;
        flow[uc]! += Math.abs(ic);
      }
      if (ue >= 0) {
        f[ue]! += ie;
        flow[ue]! += Math.abs(ie);
      }
    }
    return limited;
  }

  /** A transistor with an open terminal: the junction that is left may be limited, by moving the base to where it is linearised. */
  private evaluateOpen(i: number, volts: Float64Array, be: number, bc: number): boolean {
    const { values, three, transistorNets: ends, currents, slopes } = this;
    const q = values.transistors[i]!;
    const open = values.open[i]!;
    three[BASE] = volts[ends[3 * i]!]!;
    three[COLLECTOR] = volts[ends[3 * i + 1]!]!;
    three[EMITTER] = volts[ends[3 * i + 2]!]!;
    const critical = values.criticalTransistor[i]!;
    let limited = false;
    let shift = 0;
    if (open === COLLECTOR) {
      const at = this.limitedVoltage(be, this.oldBe[i]!, q.nvt, critical);
      limited = Math.abs(at - be) > 1e-9;
      this.oldBe[i] = at;
      shift = q.sign * (at - be);
    } else if (open === EMITTER) {
      const at = this.limitedVoltage(bc, this.oldBc[i]!, q.nvt, critical);
      limited = Math.abs(at - bc) > 1e-9;
      this.oldBc[i] = at;
      shift = q.sign * (at - bc);
    }
    three[BASE]! += shift;
    three[open] = this.inner[i]!;
    openTransistorCurrents(q, open, three, values.openSiemens[i]!);
    this.inner[i] = transistor.inner;
    const { current, jacobian } = transistor;
    for (let t = 0; t < 3; t++) currents[3 * i + t] = current[t]! - jacobian[3 * t]! * shift;
    for (let p = 0; p < 9; p++) slopes[9 * i + p] = jacobian[p]!;
    this.beAt[i] = Number.NaN;
    return limited;
  }

  private limitedVoltage(v: number, old: number, nvt: number, critical: number): number {
    return this.careful && crosses(v, old) ? 0 : limitedJunction(v, old, nvt, critical);
  }

  /** Starts the junction limits at `volts`, or below where a junction would already be far up its exponential. */
  startLimits(volts: Float64Array): void {
    this.limitsAt(volts, this.values.criticalJunction, this.values.criticalTransistor);
  }

  /** Junction limits that let every device be linearised where it stands. */
  exactLimits(volts: Float64Array): void {
    this.limitsAt(volts, undefined, undefined);
  }

  private limitsAt(
    volts: Float64Array,
    junctions: Float64Array | undefined,
    transistors: Float64Array | undefined,
  ): void {
    const { junctionNets: jn, transistorNets: tn, values } = this;
    for (let i = 0; i < this.oldJunction.length; i++) {
      const d = volts[jn[2 * i]!]! - volts[jn[2 * i + 1]!]!;
      this.oldJunction[i] = junctions && d > junctions[i]! ? junctions[i]! : d;
    }
    for (let i = 0; i < this.oldBe.length; i++) {
      const s = values.transistors[i]!.sign;
      const b = volts[tn[3 * i]!]!;
      const be = s * (b - volts[tn[3 * i + 2]!]!);
      const bc = s * (b - volts[tn[3 * i + 1]!]!);
      this.oldBe[i] = transistors && be > transistors[i]! ? transistors[i]! : be;
      this.oldBc[i] = transistors && bc > transistors[i]! ? transistors[i]! : bc;
    }
  }

  /** Factors the present Jacobian; false when a pivot is zero. */
  factor(): boolean {
    this.lu.values.set(this.matrix);
    return this.lu.refactor();
  }

  /** Current through a conductance at `volts`, amperes, lamps by their curve. */
  conductanceCurrent(element: number, volts: Float64Array): number {
    const { a, b, lamp } = this.netlist.conductances[element]!;
    const d = volts[a]! - volts[b]!;
    const siemens = this.values.siemens[element]!;
    return lamp ? lampCurrent(siemens, d, lamp).current : siemens * d;
  }
}

/** Below this a junction carries its leakage and nothing else: there it stands still however far its voltage moves, volts. */
const FLAT_VOLTS = -0.8;

/** Whether a junction last linearised at `at` may keep its stamp at `v`. */
function stands(v: number, at: number, stale: number): boolean {
  return Math.abs(v - at) <= stale || (stale > 0 && v < FLAT_VOLTS && at < FLAT_VOLTS);
}

/**
 * Whether a junction jumps over zero. A leakage saturates on both sides of it, and Newton can jump from one flat to the
 * other for ever; once it has gone on for long, every such jump stops at zero first.
 */
function crosses(v: number, old: number): boolean {
  return v * old < 0 && Math.abs(v) > LEAK_VOLTS / 2 && Math.abs(old) > LEAK_VOLTS / 2;
}

/** Current and slope of a lamp: a filament's resistance rises about with the root of the voltage. */
function lampCurrent(
  hot: number,
  d: number,
  lamp: { readonly cold: number; readonly rated: number },
): { current: number; slope: number } {
  const w = Math.sqrt(Math.abs(d) / lamp.rated + 1e-4);
  const span = 1 - 1 / lamp.cold;
  const ratio = 1 / lamp.cold + span * (w - 0.01);
  const current = (hot * d) / ratio;
  return { current, slope: hot / ratio - (((current / ratio) * span) / (2 * w * lamp.rated)) * Math.sign(d) };
}
