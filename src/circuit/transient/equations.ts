/**
 * Kirchhoff's equations of one time step: what leaves each net through resistors and devices, and what charges it.
 *
 * A charge q with the current dq/dt becomes i = alpha q - h, where h is what the step before has left: alpha = 2/dt,
 * h = alpha q0 + i0 for the trapezoidal rule, alpha = 1/dt, h = alpha q0 for backward Euler. Charges are taken on with the
 * tangent that the currents were balanced with, so that none is lost between steps. Nothing is allocated in a step.
 */
import { charged, chargedJunction, depletion, depletionCharge } from '../devices/charge.ts';
import {
  criticalVoltage,
  type Junction,
  junction,
  junctionCurrent,
  KNEE,
  limitedJunction,
} from '../devices/junction.ts';
import { lampCurrent } from '../devices/lamp.ts';
import {
  BASE,
  COLLECTOR,
  EMITTER,
  openTransistorCurrents,
  transistor,
  transistorCurrents,
} from '../devices/transistor.ts';
import type { Edit } from '../edit.ts';
import { pivotedSolve, SparseLU } from '../matrix/index.ts';
import type { Netlist } from '../netlist.ts';
import type { Structure } from '../structure.ts';
import { DEAD, type ElementValues } from '../values.ts';
import type { Storage } from './storage.ts';

/** A leak from every net to the reference: keeps an isolated net determinate. */
const LEAST_SIEMENS = 1e-14;
/** A winding whose wire is broken, ohms. */
const BROKEN_OHMS = 1e12;
/** From this current on a junction's curve bends with its exponential, amperes. */
const LIVE_AMPERES = 1e-6;
/** Softness of what else bends in a device: leakage and layers, volts. */
const BEND_VOLTS = 0.1;
/** Looks inside a series resistance, and a step there that the next iteration may look at, volts. */
const INNER_STEPS = 60;
const INNER_VOLTS = 0.01;

/** A drive through a resistance. */
export interface ResistiveDrive {
  readonly net: number;
  readonly siemens: number;
}

/** Windings on one core, or one inductor. */
interface Windings {
  readonly a: Int32Array;
  readonly b: Int32Array;
  readonly ohms: Float64Array;
  readonly henries: Float64Array;
  /** Siemens of the step, row by row, and the current that is left when no winding has a voltage. */
  readonly siemens: Float64Array;
  readonly rest: Float64Array;
  readonly work: Float64Array;
  /** Matrix places: for each pair of windings aa, ab, ba, bb. */
  readonly slots: Int32Array;
  /** Where the windings' currents and voltages begin in the state. */
  readonly current: number;
}

export class StepEquations {
  readonly structure: Structure;
  /** Volts of every net, and after them of each resistive drive. */
  readonly volts: Float64Array;
  /** What the step before has left: charges, currents of charging, windings' currents. All that time carries on. */
  state: Float64Array;
  /** Currents that leave each unknown net, amperes; after `solve` the Newton step. */
  readonly residual: Float64Array;
  readonly lu: SparseLU;

  private readonly netlist: Netlist;
  private readonly values: ElementValues;
  private readonly storage: Storage;
  private readonly leaving: Float64Array;
  private readonly rowOf: Int32Array;
  /** Matrix values, with one more place for stamps that go nowhere. */
  private readonly jacobian: Float64Array;
  private readonly matrix: Float64Array;
  private readonly conducting: Float64Array;
  private readonly charging: Float64Array;
  private readonly base: Float64Array;
  private readonly diagonal: Int32Array;
  private alpha = 0;
  private beta = 0;

  // Branches: two nets and two rows each.
  private resistorEnds = new Int32Array(0);
  private resistorSiemens = new Float64Array(0);
  private capacitorEnds = new Int32Array(0);
  private farads = new Float64Array(0);
  private capacitorRest = new Float64Array(0);
  private windings: Windings[] = [];

  private readonly signs: Float64Array;
  private readonly transistorNets: Int32Array;
  private readonly transistorRows: Int32Array;
  private readonly shown: Int32Array;
  private readonly critical: Float64Array;
  private readonly liveBe: Float64Array;
  private readonly forward: Float64Array;
  private readonly reverse: Float64Array;
  /** Multipliers of the layers, by deviation and edit. */
  private readonly layers: { farads: number; phi: number; abrupt: boolean }[];
  private readonly beAt: Float64Array;
  private readonly bcAt: Float64Array;
  private readonly qBe: Float64Array;
  private readonly qBc: Float64Array;
  private readonly cBe: Float64Array;
  private readonly cBc: Float64Array;
  private readonly restBe: Float64Array;
  private readonly restBc: Float64Array;
  private readonly inner: Float64Array;
  private readonly three = new Float64Array(3);

  private readonly junctions: Int32Array;
  private readonly junctionNets: Int32Array;
  private readonly bare: Junction[];
  private readonly criticalJunction: Float64Array;
  private readonly liveJunction: Float64Array;
  private readonly transit: Float64Array;
  private readonly junctionLayers: { farads: number; phi: number; abrupt: boolean }[];
  private readonly dAt: Float64Array;
  private readonly xAt: Float64Array;
  private readonly xNow: Float64Array;
  private readonly qJunction: Float64Array;
  private readonly cJunction: Float64Array;
  private readonly shareJunction: Float64Array;
  private readonly restJunction: Float64Array;

  // Where each kind begins in the state: charge or voltage, and current.
  private readonly capacitorState = 0;
  private transistorState = 0;
  private junctionState = 0;

  /** @param drives resistive drives that the equations have room for */
  constructor(
    netlist: Netlist,
    values: ElementValues,
    structure: Structure,
    storage: Storage,
    drives: number,
  ) {
    this.netlist = netlist;
    this.values = values;
    this.structure = structure;
    this.storage = storage;
    const n = structure.netOf.length;
    const nets = netlist.nets.length;
    this.volts = new Float64Array(nets + drives);
    this.rowOf = new Int32Array(nets + drives).fill(n);
    for (let i = 0; i < nets; i++) if (structure.unknown[i]! >= 0) this.rowOf[i] = structure.unknown[i]!;
    this.leaving = new Float64Array(n + 1);
    this.residual = this.leaving.subarray(0, n);
    const places = structure.pattern.column.length + 1;
    this.jacobian = new Float64Array(places);
    this.matrix = this.jacobian.subarray(0, places - 1);
    this.conducting = new Float64Array(places);
    this.charging = new Float64Array(places);
    this.base = new Float64Array(places);
    this.diagonal = Int32Array.from({ length: n }, (_, i) => structure.position(i, i));
    this.lu = new SparseLU(structure.symbolic);
    this.state = new Float64Array(0);

    const nq = netlist.transistors.length;
    this.signs = Float64Array.from(netlist.transistors, (q) => q.sign);
    this.transistorNets = Int32Array.from(netlist.transistors.flatMap((q) => [...q.terminals]));
    this.transistorRows = this.transistorNets.map((net) => this.rowOf[net]!);
    this.shown = Int32Array.from(netlist.transistors.keys()).filter((i) =>
      [0, 1, 2].some((t) => this.transistorRows[3 * i + t]! < n),
    );
    this.critical = new Float64Array(nq);
    this.liveBe = new Float64Array(nq);
    this.forward = new Float64Array(nq);
    this.reverse = new Float64Array(nq);
    this.layers = storage.transistors.flatMap((t) => [{ ...t.emitter }, { ...t.collector }]);
    this.beAt = new Float64Array(nq);
    this.bcAt = new Float64Array(nq);
    this.qBe = new Float64Array(nq);
    this.qBc = new Float64Array(nq);
    this.cBe = new Float64Array(nq);
    this.cBc = new Float64Array(nq);
    this.restBe = new Float64Array(nq);
    this.restBc = new Float64Array(nq);
    this.inner = new Float64Array(nq);

    const nj = netlist.junctions.length;
    this.junctions = Int32Array.from(netlist.junctions.keys()).filter((i) => {
      const { a, k } = netlist.junctions[i]!;
      return this.rowOf[a]! < n || this.rowOf[k]! < n;
    });
    this.junctionNets = Int32Array.from(netlist.junctions.flatMap((j) => [j.a, j.k]));
    this.bare = netlist.junctions.map(() => ({ is: 0.5, nvt: 0.5, rs: 0, leak: 0.5, vz: 0.5 }));
    this.criticalJunction = new Float64Array(nj);
    this.liveJunction = new Float64Array(nj);
    this.transit = new Float64Array(nj);
    this.junctionLayers = storage.junctions.map((j) => ({ ...j.layer }));
    this.dAt = new Float64Array(nj);
    this.xAt = new Float64Array(nj);
    this.xNow = new Float64Array(nj);
    this.qJunction = new Float64Array(nj);
    this.cJunction = new Float64Array(nj);
    this.shareJunction = new Float64Array(nj);
    this.restJunction = new Float64Array(nj);
  }

  /**
   * Takes over the elements' present values, with an edit already applied to them.
   *
   * @param atRest       volts of every net when it begins: lamps keep the temperature that they have there
   * @param deviations   of the storage's parameters, in units of their spread
   * @param edit         of which the storage part is taken here
   */
  prepare(
    drives: readonly ResistiveDrive[],
    atRest: Float64Array,
    deviations: Float64Array | undefined,
    edit: Edit | undefined,
  ): void {
    const { netlist, values, storage, structure } = this;
    const factors = storageFactors(storage, deviations, edit);
    this.conducting.fill(0);
    this.charging.fill(0);
    for (const d of this.diagonal) this.conducting[d]! += LEAST_SIEMENS;

    const wires = new Set(storage.inductances.flatMap((l) => [...l.conductances]));
    const ends: number[] = [];
    const siemens: number[] = [];
    const conduct = (a: number, b: number, g: number): void => {
      if (g === 0) return;
      ends.push(a, b, this.rowOf[a]!, this.rowOf[b]!);
      siemens.push(g);
      this.stamp(this.conducting, a, b, g);
    };
    netlist.conductances.forEach((c, i) => {
      if (wires.has(i)) return;
      const d = atRest[c.a]! - atRest[c.b]!;
      const hot = values.siemens[i]!;
      if (!c.lamp) conduct(c.a, c.b, hot);
      else
        conduct(
          c.a,
          c.b,
          Math.abs(d) > 1e-6 ? lampCurrent(hot, d, c.lamp).current / d : lampCurrent(hot, 0, c.lamp).slope,
        );
    });
    for (const { a, b, siemens: g } of values.bridges) conduct(a, b, g);
    drives.forEach((d, i) => {
      conduct(d.net, netlist.nets.length + i, d.siemens);
    });
    this.resistorEnds = Int32Array.from(ends);
    this.resistorSiemens = Float64Array.from(siemens);

    const capacitors = storage.capacitances.flatMap((c, i) =>
      values.siemens[c.conductance] === 0 ||
      (this.rowOf[c.a] === this.leaving.length - 1 && this.rowOf[c.b] === this.leaving.length - 1)
        ? []
        : [{ ...c, farads: c.farads * factors.farads[i]! }],
    );
    this.capacitorEnds = Int32Array.from(
      capacitors.flatMap((c) => [c.a, c.b, this.rowOf[c.a]!, this.rowOf[c.b]!]),
    );
    this.farads = Float64Array.from(capacitors, (c) => c.farads);
    this.capacitorRest = new Float64Array(capacitors.length);
    for (const c of capacitors) this.stamp(this.charging, c.a, c.b, c.farads);

    let places = 2 * capacitors.length;
    this.transistorState = places;
    places += 4 * netlist.transistors.length;
    this.junctionState = places;
    places += 2 * netlist.junctions.length;
    this.windings = storage.inductances.map((l, i) => {
      const k = l.conductances.length;
      const a = Int32Array.from(l.conductances, (c) => netlist.conductances[c]!.a);
      const b = Int32Array.from(l.conductances, (c) => netlist.conductances[c]!.b);
      const slots = new Int32Array(4 * k * k);
      const at = (x: number, y: number): number =>
        structure.position(structure.unknown[x]!, structure.unknown[y]!);
      for (let r = 0; r < k; r++)
        for (let c = 0; c < k; c++)
          slots.set(
            [at(a[r]!, a[c]!), at(a[r]!, b[c]!), at(b[r]!, a[c]!), at(b[r]!, b[c]!)],
            4 * (k * r + c),
          );
      const current = places;
      places += 2 * k;
      return {
        a,
        b,
        ohms: Float64Array.from(l.conductances, (c) =>
          values.siemens[c]! > 0 ? 1 / values.siemens[c]! : BROKEN_OHMS,
        ),
        henries: Float64Array.from(l.henries, (h) => h * factors.henries[i]!),
        siemens: new Float64Array(k * k),
        rest: new Float64Array(k),
        work: new Float64Array(2 * k * k),
        slots,
        current,
      };
    });
    if (this.state.length !== places) this.state = new Float64Array(places);

    netlist.transistors.forEach((_, i) => {
      const q = values.transistors[i]!;
      const own = storage.transistors[i]!;
      this.critical[i] = criticalVoltage(q.is, q.nvt);
      this.liveBe[i] = q.nvt * Math.log1p(LIVE_AMPERES / q.is);
      this.forward[i] = own.forward * factors.transit[i]!;
      this.reverse[i] = own.reverse * factors.transit[i]!;
      this.layers[2 * i]!.farads = own.emitter.farads * factors.layer[i]!;
      this.layers[2 * i + 1]!.farads = own.collector.farads * factors.layer[i]!;
    });
    netlist.junctions.forEach((_, i) => {
      const j = values.junctions[i]!;
      const own = storage.junctions[i]!;
      Object.assign(this.bare[i]!, j, { rs: 0 });
      this.criticalJunction[i] = criticalVoltage(j.is, j.nvt);
      this.liveJunction[i] = j.nvt * Math.log1p(LIVE_AMPERES / j.is);
      this.transit[i] = own.transit * factors.junctionTransit[i]!;
      this.junctionLayers[i]!.farads = own.layer.farads * factors.junctionLayer[i]!;
    });
    this.alpha = 0;
  }

  private stamp(into: Float64Array, a: number, b: number, g: number): void {
    const { unknown, position } = this.structure;
    // A drive's own side has no row.
    const ua = a < unknown.length ? unknown[a]! : -1;
    const ub = b < unknown.length ? unknown[b]! : -1;
    into[position(ua, ua)]! += g;
    into[position(ua, ub)]! -= g;
    into[position(ub, ua)]! -= g;
    into[position(ub, ub)]! += g;
  }

  /** Charges that belong to the present voltages, with nothing charging; windings' currents as given, or at rest. */
  rest(windingAmperes?: ArrayLike<number>): void {
    const { state, volts: v, capacitorEnds: ends, transistorNets: tn, junctionNets: jn } = this;
    state.fill(0);
    for (let k = 0; k < this.farads.length; k++)
      state[this.capacitorState + 2 * k] = v[ends[4 * k]!]! - v[ends[4 * k + 1]!]!;
    for (let i = 0; i < this.signs.length; i++) {
      const s = this.signs[i]!;
      const b = v[tn[3 * i]!]!;
      this.beAt[i] = s * (b - v[tn[3 * i + 2]!]!);
      this.bcAt[i] = s * (b - v[tn[3 * i + 1]!]!);
      // NaN where nothing fixes a net.
      if (!Number.isFinite(this.beAt[i]! + this.bcAt[i]!)) continue;
      if (this.values.open[i]! >= 0) {
        // No carriers cross the base: only the layers are charged, as `addOpen` has it.
        depletionCharge(this.layers[2 * i]!, this.beAt[i]!);
        state[this.transistorState + 4 * i] = depletion.q;
        depletionCharge(this.layers[2 * i + 1]!, this.bcAt[i]!);
        state[this.transistorState + 4 * i + 2] = depletion.q;
        continue;
      }
      transistorCurrents(this.values.transistors[i]!, this.beAt[i]!, this.bcAt[i]!);
      this.chargesOf(i);
      state[this.transistorState + 4 * i] = this.qBe[i]!;
      state[this.transistorState + 4 * i + 2] = this.qBc[i]!;
    }
    for (const i of this.junctions) {
      const d = v[jn[2 * i]!]! - v[jn[2 * i + 1]!]!;
      junctionCurrent(this.values.junctions[i]!, d);
      const x = junction.vd;
      this.dAt[i] = d;
      this.xAt[i] = x;
      this.xNow[i] = x;
      chargedJunction(this.bare[i]!, this.junctionLayers[i]!, this.transit[i]!, x);
      state[this.junctionState + 2 * i] = charged.q;
      this.shareJunction[i] = 1 / (1 + this.values.junctions[i]!.rs * charged.g);
    }
    let winding = 0;
    for (const w of this.windings)
      for (let k = 0; k < w.a.length; k++) {
        const u = v[w.a[k]!]! - v[w.b[k]!]!;
        state[w.current + 2 * k] = windingAmperes?.[winding++] ?? u / w.ohms[k]!;
        state[w.current + 2 * k + 1] = u;
      }
  }

  /** Currents of all windings, in the order of the storage's inductances. */
  windingAmperes(): number[] {
    return this.windings.flatMap((w) => Array.from(w.a, (_, k) => this.state[w.current + 2 * k]!));
  }

  /** The next step takes `seconds`, by the trapezoidal rule or by backward Euler. */
  begin(seconds: number, trapezoidal: boolean): void {
    const alpha = (trapezoidal ? 2 : 1) / seconds;
    this.beta = trapezoidal ? 1 : 0;
    const { beta, state } = this;
    if (alpha !== this.alpha) {
      this.alpha = alpha;
      const { base, conducting, charging } = this;
      for (let e = 0; e < base.length; e++) base[e] = conducting[e]! + alpha * charging[e]!;
      for (const w of this.windings) this.stampWindings(w);
    }
    const { farads, capacitorRest } = this;
    for (let k = 0; k < farads.length; k++)
      capacitorRest[k] = alpha * farads[k]! * state[2 * k]! + beta * state[2 * k + 1]!;
    const t = this.transistorState;
    for (let i = 0; i < this.restBe.length; i++) {
      const s = t + 4 * i;
      this.restBe[i] = alpha * state[s]! + beta * state[s + 1]!;
      this.restBc[i] = alpha * state[s + 2]! + beta * state[s + 3]!;
    }
    const j = this.junctionState;
    for (let i = 0; i < this.restJunction.length; i++)
      this.restJunction[i] = alpha * state[j + 2 * i]! + beta * state[j + 2 * i + 1]!;
    for (let g = 0; g < this.windings.length; g++) this.restWindings(this.windings[g]!);
  }

  /** (R + alpha L)^-1 of a core's windings, and its stamps. */
  private stampWindings(w: Windings): void {
    const { base } = this;
    const k = w.a.length;
    const m = w.work;
    // Gauss-Jordan on [R + alpha L | 1]; positive definite, so the diagonal serves.
    for (let r = 0; r < k; r++)
      for (let c = 0; c < k; c++) {
        m[r * 2 * k + c] = this.alpha * w.henries[r * k + c]! + (r === c ? w.ohms[r]! : 0);
        m[r * 2 * k + k + c] = r === c ? 1 : 0;
      }
    for (let p = 0; p < k; p++) {
      const scale = 1 / m[p * 2 * k + p]!;
      for (let c = 0; c < 2 * k; c++) m[p * 2 * k + c]! *= scale;
      for (let r = 0; r < k; r++) {
        const factor = m[r * 2 * k + p]!;
        if (r === p || factor === 0) continue;
        for (let c = 0; c < 2 * k; c++) m[r * 2 * k + c]! -= factor * m[p * 2 * k + c]!;
      }
    }
    for (let r = 0; r < k; r++)
      for (let c = 0; c < k; c++) {
        const g = m[r * 2 * k + k + c]!;
        w.siemens[r * k + c] = g;
        const s = 4 * (r * k + c);
        base[w.slots[s]!]! += g;
        base[w.slots[s + 1]!]! -= g;
        base[w.slots[s + 2]!]! -= g;
        base[w.slots[s + 3]!]! += g;
      }
  }

  /** What the windings would carry without a voltage: (R + alpha L)^-1 (alpha L i + beta (u - R i)). */
  private restWindings(w: Windings): void {
    const { state, alpha, beta } = this;
    const k = w.a.length;
    const { work } = w;
    for (let r = 0; r < k; r++) {
      let flux = 0;
      for (let c = 0; c < k; c++) flux += w.henries[r * k + c]! * state[w.current + 2 * c]!;
      const s = w.current + 2 * r;
      work[r] = alpha * flux + beta * (state[s + 1]! - w.ohms[r]! * state[s]!);
    }
    for (let r = 0; r < k; r++) {
      let sum = 0;
      for (let c = 0; c < k; c++) sum += w.siemens[r * k + c]! * work[c]!;
      w.rest[r] = sum;
    }
  }

  private windingCurrent(w: Windings, r: number): number {
    const v = this.volts;
    const k = w.a.length;
    let sum = w.rest[r]!;
    for (let c = 0; c < k; c++) sum += w.siemens[r * k + c]! * (v[w.a[c]!]! - v[w.b[c]!]!);
    return sum;
  }

  /** Residual and Jacobian at the present voltages; true when a junction was linearised elsewhere than it stands. */
  evaluate(): boolean {
    const { volts: v, leaving: f, residual, jacobian, structure } = this;
    const { netOf } = structure;
    jacobian.set(this.base);
    for (let i = 0; i < residual.length; i++) f[i] = LEAST_SIEMENS * v[netOf[i]!]!;
    const { resistorEnds: re, resistorSiemens: g } = this;
    for (let k = 0, e = 0; k < g.length; k++, e += 4) {
      const current = g[k]! * (v[re[e]!]! - v[re[e + 1]!]!);
      f[re[e + 2]!]! += current;
      f[re[e + 3]!]! -= current;
    }
    const { capacitorEnds: ce, farads, capacitorRest: rest, alpha } = this;
    for (let k = 0, e = 0; k < farads.length; k++, e += 4) {
      const current = alpha * farads[k]! * (v[ce[e]!]! - v[ce[e + 1]!]!) - rest[k]!;
      f[ce[e + 2]!]! += current;
      f[ce[e + 3]!]! -= current;
    }
    for (let i = 0; i < this.windings.length; i++) {
      const w = this.windings[i]!;
      for (let k = 0; k < w.a.length; k++) {
        const current = this.windingCurrent(w, k);
        f[this.rowOf[w.a[k]!]!]! += current;
        f[this.rowOf[w.b[k]!]!]! -= current;
      }
    }
    const limited = this.addJunctions();
    return this.addTransistors() || limited;
  }

  private addJunctions(): boolean {
    const { volts: v, leaving: f, jacobian: jac, junctions, junctionNets: jn, rowOf, alpha } = this;
    const { junctionSlots: slots } = this.structure;
    const { cut, junctions: own } = this.values;
    let limited = false;
    for (let k = 0; k < junctions.length; k++) {
      const i = junctions[k]!;
      if (cut[i] === 1) continue;
      const a = jn[2 * i]!;
      const c = jn[2 * i + 1]!;
      const d = v[a]! - v[c]!;
      const { rs } = own[i]!;
      const bare = this.bare[i]!;
      const layer = this.junctionLayers[i]!;
      const rest = this.restJunction[i]!;
      // The voltage inside the resistance is one more unknown of Newton's method, eliminated.
      let x = rs === 0 ? d : this.xNow[i]! + (d - this.dAt[i]!) * this.shareJunction[i]!;
      let from = this.xAt[i]!;
      let current: number;
      let slope: number;
      let share: number;
      for (let inner = 1; ; inner++) {
        const at = limitedJunction(x, from, bare.nvt, this.criticalJunction[i]!);
        chargedJunction(bare, layer, this.transit[i]!, at);
        const through = charged.i + alpha * charged.q - rest;
        const g = charged.g + alpha * charged.c;
        share = 1 / (1 + rs * g);
        slope = g * share;
        if (rs === 0) {
          if (Math.abs(at - x) > 1e-9) limited = true;
          current = through + g * (x - at);
          from = at;
          break;
        }
        x = at + share * (d - at - rs * through);
        current = through + g * (x - at);
        from = at;
        if (Math.abs(x - at) < INNER_VOLTS || inner === INNER_STEPS) break;
      }
      this.qJunction[i] = charged.q;
      this.cJunction[i] = charged.c;
      this.shareJunction[i] = share;
      this.xAt[i] = from;
      this.xNow[i] = x;
      this.dAt[i] = d;
      const s = 4 * i;
      jac[slots[s]!]! += slope;
      jac[slots[s + 1]!]! -= slope;
      jac[slots[s + 2]!]! -= slope;
      jac[slots[s + 3]!]! += slope;
      f[rowOf[a]!]! += current;
      f[rowOf[c]!]! -= current;
    }
    return limited;
  }

  /** Charges of transistor `i` and their capacitances, from what `transistorCurrents` has left at `beAt`, `bcAt`. */
  private chargesOf(i: number): void {
    const { jacobian: j } = transistor;
    const { is, nvt } = this.values.transistors[i]!;
    // The slopes of the two transport currents, and the currents from them.
    const forward = -j[5]!;
    const reverse = j[1]! + j[4]!;
    depletionCharge(this.layers[2 * i]!, this.beAt[i]!);
    this.qBe[i] = this.forward[i]! * (forward * nvt - is) + depletion.q;
    this.cBe[i] = this.forward[i]! * forward + depletion.c;
    depletionCharge(this.layers[2 * i + 1]!, this.bcAt[i]!);
    this.qBc[i] = this.reverse[i]! * (reverse * nvt - is) + depletion.q;
    this.cBc[i] = this.reverse[i]! * reverse + depletion.c;
  }

  private addTransistors(): boolean {
    const {
      volts: v,
      leaving: f,
      jacobian: jac,
      shown,
      transistorNets: tn,
      transistorRows: rows,
      alpha,
    } = this;
    const { transistorSlots: slots } = this.structure;
    const { transistors, open } = this.values;
    const { current, jacobian: j } = transistor;
    let limited = false;
    for (let k = 0; k < shown.length; k++) {
      const i = shown[k]!;
      const p = 3 * i;
      if (open[i]! >= 0) {
        limited = this.addOpen(i) || limited;
        continue;
      }
      const b = v[tn[p]!]!;
      const s = this.signs[i]!;
      const be = s * (b - v[tn[p + 2]!]!);
      const bc = s * (b - v[tn[p + 1]!]!);
      const q = transistors[i]!;
      const critical = this.critical[i]!;
      const atBe = limitedJunction(be, this.beAt[i]!, q.nvt, critical);
      const atBc = limitedJunction(bc, this.bcAt[i]!, q.nvt, critical);
      transistorCurrents(q, atBe, atBc);
      this.beAt[i] = atBe;
      this.bcAt[i] = atBc;
      this.chargesOf(i);
      const gBe = alpha * this.cBe[i]!;
      const gBc = alpha * this.cBc[i]!;
      const dBe = be - atBe;
      const dBc = bc - atBc;
      const iBe = s * (alpha * this.qBe[i]! - this.restBe[i]! + gBe * dBe);
      const iBc = s * (alpha * this.qBc[i]! - this.restBc[i]! + gBc * dBc);
      let ib = current[BASE]!;
      let ic = current[COLLECTOR]!;
      let ie = current[EMITTER]!;
      if (dBe !== 0 || dBc !== 0) {
        if (Math.abs(dBe) > 1e-9 || Math.abs(dBc) > 1e-9) limited = true;
        ib -= s * (j[2]! * dBe + j[1]! * dBc);
        ic -= s * (j[5]! * dBe + j[4]! * dBc);
        ie -= s * (j[8]! * dBe + j[7]! * dBc);
      }
      f[rows[p]!]! += ib + iBe + iBc;
      f[rows[p + 1]!]! += ic - iBc;
      f[rows[p + 2]!]! += ie - iBe;
      const m = 9 * i;
      jac[slots[m]!]! += j[0]! + gBe + gBc;
      jac[slots[m + 1]!]! += j[1]! - gBc;
      jac[slots[m + 2]!]! += j[2]! - gBe;
      jac[slots[m + 3]!]! += j[3]! - gBc;
      jac[slots[m + 4]!]! += j[4]! + gBc;
      jac[slots[m + 5]!]! += j[5]!;
      jac[slots[m + 6]!]! += j[6]! - gBe;
      jac[slots[m + 7]!]! += j[7]!;
      jac[slots[m + 8]!]! += j[8]! + gBe;
    }
    return limited;
  }

  /** A transistor with an open terminal: what is left conducts, and the layer of the junction that is left is charged. */
  private addOpen(i: number): boolean {
    const {
      volts: v,
      leaving: f,
      jacobian: jac,
      three,
      transistorNets: tn,
      transistorRows: rows,
      alpha,
    } = this;
    const open = this.values.open[i]!;
    if (open >= DEAD) return false;
    const { transistorSlots: slots } = this.structure;
    const p = 3 * i;
    const s = this.signs[i]!;
    const q = this.values.transistors[i]!;
    for (let t = 0; t < 3; t++) three[t] = v[tn[p + t]!]!;
    const be = s * (three[BASE]! - three[EMITTER]!);
    const bc = s * (three[BASE]! - three[COLLECTOR]!);
    const left = open === COLLECTOR ? be : open === EMITTER ? bc : Number.NaN;
    const old = open === COLLECTOR ? this.beAt[i]! : this.bcAt[i]!;
    const at = Number.isNaN(left) ? left : limitedJunction(left, old, q.nvt, this.critical[i]!);
    const shift = Number.isNaN(left) ? 0 : s * (at - left);
    this.beAt[i] = open === COLLECTOR ? at : be;
    this.bcAt[i] = open === EMITTER ? at : bc;
    three[BASE]! += shift;
    three[open] = this.inner[i]!;
    openTransistorCurrents(q, open, three, this.values.openSiemens[i]!);
    this.inner[i] = transistor.inner;
    const { current, jacobian: j } = transistor;
    for (let t = 0; t < 3; t++) {
      f[rows[p + t]!]! += current[t]! - j[3 * t]! * shift;
      for (let u = 0; u < 3; u++) jac[slots[9 * i + 3 * t + u]!]! += j[3 * t + u]!;
    }
    // What the missing terminal would have charged stays as it is.
    this.qBe[i] = this.state[this.transistorState + 4 * i]!;
    this.qBc[i] = this.state[this.transistorState + 4 * i + 2]!;
    this.cBe[i] = 0;
    this.cBc[i] = 0;
    if (Number.isNaN(left)) return false;
    const other = open === COLLECTOR ? EMITTER : COLLECTOR;
    depletionCharge(this.layers[2 * i + (other === EMITTER ? 0 : 1)]!, at);
    const g = alpha * depletion.c;
    const charge = other === EMITTER ? this.qBe : this.qBc;
    const capacity = other === EMITTER ? this.cBe : this.cBc;
    charge[i] = depletion.q;
    capacity[i] = depletion.c;
    const rest = other === EMITTER ? this.restBe[i]! : this.restBc[i]!;
    const charging = s * (alpha * depletion.q - rest + g * (left - at));
    f[rows[p]!]! += charging;
    f[rows[p + other]!]! -= charging;
    jac[slots[9 * i]!]! += g;
    jac[slots[9 * i + other]!]! -= g;
    jac[slots[9 * i + 3 * other]!]! -= g;
    jac[slots[9 * i + 3 * other + other]!]! += g;
    return Math.abs(at - left) > 1e-9;
  }

  /** One Newton step of the voltages; false when the matrix is singular or a voltage has no number. */
  solve(): boolean {
    const { lu, residual, volts: v, structure } = this;
    lu.values.set(this.matrix);
    let step = residual;
    if (lu.refactor()) lu.solve(residual);
    else {
      const safe = pivotedSolve(structure.pattern, lu.values, residual);
      if (!safe) return false;
      step = safe;
    }
    const { netOf } = structure;
    let sum = 0;
    for (let i = 0; i < netOf.length; i++) {
      v[netOf[i]!]! -= step[i]!;
      sum += step[i]!;
    }
    return Number.isFinite(sum);
  }

  /** About how far off the voltages are because devices bend between where they were linearised and where they stand, volts. */
  bend(): number {
    const { volts: v, shown, transistorNets: tn, junctions, junctionNets: jn } = this;
    const { transistors, open, cut } = this.values;
    let most = 0;
    for (let k = 0; k < shown.length; k++) {
      const i = shown[k]!;
      if (open[i]! >= DEAD) continue;
      const p = 3 * i;
      const s = this.signs[i]!;
      const b = v[tn[p]!]!;
      const { nvt } = transistors[i]!;
      const live = this.liveBe[i]!;
      if (open[i]! < 0 || open[i] === COLLECTOR) {
        const e = bendOf(s * (b - v[tn[p + 2]!]!), this.beAt[i]!, live, nvt);
        if (!(e <= most)) most = e;
      }
      if (open[i]! < 0 || open[i] === EMITTER) {
        const e = bendOf(s * (b - v[tn[p + 1]!]!), this.bcAt[i]!, live, nvt);
        if (!(e <= most)) most = e;
      }
      if (open[i] === BASE) {
        // Without a base, collector and emitter are two junctions back to back, which bend with what is between them.
        const move = Math.abs(s * (v[tn[p + 2]!]! - v[tn[p + 1]!]!) - (this.bcAt[i]! - this.beAt[i]!));
        const e = move * Math.min(1, move / nvt);
        if (!(e <= most)) most = e;
      }
    }
    for (let k = 0; k < junctions.length; k++) {
      const i = junctions[k]!;
      if (cut[i] === 1) continue;
      const d = v[jn[2 * i]!]! - v[jn[2 * i + 1]!]!;
      const at = this.xAt[i]!;
      const now = this.xNow[i]! + (d - this.dAt[i]!) * this.shareJunction[i]!;
      const { vz, nvt } = this.bare[i]!;
      const e =
        Math.min(at, now) < 0.5 - vz
          ? bendOf(-now, -at, 0.5 * vz, KNEE)
          : bendOf(now, at, this.liveJunction[i]!, nvt);
      if (!(e <= most)) most = e;
    }
    return most;
  }

  /** The step is done: charges and currents as the tangents say. */
  accept(): void {
    const { state, volts: v, alpha } = this;
    const { capacitorEnds: ce, farads, capacitorRest } = this;
    for (let k = 0; k < farads.length; k++) {
      const u = v[ce[4 * k]!]! - v[ce[4 * k + 1]!]!;
      state[2 * k] = u;
      state[2 * k + 1] = alpha * farads[k]! * u - capacitorRest[k]!;
    }
    const { shown, transistorNets: tn } = this;
    for (let k = 0; k < shown.length; k++) {
      const i = shown[k]!;
      const p = 3 * i;
      const s = this.signs[i]!;
      const b = v[tn[p]!]!;
      const at = this.transistorState + 4 * i;
      const qBe = this.qBe[i]! + this.cBe[i]! * (s * (b - v[tn[p + 2]!]!) - this.beAt[i]!);
      const qBc = this.qBc[i]! + this.cBc[i]! * (s * (b - v[tn[p + 1]!]!) - this.bcAt[i]!);
      if (this.values.open[i]! >= DEAD) continue;
      const both = this.values.open[i]! < 0;
      state[at + 1] = both || this.cBe[i]! > 0 ? alpha * qBe - this.restBe[i]! : 0;
      state[at] = qBe;
      state[at + 3] = both || this.cBc[i]! > 0 ? alpha * qBc - this.restBc[i]! : 0;
      state[at + 2] = qBc;
    }
    const { junctions, junctionNets: jn } = this;
    for (let k = 0; k < junctions.length; k++) {
      const i = junctions[k]!;
      if (this.values.cut[i] === 1) continue;
      const d = v[jn[2 * i]!]! - v[jn[2 * i + 1]!]!;
      const x = this.xNow[i]! + (d - this.dAt[i]!) * this.shareJunction[i]!;
      const at = this.junctionState + 2 * i;
      const q = this.qJunction[i]! + this.cJunction[i]! * (x - this.xAt[i]!);
      state[at + 1] = alpha * q - this.restJunction[i]!;
      state[at] = q;
      this.xNow[i] = x;
      // The next limit is reckoned from where the junction stands.
      this.xAt[i] = x;
      this.dAt[i] = d;
    }
    for (let g = 0; g < this.windings.length; g++) {
      const w = this.windings[g]!;
      for (let k = 0; k < w.a.length; k++) w.work[k] = this.windingCurrent(w, k);
      for (let k = 0; k < w.a.length; k++) {
        state[w.current + 2 * k] = w.work[k]!;
        state[w.current + 2 * k + 1] = v[w.a[k]!]! - v[w.b[k]!]!;
      }
    }
  }

  /** Junction limits from the voltages at which a step begins; after a step that was not taken. */
  limitFrom(volts: Float64Array): void {
    const { transistorNets: tn, junctionNets: jn } = this;
    for (let i = 0; i < this.signs.length; i++) {
      const s = this.signs[i]!;
      const b = volts[tn[3 * i]!]!;
      this.beAt[i] = s * (b - volts[tn[3 * i + 2]!]!);
      this.bcAt[i] = s * (b - volts[tn[3 * i + 1]!]!);
    }
    for (let k = 0; k < this.junctions.length; k++) {
      const i = this.junctions[k]!;
      const d = volts[jn[2 * i]!]! - volts[jn[2 * i + 1]!]!;
      if (this.values.junctions[i]!.rs === 0) this.xAt[i] = d;
    }
  }

  /** Nets with the largest unbalanced currents at the last look, amperes. */
  worst(): { net: string; amperes: number }[] {
    this.evaluate();
    return Array.from(this.residual, (x, i) => ({
      net: this.netlist.nets[this.structure.netOf[i]!]!,
      amperes: Math.abs(x),
    }))
      .sort((a, b) => b.amperes - a.amperes)
      .slice(0, 3);
  }
}

/** Second-order error of a junction's tangent taken from `at` to `now`, as volts. */
function bendOf(now: number, at: number, live: number, nvt: number): number {
  const d = now - at;
  return now > live || at > live ? (d * d) / (2 * nvt) : (d * d) / (4 * (BEND_VOLTS + Math.abs(at)));
}

interface StorageFactors {
  readonly farads: Float64Array;
  readonly henries: Float64Array;
  readonly transit: Float64Array;
  readonly layer: Float64Array;
  readonly junctionTransit: Float64Array;
  readonly junctionLayer: Float64Array;
}

function storageFactors(
  storage: Storage,
  deviations: Float64Array | undefined,
  edit: Edit | undefined,
): StorageFactors {
  const ones = (n: number): Float64Array => new Float64Array(n).fill(1);
  const factors = {
    farads: ones(storage.capacitances.length),
    henries: ones(storage.inductances.length),
    transit: ones(storage.transistors.length),
    layer: ones(storage.transistors.length),
    junctionTransit: ones(storage.junctions.length),
    junctionLayer: ones(storage.junctions.length),
  };
  if (deviations)
    storage.parameters.forEach((p, i) => {
      const factor = Math.exp(deviations[i]! * p.spread);
      const list = p.junction
        ? p.kind === 'transit'
          ? factors.junctionTransit
          : factors.junctionLayer
        : factors[p.kind];
      list[p.element]! *= factor;
    });
  for (const { kind, element, factor } of edit?.stored ?? []) {
    if (kind === 'transistor') factors.transit[element]! *= factor;
    else if (kind === 'junction') factors.junctionTransit[element]! *= factor;
    else {
      const capacitor = storage.capacitances.findIndex((c) => c.conductance === element);
      if (capacitor >= 0) factors.farads[capacitor]! *= factor;
      const inductor = storage.inductances.findIndex((l) => l.conductances.includes(element));
      if (inductor >= 0) factors.henries[inductor]! *= factor;
    }
  }
  return factors;
}
