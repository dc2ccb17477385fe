/**
 * Kirchhoff's equations of one structure: the current that leaves each unknown net, and how it moves with each voltage.
 *
 * Devices that have not moved since they were last linearised keep their stamps: a fault's Newton steps then cost
 * what the neighbourhood of the fault costs, and the matrix entries that stay are the same bits, so that the
 * factorisation repeats only what changed.
 */
import { junction, junctionCurrent, LEAK_VOLTS, limitedJunction } from './devices/junction.ts';
import { lampCurrent } from './devices/lamp.ts';
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
import { DEAD, type ElementValues } from './values.ts';

/** A leak from every net to the reference, far below any real one: keeps an isolated net determinate. */
const LEAST_SIEMENS = 1e-14;

export interface PlacedDrive {
  readonly net: number;
  readonly volts: number;
  /** 0 for a stiff drive. */
  readonly siemens: number;
  /** Number among the netlist's drive levels, -1 for none of them. */
  readonly level: number;
}

export class Assembly {
  readonly netlist: Netlist;
  readonly values: ElementValues;
  readonly structure: Structure;
  readonly lu: SparseLU;
  /** Factors of the sound circuit while faults are reckoned on them; made when first wanted, for one neighbourhood at a time. */
  soundLu: SparseLU | undefined;
  /** Currents that leave each unknown net, amperes; after `step`, the Newton step. */
  readonly residual: Float64Array;
  /** Sum of the absolute currents of the devices at each unknown net, amperes. */
  readonly flow: Float64Array;
  /** The same with one more place, for the nets that are not unknowns. */
  private readonly leaving: Float64Array;
  private readonly sizes: Float64Array;
  /** Row in `leaving` of each net. */
  readonly rowOf: Int32Array;
  /** Extra conductance from each unknown net to `anchor` volts. */
  readonly shunt: Float64Array;
  readonly anchor: Float64Array;
  /** Place of each unknown's diagonal entry in the matrix. */
  readonly diagonal: Int32Array;
  /** Matrix values, with one more place for stamps that go nowhere. */
  readonly jacobian: Float64Array;
  readonly matrix: Float64Array;
  /** Stops every junction that jumps over zero: for a Newton iteration that goes in circles. */
  careful = false;
  /** A device is evaluated again when its voltages have moved by more than this, volts. */
  stale = 0;
  /** Inner voltage of each opened transistor terminal. */
  readonly inner: Float64Array;

  private readonly linear: Float64Array;
  private readonly resistive: Int32Array;
  /** Net, net, row, row of each of `resistive`. */
  private readonly resistorEnds: Int32Array;
  readonly lamps: Int32Array;
  /** Junctions that lie at an unknown net. */
  readonly junctions: Int32Array;
  readonly junctionNets: Int32Array;
  readonly transistorNets: Int32Array;
  private readonly oldJunction: Float64Array;
  private readonly oldBe: Float64Array;
  private readonly oldBc: Float64Array;
  private readonly junctionAt: Float64Array;
  readonly junctionI: Float64Array;
  readonly junctionG: Float64Array;
  readonly junctionGuess: Float64Array;
  private readonly beAt: Float64Array;
  private readonly bcAt: Float64Array;
  readonly currents: Float64Array;
  readonly slopes: Float64Array;
  private readonly seenTransistor: Int32Array;
  private readonly seenJunction: Int32Array;
  /** 1 for a junction without breakdown. */
  readonly breaksNowhere: Uint8Array;
  readonly signs: Float64Array;
  /** Where the slopes of transistors go that lie between unknown nets: place in the matrix, place among the slopes. */
  private readonly stampTo: Int32Array;
  private readonly stampFrom: Int32Array;
  private readonly three = new Float64Array(3);
  private generation = -1;
  /** Net, volts and siemens of each drive through a resistance. */
  private driveNets = new Int32Array(0);
  private driveVolts = new Float64Array(0);
  private driveSiemens = new Float64Array(0);

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
    this.leaving = new Float64Array(n + 1);
    this.sizes = new Float64Array(n + 1);
    this.residual = this.leaving.subarray(0, n);
    this.flow = this.sizes.subarray(0, n);
    this.rowOf = structure.unknown.map((u) => (u < 0 ? n : u));
    this.shunt = new Float64Array(n);
    this.anchor = new Float64Array(n);
    this.diagonal = Int32Array.from({ length: n }, (_, i) => structure.position(i, i));
    this.lamps = Int32Array.from(netlist.conductances.flatMap((c, i) => (c.lamp ? [i] : [])));
    this.resistive = Int32Array.from(netlist.conductances.flatMap((c, i) => (c.lamp ? [] : [i])));
    this.resistorEnds = Int32Array.from(
      netlist.conductances.flatMap((c) => (c.lamp ? [] : [c.a, c.b, this.rowOf[c.a]!, this.rowOf[c.b]!])),
    );
    this.junctions = Int32Array.from(
      netlist.junctions.flatMap(({ a, k }, i) =>
        structure.unknown[a]! >= 0 || structure.unknown[k]! >= 0 ? [i] : [],
      ),
    );
    this.junctionNets = Int32Array.from(netlist.junctions.flatMap((j) => [j.a, j.k]));
    this.transistorNets = Int32Array.from(netlist.transistors.flatMap((q) => [...q.terminals]));
    const nj = netlist.junctions.length;
    const nq = netlist.transistors.length;
    this.breaksNowhere = Uint8Array.from(netlist.junctions, (j) => (j.vz === Infinity ? 1 : 0));
    const stamps = Int32Array.from(structure.transistorSlots.keys()).filter(
      (k) => structure.transistorSlots[k]! < places - 1,
    );
    this.stampFrom = stamps;
    this.stampTo = stamps.map((k) => structure.transistorSlots[k]!);
    this.signs = Float64Array.from(netlist.transistors, (q) => q.sign);
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
    const through = drives.filter((d) => d.siemens > 0);
    this.driveNets = Int32Array.from(through, (d) => d.net);
    this.driveVolts = Float64Array.from(through, (d) => d.volts * scale);
    this.driveSiemens = Float64Array.from(through, (d) => d.siemens);
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
    const { resistive } = this;
    for (let k = 0; k < resistive.length; k++) {
      const i = resistive[k]!;
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
    const { structure, jacobian: jac, leaving: f, sizes, shunt, anchor, diagonal } = this;
    const { netOf } = structure;
    jac.set(this.linear);
    sizes.fill(0);
    for (let i = 0; i < netOf.length; i++) {
      const v = volts[netOf[i]!]!;
      const g = shunt[i]!;
      f[i] = LEAST_SIEMENS * v;
      if (g !== 0) {
        f[i]! += g * (v - anchor[i]!);
        jac[diagonal[i]!]! += g;
      }
    }
    this.addResistors(volts);
    if (this.lamps.length > 0) this.addLamps(volts);
    const limited = this.addJunctions(volts);
    return this.addTransistors(volts) || limited;
  }

  /**
   * Currents by differences of voltages: the difference of two near voltages is exact, so that a net that hangs on a stiff
   * resistor and a hundredth of a picosiemens keeps its digits.
   */
  private addResistors(volts: Float64Array): void {
    const { leaving: f, resistive, resistorEnds: ends, rowOf, driveNets, driveVolts, driveSiemens } = this;
    const { siemens, bridges } = this.values;
    for (let k = 0; k < resistive.length; k++) {
      const e = 4 * k;
      const current = siemens[resistive[k]!]! * (volts[ends[e]!]! - volts[ends[e + 1]!]!);
      f[ends[e + 2]!]! += current;
      f[ends[e + 3]!]! -= current;
    }
    for (let k = 0; k < bridges.length; k++) {
      const { a, b, siemens: g } = bridges[k]!;
      const current = g * (volts[a]! - volts[b]!);
      f[rowOf[a]!]! += current;
      f[rowOf[b]!]! -= current;
    }
    for (let k = 0; k < driveNets.length; k++) {
      const net = driveNets[k]!;
      f[rowOf[net]!]! += driveSiemens[k]! * (volts[net]! - driveVolts[k]!);
    }
  }

  private addLamps(volts: Float64Array): void {
    const { netlist, values, jacobian: jac, leaving: f, structure, rowOf } = this;
    const { conductanceSlots: slots } = structure;
    for (const i of this.lamps) {
      const { a, b, lamp } = netlist.conductances[i]!;
      const { current, slope } = lampCurrent(values.siemens[i]!, volts[a]! - volts[b]!, lamp!);
      jac[slots[4 * i]!]! += slope;
      jac[slots[4 * i + 1]!]! -= slope;
      jac[slots[4 * i + 2]!]! -= slope;
      jac[slots[4 * i + 3]!]! += slope;
      f[rowOf[a]!]! += current;
      f[rowOf[b]!]! -= current;
    }
  }

  private addJunctions(volts: Float64Array): boolean {
    const { jacobian: jac, leaving: f, sizes, junctions, junctionNets: ends, rowOf, stale } = this;
    const { oldJunction, junctionAt, junctionI, junctionG, breaksNowhere: flat } = this;
    const { junctionSlots: slots } = this.structure;
    const { cut } = this.values;
    let limited = false;
    for (let k = 0; k < junctions.length; k++) {
      const i = junctions[k]!;
      if (cut[i] === 1) continue;
      const a = ends[2 * i]!;
      const c = ends[2 * i + 1]!;
      const d = volts[a]! - volts[c]!;
      let at = junctionAt[i]!;
      if (Math.abs(d - at) <= stale || (stale > 0 && flat[i] === 1 && d < FLAT_VOLTS && at < FLAT_VOLTS))
        oldJunction[i] = d;
      else {
        at = this.linearisedJunction(i, d);
        if (Math.abs(at - d) > 1e-9) limited = true;
      }
      const g = junctionG[i]!;
      const current = junctionI[i]! + g * (d - at);
      const s = 4 * i;
      jac[slots[s]!]! += g;
      jac[slots[s + 1]!]! -= g;
      jac[slots[s + 2]!]! -= g;
      jac[slots[s + 3]!]! += g;
      const size = Math.abs(current);
      const ra = rowOf[a]!;
      const rc = rowOf[c]!;
      f[ra]! += current;
      f[rc]! -= current;
      sizes[ra]! += size;
      sizes[rc]! += size;
    }
    return limited;
  }

  /** Linearises junction `i` near `d` volts, where its limit allows; returns where. */
  private linearisedJunction(i: number, d: number): number {
    const own = this.values.junctions[i]!;
    const old = this.oldJunction[i]!;
    let at = d;
    if (this.careful && crosses(d, old)) at = 0;
    // A series resistance bounds the current by itself.
    else if (own.rs === 0) at = limitedJunction(d, old, own.nvt, this.values.criticalJunction[i]!);
    // As far as the last tangent reaches.
    const guess = this.junctionGuess[i]! + (1 - own.rs * this.junctionG[i]!) * (at - this.junctionAt[i]!);
    junctionCurrent(own, at, guess, this.stale > 0 ? LOOSE_VOLTS : undefined);
    this.oldJunction[i] = at;
    this.junctionAt[i] = at;
    this.junctionI[i] = junction.i;
    this.junctionG[i] = junction.g;
    this.junctionGuess[i] = junction.vd;
    return at;
  }

  private addTransistors(volts: Float64Array): boolean {
    const { jacobian: jac, leaving: f, sizes, transistorNets: ends, rowOf, signs, stale } = this;
    const { beAt, bcAt, oldBe, oldBc, currents, slopes } = this;
    const { open } = this.values;
    let limited = false;
    for (let i = 0; i < signs.length; i++) {
      const first = 3 * i;
      const b = ends[first]!;
      const c = ends[first + 1]!;
      const e = ends[first + 2]!;
      const s = signs[i]!;
      const be = s * (volts[b]! - volts[e]!);
      const bc = s * (volts[b]! - volts[c]!);
      const at = 9 * i;
      // How far the present voltages are from where the device is linearised.
      let dBe = 0;
      let dBc = 0;
      if (open[i]! >= 0) limited = this.evaluateOpen(i, volts, be, bc) || limited;
      else {
        if (
          !(
            (Math.abs(be - beAt[i]!) <= stale || (stale > 0 && be < FLAT_VOLTS && beAt[i]! < FLAT_VOLTS)) &&
            (Math.abs(bc - bcAt[i]!) <= stale || (stale > 0 && bc < FLAT_VOLTS && bcAt[i]! < FLAT_VOLTS))
          )
        ) {
          this.lineariseTransistor(i, be, bc);
          if (Math.abs(be - beAt[i]!) > 1e-9 || Math.abs(bc - bcAt[i]!) > 1e-9) limited = true;
        } else {
          oldBe[i] = be;
          oldBc[i] = bc;
        }
        dBe = s * (be - beAt[i]!);
        dBc = s * (bc - bcAt[i]!);
      }
      // dI = -s (J[:,E] dBe + J[:,C] dBc): a rise of vbe is a fall of the emitter, and so on.
      const ib = currents[first]! - (slopes[at + 2]! * dBe + slopes[at + 1]! * dBc);
      const ic = currents[first + 1]! - (slopes[at + 5]! * dBe + slopes[at + 4]! * dBc);
      const ie = currents[first + 2]! - (slopes[at + 8]! * dBe + slopes[at + 7]! * dBc);
      const rb = rowOf[b]!;
      const rc = rowOf[c]!;
      const re = rowOf[e]!;
      f[rb]! += ib;
      f[rc]! += ic;
      f[re]! += ie;
      sizes[rb]! += Math.abs(ib);
      sizes[rc]! += Math.abs(ic);
      sizes[re]! += Math.abs(ie);
    }
    const { stampTo, stampFrom } = this;
    for (let k = 0; k < stampTo.length; k++) jac[stampTo[k]!]! += slopes[stampFrom[k]!]!;
    return limited;
  }

  /** Linearises transistor `i` near these junction voltages (in NPN polarity), where their limits allow. */
  private lineariseTransistor(i: number, be: number, bc: number): void {
    const { values, transistorNets: ends, currents, slopes } = this;
    const { unknown } = this.structure;
    const q = values.transistors[i]!;
    const critical = values.criticalTransistor[i]!;
    // Between two known voltages there is nothing to limit.
    const free = unknown[ends[3 * i]!]! >= 0;
    const atBe =
      free || unknown[ends[3 * i + 2]!]! >= 0 ? this.limitedVoltage(be, this.oldBe[i]!, q.nvt, critical) : be;
    const atBc =
      free || unknown[ends[3 * i + 1]!]! >= 0 ? this.limitedVoltage(bc, this.oldBc[i]!, q.nvt, critical) : bc;
    transistorCurrents(q, atBe, atBc);
    this.oldBe[i] = atBe;
    this.oldBc[i] = atBc;
    this.beAt[i] = atBe;
    this.bcAt[i] = atBc;
    const { current, jacobian } = transistor;
    for (let t = 0; t < 3; t++) currents[3 * i + t] = current[t]!;
    for (let p = 0; p < 9; p++) slopes[9 * i + p] = jacobian[p]!;
  }

  /** A transistor with an open terminal: the junction that is left may be limited, by moving the base to where it is linearised. */
  private evaluateOpen(i: number, volts: Float64Array, be: number, bc: number): boolean {
    const { values, three, transistorNets: ends, currents, slopes } = this;
    const q = values.transistors[i]!;
    const open = values.open[i]!;
    this.beAt[i] = Number.NaN;
    if (open >= DEAD) {
      currents.fill(0, 3 * i, 3 * i + 3);
      slopes.fill(0, 9 * i, 9 * i + 9);
      return false;
    }
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
    return limited;
  }

  /** Inner voltage of an opened terminal at these net voltages. */
  innerVolts(i: number, volts: Float64Array): number {
    const { values, three, transistorNets: ends } = this;
    const open = values.open[i]!;
    // Without a current the inner voltages are that of the terminal which is left.
    if (open >= DEAD) return volts[ends[3 * i + open - DEAD]!]!;
    for (let t = 0; t < 3; t++) three[t] = volts[ends[3 * i + t]!]!;
    three[open] = this.inner[i]!;
    openTransistorCurrents(values.transistors[i]!, open, three, values.openSiemens[i]!);
    return transistor.inner;
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

/** How loosely the voltage inside a series resistance is found while devices may stand still, volts. */
export const LOOSE_VOLTS = 3e-4;

/** Below this a junction carries its leakage and nothing else: there it stands still however far its voltage moves, volts. */
export const FLAT_VOLTS = -0.8;

/**
 * Whether a junction jumps over zero. A leakage saturates on both sides of it, and Newton can jump from one flat to the
 * other for ever; once it has gone on for long, every such jump stops at zero first.
 */
export function crosses(v: number, old: number): boolean {
  return v * old < 0 && Math.abs(v) > LEAK_VOLTS / 2 && Math.abs(old) > LEAK_VOLTS / 2;
}
