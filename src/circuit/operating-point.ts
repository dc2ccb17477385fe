/**
 * The DC operating point: the net voltages at which Kirchhoff's current law holds everywhere.
 *
 * Newton's method on the nodal equations with junction-voltage limiting. When it stalls: shunts to a start that fade,
 * then sources that grow, then a pseudo-transient. A bistable circuit is put into its state by holding the hinted
 * nets and letting go in a pseudo-transient, so that the state that is found is the one the circuit would settle into.
 *
 * @source C.-W. Ho, A. E. Ruehli, P. A. Brennan, IEEE Trans. CAS-22 (1975) 504-509, nodal part (from memory)
 */
import type { Condition } from '../machine/index.ts';
import {
  criticalVoltage,
  type Junction,
  junction,
  junctionByParameters,
  junctionCurrent,
  LEAK_VOLTS,
  limitedJunction,
} from './devices/junction.ts';
import {
  gainRatio,
  leakageRatio,
  STATED_CELSIUS,
  saturationRatio,
  thermalVoltage,
} from './devices/temperature.ts';
import {
  BASE,
  COLLECTOR,
  EMITTER,
  openTransistorCurrents,
  type Transistor,
  transistor,
  transistorByParameters,
  transistorCurrents,
} from './devices/transistor.ts';
import type { Edit } from './edit.ts';
import { pivotedSolve, SparseLU } from './matrix/index.ts';
import type { Netlist, Parameter } from './netlist.ts';
import { type Structure, structureOf } from './structure.ts';

/** What was needed to find the point: nothing, a state followed, fading shunts, growing sources, a pseudo-transient. */
export type Aid = 'none' | 'state' | 'shunts' | 'sources' | 'transient';

export interface OperatingPoint {
  /** False: no point was found that satisfies Kirchhoff; `volts` is then the last try and `worst` names where it fails. */
  readonly converged: boolean;
  /** Volts of each net of the netlist; NaN where no conducting path fixes it. */
  readonly volts: Float64Array;
  /** Inner voltage of each opened terminal, in the order of the edit's `open`. */
  readonly opened: readonly number[];
  readonly aid: Aid;
  readonly steps: number;
  /** Every hinted net ended on the hinted side. */
  readonly stateHeld: boolean;
  /** The point is not a balance point between two states (sign of the determinant). */
  readonly stable: boolean;
  /** Nets with the largest unbalanced current, amperes; empty when converged. */
  readonly worst: readonly { readonly net: string; readonly amperes: number }[];
}

export interface SolveOptions {
  /** Start from these net voltages (of a neighbouring case, for instance the sound circuit). */
  readonly start?: Float64Array;
  /** Net voltages whose state must be followed; default: the hints of the condition. */
  readonly edit?: Edit;
  /** 1 microvolt for what is shown and compared (default), 'table' for fault tables: some 10 microvolts. */
  readonly accuracy?: 'fine' | 'table';
}

/** A leak from every net to the reference, far below any real one: keeps an isolated net determinate. */
const LEAST_SIEMENS = 1e-14;
const HOLD_SIEMENS = 1;
const PLAIN_STEPS = 60;
/** Volts of the touch that a balance point between states gets. */
const TOUCH_VOLTS = 4e-3;
/** Steps after which Newton is suspected of going in circles. */
const CAREFUL_AFTER = 12;
/** A few units in the last place. */
const ROUNDING = 1e-15;

interface Feed {
  readonly key: string;
  readonly structure: Structure;
  readonly lu: SparseLU;
  /** Matrix values with one more place for stamps that go nowhere. */
  readonly jacobian: Float64Array;
  readonly linear: Float64Array;
  readonly residual: Float64Array;
  readonly flow: Float64Array;
  readonly shunt: Float64Array;
  readonly anchor: Float64Array;
  /** Place of each unknown's diagonal entry in the Jacobian. */
  readonly diagonal: Int32Array;
}

/** Mutable element values at the present temperature, deviations and edit. */
interface Values {
  readonly siemens: Float64Array;
  readonly junctions: Junction[];
  readonly transistors: Transistor[];
  readonly rails: Float64Array;
}

/** Solves one netlist again and again: all conditions, all faults, all deviations. Not re-entrant; one for each thread. */
export class CircuitSolver {
  readonly netlist: Netlist;
  readonly values: Values;
  private readonly feeds = new Map<string, Feed>();
  private readonly conditionFeeds = new Map<
    Condition,
    { feed: Feed; drives: PlacedDrive[]; hints: PlacedHint[] }
  >();
  private celsius = Number.NaN;
  private deviations: Float64Array | undefined;
  private readonly railNets: Int32Array;
  private readonly critical: { junctions: Float64Array; transistors: Float64Array };
  private readonly oldJunction: Float64Array;
  private readonly oldBe: Float64Array;
  private readonly oldBc: Float64Array;
  private readonly cut: Uint8Array;
  private readonly open: Int8Array;
  private readonly openSiemens: Float64Array;
  private readonly inner: Float64Array;
  private readonly three = new Float64Array(3);
  private bridges: readonly { a: number; b: number; siemens: number }[] = [];

  // The case that is being solved.
  private feed!: Feed;
  private drives: readonly PlacedDrive[] = [];
  private hints: readonly PlacedHint[] = [];
  private volts: Float64Array;
  private steps = 0;
  private residualScale = 1e-12;
  private residualShare = 1e-9;
  private sourceScale = 1;
  private careful = false;
  private lowest = 0;
  private highest = 0;
  /** Total of Newton steps since construction, for benches. */
  totalSteps = 0;

  constructor(netlist: Netlist) {
    this.netlist = netlist;
    const nj = netlist.junctions.length;
    const nq = netlist.transistors.length;
    this.values = {
      siemens: new Float64Array(netlist.conductances.length),
      junctions: netlist.junctions.map((j) => ({ is: j.is, nvt: j.nvt, rs: j.rs, leak: j.leak, vz: j.vz })),
      transistors: netlist.transistors.map((q) => ({
        sign: q.sign,
        is: q.is,
        nvt: q.nvt,
        bf: q.bf,
        br: q.br,
        leak: q.leak,
      })),
      rails: new Float64Array(netlist.machine.rails.length),
    };
    this.railNets = Int32Array.from(netlist.machine.rails, (r) => netlist.netIndex.get(r.net)!);
    this.critical = { junctions: new Float64Array(nj), transistors: new Float64Array(nq) };
    this.oldJunction = new Float64Array(nj);
    this.oldBe = new Float64Array(nq);
    this.oldBc = new Float64Array(nq);
    this.cut = new Uint8Array(nj);
    this.open = new Int8Array(nq).fill(-1);
    this.openSiemens = new Float64Array(nq);
    this.inner = new Float64Array(nq);
    this.volts = new Float64Array(netlist.nets.length);
    this.setParts(undefined, STATED_CELSIUS);
  }

  /**
   * Sets every element to its nominal value moved by `deviations` (in units of each parameter's spread, length
   * `parameters`; undefined for none) at `celsius`, plus the deviation of the temperature parameter.
   */
  setParts(deviations: Float64Array | undefined, celsius: number): void {
    if (deviations === undefined && this.deviations === undefined && celsius === this.celsius) return;
    const { netlist, values } = this;
    this.celsius = celsius;
    this.deviations = deviations;
    let t = celsius;
    if (deviations)
      netlist.parameters.forEach((p, i) => {
        if (p.kind === 'celsius') t += deviations[i]! * p.spread;
      });
    const vt = thermalVoltage(t) / thermalVoltage(STATED_CELSIUS);
    const leak = leakageRatio(t);
    const gain = gainRatio(t);
    netlist.conductances.forEach((c, i) => {
      values.siemens[i] = c.siemens;
    });
    netlist.junctions.forEach((j, i) => {
      const own = values.junctions[i]!;
      own.is = j.is * saturationRatio(j.type.material, j.type.n, t);
      own.nvt = j.nvt * vt;
      own.rs = j.rs;
      own.leak = j.leak * leak;
      own.vz = j.vz;
    });
    netlist.transistors.forEach((q, i) => {
      const own = values.transistors[i]!;
      own.is = q.is * saturationRatio(q.type.material, q.type.n, t);
      own.nvt = q.nvt * vt;
      own.bf = q.bf * gain;
      own.br = q.br;
      own.leak = q.leak * leak;
    });
    netlist.machine.rails.forEach((r, i) => {
      values.rails[i] = r.volts;
    });
    if (deviations)
      netlist.parameters.forEach((p, i) => {
        const d = deviations[i]! * p.spread;
        if (d === 0) return;
        switch (p.kind) {
          case 'ohms':
            values.siemens[p.element]! *= Math.exp(-d);
            break;
          case 'setting': {
            const whole = 1 / values.siemens[p.element]! + 1 / values.siemens[p.element + 1]!;
            const share = Math.min(0.999, Math.max(0.001, 1 / values.siemens[p.element]! / whole + d));
            values.siemens[p.element] = 1 / (whole * share);
            values.siemens[p.element + 1] = 1 / (whole * (1 - share));
            break;
          }
          case 'saturation':
            if (this.isJunction(p.owner)) values.junctions[p.element]!.is *= Math.exp(d);
            else values.transistors[p.element]!.is *= Math.exp(d);
            break;
          case 'gain':
            values.transistors[p.element]!.bf *= Math.exp(d);
            break;
          case 'leakage':
            if (this.isJunction(p.owner)) values.junctions[p.element]!.leak *= Math.exp(d);
            else values.transistors[p.element]!.leak *= Math.exp(d);
            break;
          case 'zener':
            values.junctions[p.element]!.vz = Math.max(0.5, values.junctions[p.element]!.vz + d);
            break;
          case 'rail':
            values.rails[p.element]! += d;
            break;
          case 'drive':
          case 'celsius':
            break;
        }
      });
    values.junctions.forEach((j, i) => {
      this.critical.junctions[i] = criticalVoltage(j.is, j.nvt);
    });
    values.transistors.forEach((q, i) => {
      this.critical.transistors[i] = criticalVoltage(q.is, q.nvt);
    });
  }

  private isJunction(owner: string): boolean {
    return this.netlist.elementsOf.get(owner)!.junction >= 0;
  }

  /** The structure that a condition's stiff drives give; conditions that drive the same nets share it. */
  structure(condition: Condition): Structure {
    return this.placed(condition).feed.structure;
  }

  private placed(condition: Condition): { feed: Feed; drives: PlacedDrive[]; hints: PlacedHint[] } {
    let found = this.conditionFeeds.get(condition);
    if (found) return found;
    const { netlist } = this;
    const drives = condition.drives.map((d) => ({
      net: netlist.netIndex.get(d.net)!,
      volts: d.volts,
      siemens: d.ohms > 0 ? 1 / d.ohms : 0,
    }));
    const stiff = [...new Set(drives.filter((d) => d.siemens === 0).map((d) => d.net))].sort((a, b) => a - b);
    const resistive = drives.filter((d) => d.siemens > 0).map((d) => d.net);
    const key = `${stiff.join(' ')};${resistive.join(' ')}`;
    let feed = this.feeds.get(key);
    if (!feed) {
      const structure = structureOf(netlist, stiff, resistive);
      const n = structure.netOf.length;
      const places = structure.pattern.column.length + 1;
      feed = {
        key,
        structure,
        lu: new SparseLU(structure.symbolic),
        jacobian: new Float64Array(places),
        linear: new Float64Array(places),
        residual: new Float64Array(n),
        flow: new Float64Array(n),
        shunt: new Float64Array(n),
        anchor: new Float64Array(n),
        diagonal: Int32Array.from({ length: n }, (_, i) => structure.position(i, i)),
      };
      this.feeds.set(key, feed);
    }
    const within = hintReach(condition.hints.map((h) => h.volts));
    const hints = condition.hints
      .map((h) => ({ net: netlist.netIndex.get(h.net)!, volts: h.volts, within: within(h.volts) }))
      .filter((h) => feed.structure.unknown[h.net]! >= 0);
    found = { feed, drives, hints };
    this.conditionFeeds.set(condition, found);
    return found;
  }

  /** The operating point of `condition`. The returned `volts` are the caller's own. */
  solve(condition: Condition, options: SolveOptions = {}): OperatingPoint {
    const { feed, drives, hints } = this.placed(condition);
    this.feed = feed;
    this.drives = drives;
    this.hints = hints;
    this.steps = 0;
    const table = options.accuracy === 'table';
    this.residualScale = table ? 1e-10 : 1e-13;
    this.residualShare = table ? 1e-7 : 1e-10;
    const restore = this.applyEdit(options.edit);
    this.sourceScale = 1;
    feed.shunt.fill(0);
    this.prepareLinear();
    this.setBounds();
    this.volts = new Float64Array(this.netlist.nets.length);
    const v = this.volts;
    this.restart(options.start);

    let aid: Aid = 'none';
    let ok: boolean;
    const warm = options.start !== undefined;
    if (warm || hints.length === 0) {
      ok = this.newton(warm ? 25 : PLAIN_STEPS);
      const doubtful = ok && feed.lu.negativePivots > 0;
      if (hints.length > 0 && (!ok || doubtful || !this.holds())) {
        aid = 'state';
        this.restart(options.start);
        ok = this.followState(options.start);
      } else if (doubtful) {
        aid = 'state';
        ok = this.comesToRest();
      }
    } else {
      aid = 'state';
      ok = this.followState(undefined);
      if (!ok || !this.holds()) ok = this.race() || ok;
    }
    if (!ok) {
      aid = 'shunts';
      this.restart(options.start);
      ok = this.fade() && this.comesToRest();
    }
    if (!ok) {
      aid = 'sources';
      this.restart(options.start);
      ok = this.growSources();
    }
    if (!ok) {
      aid = 'transient';
      this.restart(options.start);
      ok = this.pseudoTransient(1);
    }
    const stateHeld = this.holds();
    const worst = ok ? [] : this.worstNets();
    const converged = worst.length === 0;
    const open = options.edit?.open ?? [];
    if (open.length > 0) {
      // The last try may not have been the one that is kept.
      this.exactLimits();
      this.assemble();
    }
    const opened = open.map((o) => this.inner[o.transistor]!);
    for (let i = 0; i < v.length; i++)
      if (feed.structure.unknown[i]! < 0 && !feed.structure.reached[i]) v[i] = Number.NaN;
    restore();
    this.totalSteps += this.steps;
    return { converged, volts: v, opened, aid, steps: this.steps, stateHeld, stable: ok, worst };
  }

  /**
   * How the voltages of `wanted` nets move with every parameter at a point that `solve` has found.
   *
   * One transposed solve a net: J' λ = e, and dV/dp = -λ' dF/dp for all parameters together.
   *
   * @param volts   net voltages of the point, as `solve` returned them for the same condition, parts and edit
   * @param wanted  net indices; a known or unreached net gives zeros
   * @param grade   the fault's severity, as one more parameter
   * @source S. W. Director, R. A. Rohrer, IEEE Trans. CT-16 (1969) 318-323, adjoint network (from memory)
   */
  sensitivities(
    condition: Condition,
    volts: Float64Array,
    wanted: ArrayLike<number>,
    edit?: Edit,
    grade?: SeverityElement,
  ): Sensitivities {
    const { feed, drives, hints } = this.placed(condition);
    this.feed = feed;
    this.drives = drives;
    this.hints = hints;
    this.sourceScale = 1;
    const { netlist, values } = this;
    const { structure, lu, jacobian, residual } = feed;
    const { unknown } = structure;
    const n = structure.netOf.length;
    const { parameters } = netlist;
    feed.shunt.fill(0);
    const v = volts.slice();
    for (let i = 0; i < v.length; i++) if (Number.isNaN(v[i]!)) v[i] = 0;
    this.volts = v;

    // Derivatives by temperature and rails as differences of the residual at fixed voltages: they touch every element.
    const dense: { parameter: number; column: Float64Array }[] = [];
    const { celsius, deviations } = this;
    // A rail that the condition drives at another voltage does not move its net.
    const drivenRail = (p: Parameter): boolean =>
      p.kind === 'rail' &&
      drives.some(
        (d) => d.siemens === 0 && d.net === this.railNets[p.element] && d.net !== netlist.reference,
      );
    parameters.forEach((p, parameter) => {
      if ((p.kind !== 'celsius' && p.kind !== 'rail') || drivenRail(p)) return;
      const column = new Float64Array(n);
      for (const side of [1, -1]) {
        const step = p.kind === 'celsius' ? 0.05 : 1e-4;
        if (p.kind === 'celsius') this.setParts(deviations, celsius + side * step);
        const restore = this.applyEdit(edit);
        this.prepareLinear();
        const net = p.kind === 'rail' ? this.railNets[p.element]! : -1;
        if (net >= 0) v[net]! += side * step;
        this.exactLimits();
        this.assemble();
        if (net >= 0) v[net]! -= side * step;
        for (let i = 0; i < n; i++) column[i]! += (side * residual[i]! * p.spread) / (2 * step);
        restore();
      }
      if (p.kind === 'celsius') this.setParts(deviations, celsius);
      dense.push({ parameter, column });
    });

    // What the edit replaces no longer moves with its parameter; the other half of a trimmer does.
    const replaced = new Set((edit?.conductance ?? []).map((c) => c.element));
    const tracks = parameters.map((p) =>
      p.kind === 'setting' ? 1 / values.siemens[p.element]! + 1 / values.siemens[p.element + 1]! : 0,
    );
    const restore = this.applyEdit(edit);
    this.prepareLinear();
    this.exactLimits();
    this.assemble();
    lu.values.set(jacobian.subarray(0, lu.values.length));
    const sound = lu.refactor();

    // dF/dp of every other parameter: at most three unknowns each.
    const places = new Int32Array(3 * parameters.length).fill(-1);
    const slopes = new Float64Array(3 * parameters.length);
    const out = new Float64Array(9);
    const three = this.three;
    const put = (p: number, k: number, net: number, slope: number): void => {
      places[3 * p + k] = unknown[net]!;
      slopes[3 * p + k] = slope;
    };
    const device = (element: number): void => {
      const [b, c, e] = netlist.transistors[element]!.terminals;
      three[BASE] = v[b]!;
      three[COLLECTOR] = v[c]!;
      three[EMITTER] = v[e]!;
      if (this.open[element]! >= 0) three[this.open[element]!] = this.inner[element]!;
      transistorByParameters(
        values.transistors[element]!,
        three,
        this.open[element]!,
        this.openSiemens[element]!,
        out,
      );
    };
    parameters.forEach((p, index) => {
      if (p.kind === 'ohms') {
        if (replaced.has(p.element)) return;
        const c = netlist.conductances[p.element]!;
        const current = -this.conductanceCurrent(p.element) * p.spread;
        put(index, 0, c.a, current);
        put(index, 1, c.b, -current);
      } else if (p.kind === 'setting') {
        const lower = netlist.conductances[p.element]!;
        const upper = netlist.conductances[p.element + 1]!;
        const track = tracks[index]! * p.spread;
        const one = replaced.has(p.element)
          ? 0
          : -this.conductanceCurrent(p.element) * values.siemens[p.element]! * track;
        const two = replaced.has(p.element + 1)
          ? 0
          : this.conductanceCurrent(p.element + 1) * values.siemens[p.element + 1]! * track;
        put(index, 0, lower.a, one);
        put(index, 1, lower.b, two - one);
        put(index, 2, upper.b, -two);
      } else if (
        p.kind === 'gain' ||
        ((p.kind === 'saturation' || p.kind === 'leakage') && !this.isJunction(p.owner))
      ) {
        device(p.element);
        const row = p.kind === 'saturation' ? 0 : p.kind === 'gain' ? 1 : 2;
        for (let t = 0; t < 3; t++)
          put(index, t, netlist.transistors[p.element]!.terminals[t]!, out[3 * row + t]! * p.spread);
      } else if (p.kind === 'saturation' || p.kind === 'leakage' || p.kind === 'zener') {
        if (this.cut[p.element]) return;
        const j = netlist.junctions[p.element]!;
        junctionByParameters(values.junctions[p.element]!, v[j.a]! - v[j.k]!, out);
        const slope = out[p.kind === 'saturation' ? 0 : p.kind === 'leakage' ? 1 : 3]! * p.spread;
        put(index, 0, j.a, slope);
        put(index, 1, j.k, -slope);
      }
    });
    const gradePlaces = [-1, -1, -1];
    const gradeSlopes = [0, 0, 0];
    if (grade) {
      if (grade.kind === 'gain') {
        device(grade.transistor);
        for (let t = 0; t < 3; t++) {
          gradePlaces[t] = unknown[netlist.transistors[grade.transistor]!.terminals[t]!]!;
          gradeSlopes[t] = out[3 + t]! * grade.spread;
        }
      } else {
        const c = grade.kind === 'bridge' ? this.bridges[grade.index]! : netlist.conductances[grade.element]!;
        const current =
          grade.kind === 'bridge'
            ? this.bridges[grade.index]!.siemens * (v[c.a]! - v[c.b]!)
            : this.conductanceCurrent(grade.element);
        gradePlaces[0] = unknown[c.a]!;
        gradePlaces[1] = unknown[c.b]!;
        gradeSlopes[0] = current * grade.spread;
        gradeSlopes[1] = -current * grade.spread;
      }
    }

    const count = parameters.length;
    const result: Sensitivities = {
      byParameter: new Float64Array(wanted.length * count),
      byGrade: new Float64Array(wanted.length),
      ohms: new Float64Array(wanted.length),
    };
    const adjoint = new Float64Array(n);
    for (let w = 0; w < wanted.length; w++) {
      const u = unknown[wanted[w]!]!;
      if (u < 0 || !sound) {
        const rail = parameters.findIndex(
          (p) => p.kind === 'rail' && this.railNets[p.element] === wanted[w]! && !drivenRail(p),
        );
        if (rail >= 0) result.byParameter[w * count + rail] = parameters[rail]!.spread;
        continue;
      }
      adjoint.fill(0);
      adjoint[u] = 1;
      lu.solveTransposed(adjoint);
      result.ohms[w] = adjoint[u]!;
      const base = w * count;
      for (let p = 0; p < count; p++) {
        let sum = 0;
        for (let k = 3 * p; k < 3 * p + 3; k++) {
          const place = places[k]!;
          if (place >= 0) sum -= adjoint[place]! * slopes[k]!;
        }
        result.byParameter[base + p] = sum;
      }
      for (const { parameter, column } of dense) {
        let sum = 0;
        for (let i = 0; i < n; i++) sum -= adjoint[i]! * column[i]!;
        result.byParameter[base + parameter] = sum;
      }
      let sum = 0;
      for (let k = 0; k < 3; k++)
        if (gradePlaces[k]! >= 0) sum -= adjoint[gradePlaces[k]!]! * gradeSlopes[k]!;
      result.byGrade[w] = sum;
    }
    restore();
    return result;
  }

  private conductanceCurrent(element: number): number {
    const { a, b, lamp } = this.netlist.conductances[element]!;
    const d = this.volts[a]! - this.volts[b]!;
    const current = this.values.siemens[element]! * d;
    return lamp ? current / lampRatio(d, lamp) : current;
  }

  /** Junction limits that let every device be linearised where it stands. */
  private exactLimits(): void {
    const { netlist, volts: v } = this;
    netlist.junctions.forEach((j, i) => {
      this.oldJunction[i] = v[j.a]! - v[j.k]!;
    });
    netlist.transistors.forEach((q, i) => {
      const [b, c, e] = q.terminals;
      this.oldBe[i] = q.sign * (v[b]! - v[e]!);
      this.oldBc[i] = q.sign * (v[b]! - v[c]!);
    });
  }

  private restart(start: Float64Array | undefined): void {
    for (let i = 0; i < this.volts.length; i++) {
      const volts = start?.[i] ?? 0;
      // What another condition left without a voltage may have one here.
      this.volts[i] = Number.isFinite(volts) ? volts : 0;
    }
    this.placeKnown();
  }

  private applyEdit(edit: Edit | undefined): () => void {
    if (!edit) return () => {};
    const { values } = this;
    const undo: (() => void)[] = [];
    for (const c of edit.conductance ?? []) {
      const old = values.siemens[c.element]!;
      values.siemens[c.element] = c.siemens;
      undo.push(() => {
        values.siemens[c.element] = old;
      });
    }
    for (const g of edit.gain ?? []) {
      const q = values.transistors[g.transistor]!;
      const old = q.bf;
      q.bf = old * g.factor;
      undo.push(() => {
        q.bf = old;
      });
    }
    for (const j of edit.cut ?? []) this.cut[j] = 1;
    for (const o of edit.open ?? []) {
      this.open[o.transistor] = o.terminal;
      this.openSiemens[o.transistor] = o.siemens;
    }
    this.bridges = edit.bridge ?? [];
    return () => {
      for (let i = undo.length - 1; i >= 0; i--) undo[i]!();
      for (const j of edit.cut ?? []) this.cut[j] = 0;
      for (const o of edit.open ?? []) this.open[o.transistor] = -1;
      this.bridges = [];
    };
  }

  private placeKnown(): void {
    const v = this.volts;
    const { values, netlist } = this;
    v[netlist.reference] = 0;
    for (let i = 0; i < this.railNets.length; i++) v[this.railNets[i]!] = values.rails[i]! * this.sourceScale;
    for (const d of this.drives) if (d.siemens === 0) v[d.net] = d.volts * this.sourceScale;
    v[netlist.reference] = 0;
  }

  /**
   * Volts between which every net ends: a network of parts that only consume power has no voltage outside those of its
   * sources. A volt more on each side lets Newton's way overshoot.
   */
  private setBounds(): void {
    let lo = 0;
    let hi = 0;
    for (const list of [this.values.rails, this.drives.map((d) => d.volts), this.hints.map((h) => h.volts)])
      for (const volts of list) {
        lo = Math.min(lo, volts);
        hi = Math.max(hi, volts);
      }
    this.lowest = lo - 1;
    this.highest = hi + 1;
  }

  /** The part of the matrix that does not move with the voltages. */
  private prepareLinear(): void {
    const { feed, values, netlist } = this;
    const { conductanceSlots: slots, position, unknown, netOf } = feed.structure;
    const linear = feed.linear;
    linear.fill(0);
    for (let i = 0; i < netOf.length; i++) linear[position(i, i)]! += LEAST_SIEMENS;
    for (let i = 0; i < values.siemens.length; i++) {
      if (netlist.conductances[i]!.lamp) continue;
      const g = values.siemens[i]!;
      linear[slots[4 * i]!]! += g;
      linear[slots[4 * i + 1]!]! -= g;
      linear[slots[4 * i + 2]!]! -= g;
      linear[slots[4 * i + 3]!]! += g;
    }
    for (const b of this.bridges) {
      const ua = unknown[b.a]!;
      const ub = unknown[b.b]!;
      linear[position(ua, ua)]! += b.siemens;
      linear[position(ua, ub)]! -= b.siemens;
      linear[position(ub, ua)]! -= b.siemens;
      linear[position(ub, ub)]! += b.siemens;
    }
    for (const d of this.drives) {
      const u = unknown[d.net]!;
      if (d.siemens > 0 && u >= 0) linear[position(u, u)]! += d.siemens;
    }
  }

  /**
   * Residual (currents that leave each unknown net, amperes) and Jacobian at the present voltages. True when a junction
   * voltage was limited, so that the linearisation stands at another place than the voltages.
   */
  private assemble(): boolean {
    const { feed, values, netlist, volts: v } = this;
    const { structure, jacobian: jac, residual: f, flow } = feed;
    const { unknown, netOf } = structure;
    jac.set(feed.linear);
    let limited = false;
    for (let i = 0; i < netOf.length; i++) {
      const net = netOf[i]!;
      const g = feed.shunt[i]!;
      const x = LEAST_SIEMENS * v[net]! + g * (v[net]! - feed.anchor[i]!);
      f[i] = x;
      flow[i] = 0;
      if (g !== 0) jac[structure.position(i, i)]! += g;
    }
    const add = (net: number, current: number): void => {
      const u = unknown[net]!;
      if (u < 0) return;
      f[u]! += current;
      flow[u]! += Math.abs(current);
    };
    const list = netlist.conductances;
    for (let i = 0; i < list.length; i++) {
      const { a, b, lamp } = list[i]!;
      const d = v[a]! - v[b]!;
      let current = values.siemens[i]! * d;
      if (lamp) {
        const ratio = lampRatio(d, lamp);
        current /= ratio;
        const w = Math.sqrt(Math.abs(d) / lamp.rated + 1e-4);
        const slope =
          values.siemens[i]! / ratio -
          (((current / ratio) * (1 - 1 / lamp.cold)) / (2 * w * lamp.rated)) * Math.sign(d);
        const s = 4 * i;
        const slots = structure.conductanceSlots;
        jac[slots[s]!]! += slope;
        jac[slots[s + 1]!]! -= slope;
        jac[slots[s + 2]!]! -= slope;
        jac[slots[s + 3]!]! += slope;
      }
      add(a, current);
      add(b, -current);
    }
    for (const b of this.bridges) {
      const current = b.siemens * (v[b.a]! - v[b.b]!);
      add(b.a, current);
      add(b.b, -current);
    }
    for (const d of this.drives) {
      if (d.siemens > 0) add(d.net, d.siemens * (v[d.net]! - d.volts * this.sourceScale));
    }
    const { junctionSlots, transistorSlots } = structure;
    for (let i = 0; i < values.junctions.length; i++) {
      if (this.cut[i]) continue;
      const own = values.junctions[i]!;
      const { a, k } = netlist.junctions[i]!;
      const d = v[a]! - v[k]!;
      let at = d;
      if (unknown[a]! >= 0 || unknown[k]! >= 0) {
        const old = this.oldJunction[i]!;
        if (this.careful && crosses(d, old)) at = 0;
        // A series resistance bounds the current by itself.
        else if (own.rs === 0) at = limitedJunction(d, old, own.nvt, this.critical.junctions[i]!);
        if (Math.abs(at - d) > 1e-9) limited = true;
        this.oldJunction[i] = at;
      }
      junctionCurrent(own, at);
      const g = junction.g;
      const current = junction.i + g * (d - at);
      const s = 4 * i;
      jac[junctionSlots[s]!]! += g;
      jac[junctionSlots[s + 1]!]! -= g;
      jac[junctionSlots[s + 2]!]! -= g;
      jac[junctionSlots[s + 3]!]! += g;
      add(a, current);
      add(k, -current);
    }
    const c = transistor.current;
    const j = transistor.jacobian;
    const three = this.three;
    for (let i = 0; i < values.transistors.length; i++) {
      const own = values.transistors[i]!;
      const [b, col, e] = netlist.transistors[i]!.terminals;
      const open = this.open[i]!;
      const slot = 9 * i;
      if (open >= 0) {
        three[BASE] = v[b]!;
        three[COLLECTOR] = v[col]!;
        three[EMITTER] = v[e]!;
        // The junction that is left may be limited; its partner terminal is moved to where it is linearised.
        let shift = 0;
        const s = own.sign;
        if (open === COLLECTOR) {
          const d = s * (three[BASE]! - three[EMITTER]!);
          const at = this.limitedVoltage(d, this.oldBe[i]!, own.nvt, this.critical.transistors[i]!);
          if (Math.abs(at - d) > 1e-9) limited = true;
          this.oldBe[i] = at;
          shift = s * (at - d);
        } else if (open === EMITTER) {
          const d = s * (three[BASE]! - three[COLLECTOR]!);
          const at = this.limitedVoltage(d, this.oldBc[i]!, own.nvt, this.critical.transistors[i]!);
          if (Math.abs(at - d) > 1e-9) limited = true;
          this.oldBc[i] = at;
          shift = s * (at - d);
        }
        three[BASE]! += shift;
        three[open] = this.inner[i]!;
        openTransistorCurrents(own, open, three, this.openSiemens[i]!);
        this.inner[i] = transistor.inner;
        for (let t = 0; t < 3; t++) c[t]! -= j[3 * t]! * shift;
      } else {
        const s = own.sign;
        const be = s * (v[b]! - v[e]!);
        const bc = s * (v[b]! - v[col]!);
        const critical = this.critical.transistors[i]!;
        // Between two known voltages there is nothing to limit.
        const free = unknown[b]! >= 0;
        const atBe =
          free || unknown[e]! >= 0 ? this.limitedVoltage(be, this.oldBe[i]!, own.nvt, critical) : be;
        const atBc =
          free || unknown[col]! >= 0 ? this.limitedVoltage(bc, this.oldBc[i]!, own.nvt, critical) : bc;
        this.oldBe[i] = atBe;
        this.oldBc[i] = atBc;
        transistorCurrents(own, atBe, atBc);
        const dBe = be - atBe;
        const dBc = bc - atBc;
        if (Math.abs(dBe) > 1e-9 || Math.abs(dBc) > 1e-9) {
          limited = true;
          // dI = -s (J[:,E] dBe + J[:,C] dBc): a rise of vbe is a fall of the emitter, and so on.
          for (let t = 0; t < 3; t++) c[t]! -= s * (j[3 * t + EMITTER]! * dBe + j[3 * t + COLLECTOR]! * dBc);
        }
      }
      for (let p = 0; p < 9; p++) jac[transistorSlots[slot + p]!]! += j[p]!;
      add(b, c[BASE]!);
      add(col, c[COLLECTOR]!);
      add(e, c[EMITTER]!);
    }
    return limited;
  }

  /** The base-emitter or base-collector voltage at which a transistor may be linearised next. */
  private limitedVoltage(v: number, old: number, nvt: number, critical: number): number {
    return this.careful && crosses(v, old) ? 0 : limitedJunction(v, old, nvt, critical);
  }

  private resetLimits(): void {
    const { netlist, volts: v } = this;
    netlist.junctions.forEach((j, i) => {
      this.oldJunction[i] = Math.min(v[j.a]! - v[j.k]!, this.critical.junctions[i]!);
    });
    netlist.transistors.forEach((q, i) => {
      const [b, c, e] = q.terminals;
      this.oldBe[i] = Math.min(q.sign * (v[b]! - v[e]!), this.critical.transistors[i]!);
      this.oldBc[i] = Math.min(q.sign * (v[b]! - v[c]!), this.critical.transistors[i]!);
    });
  }

  /** Kirchhoff to the stated share of the currents, or to the rounding of the voltages where a net is tied stiffly. */
  private balanced(a = this.residualScale, r = this.residualShare): boolean {
    const { residual: f, flow, jacobian, diagonal, structure } = this.feed;
    const v = this.volts;
    for (let i = 0; i < f.length; i++) {
      const least = ROUNDING * Math.abs(jacobian[diagonal[i]!]! * v[structure.netOf[i]!]!);
      if (!(Math.abs(f[i]!) <= a + r * flow[i]! + least)) return false;
    }
    return true;
  }

  /** Newton's method from the present voltages; true when Kirchhoff holds at the end. */
  private newton(limit: number): boolean {
    const { feed, volts: v } = this;
    const { lu, jacobian, residual: f } = feed;
    const { netOf } = feed.structure;
    this.resetLimits();
    let last = 0;
    const settled = this.residualShare > 1e-8 ? 2e-3 : 1e-4;
    for (let k = 0; k <= limit; k++) {
      this.careful = k > CAREFUL_AFTER;
      const limited = this.assemble();
      if (!limited && last < settled && this.balanced() && k > 0) return true;
      // Rounding may forbid the finer balance; the stated one is then as good as doubles give.
      if (k === limit) return !limited && last < 1e-6 && this.balanced(1e-10, 1e-7);
      this.steps++;
      lu.values.set(jacobian.subarray(0, lu.values.length));
      let dv = f;
      if (lu.refactor()) lu.solve(f);
      else {
        const safe = pivotedSolve(feed.structure.pattern, lu.values, f);
        if (!safe) return false;
        dv = safe;
      }
      let most = 0;
      for (let i = 0; i < netOf.length; i++) {
        const net = netOf[i]!;
        const next = Math.min(this.highest, Math.max(this.lowest, v[net]! - dv[i]!));
        if (Number.isNaN(next)) return false;
        most = Math.max(most, Math.abs(next - v[net]!));
        v[net] = next;
      }
      last = most;
    }
    return false;
  }

  /**
   * Whether the present point holds. Where the factors have a negative pivot it may be a balance point between two
   * states, or between several of a machine with many: then it is given a touch, and where that makes it run away,
   * followed to another one.
   *
   * @returns false when no point was found that holds; the voltages are then those of the balance point
   */
  private comesToRest(): boolean {
    const { feed, volts: v } = this;
    for (let tries = 0; tries < 4; tries++) {
      if (feed.lu.negativePivots === 0) return true;
      const before = v.slice();
      if (!this.leaveBalance()) {
        v.set(before);
        return false;
      }
      let most = 0;
      for (let i = 0; i < v.length; i++) most = Math.max(most, Math.abs(v[i]! - before[i]!));
      if (most < 1e-3) return true;
    }
    return false;
  }

  /** Whether every hinted net is on its hinted side. */
  private holds(): boolean {
    return this.hints.every((h) => Math.abs(this.volts[h.net]! - h.volts) <= h.within);
  }

  /** Holds the hinted nets at their hints, solves, lets go and follows the circuit to rest. */
  private followState(start: Float64Array | undefined): boolean {
    const { feed } = this;
    const { shunt, anchor, structure } = feed;
    this.placeKnown();
    shunt.fill(0);
    for (const h of this.hints) {
      const u = structure.unknown[h.net]!;
      shunt[u] = HOLD_SIEMENS;
      anchor[u] = h.volts;
    }
    let ok = this.newton(PLAIN_STEPS);
    if (!ok) {
      this.restart(start);
      ok = this.fade();
    }
    if (!ok) {
      shunt.fill(0);
      return false;
    }
    return this.pseudoTransient(3e-3);
  }

  /**
   * Lets go with the hinted nets at their hints and all others at nothing. It finds states that holding does not force,
   * since the hinted net takes no part in the loop (the output of a Schmitt trigger). Without success all stays as it is.
   */
  private race(): boolean {
    const before = this.volts.slice();
    this.restart(undefined);
    for (const h of this.hints) this.volts[h.net] = h.volts;
    if (this.pseudoTransient(1) && this.holds()) return true;
    this.volts.set(before);
    return false;
  }

  /** From the present voltages as the circuit would go, to a point that holds. */
  private pseudoTransient(first: number): boolean {
    return this.follow(first) && this.newton(PLAIN_STEPS) && this.comesToRest();
  }

  /**
   * Implicit Euler with equal capacitances and growing steps from the present voltages to near rest. A step with a
   * negative pivot is too long for what grows there (it would land on the balance point that the circuit runs away from).
   */
  private follow(first: number): boolean {
    const { feed, volts: v } = this;
    const { shunt, anchor, structure } = feed;
    const { netOf } = structure;
    const n = netOf.length;
    const keep = v.slice();
    let g = first;
    const fine = { scale: this.residualScale, share: this.residualShare };
    this.residualScale = 1e-8;
    this.residualShare = 1e-5;
    let failures = 0;
    let tooLong = 0;
    let rounds = 0;
    let ok = true;
    while (g > 1e-8 && rounds++ < 200) {
      for (let i = 0; i < n; i++) {
        shunt[i] = g;
        anchor[i] = v[netOf[i]!]!;
      }
      keep.set(v);
      const found = this.newton(12);
      if (found && (feed.lu.negativePivots === 0 || tooLong > 60)) {
        g *= failures > 0 || tooLong > 0 ? 0.6 : 0.25;
        continue;
      }
      v.set(keep);
      g *= found ? 2 : 5;
      if (found) tooLong++;
      else if (++failures > 12) {
        ok = false;
        break;
      }
    }
    shunt.fill(0);
    this.residualScale = fine.scale;
    this.residualShare = fine.share;
    return ok;
  }

  /** From a balance point between states the circuit would run away at a touch: gives it one and follows. */
  private leaveBalance(): boolean {
    const { feed, volts: v } = this;
    const { netOf } = feed.structure;
    const { shunt, anchor, lu, jacobian } = feed;
    const n = netOf.length;
    for (let i = 0; i < n; i++) anchor[i] = v[netOf[i]!]!;
    // The slowest step at which the fastest growth is still growth.
    let g = 1e-6;
    for (; g < 10; g *= 4) {
      shunt.fill(g);
      this.exactLimits();
      this.assemble();
      lu.values.set(jacobian.subarray(0, lu.values.length));
      if (lu.refactor() && lu.negativePivots === 0) break;
    }
    // A touch that no symmetry of the circuit shares.
    for (let i = 0; i < n; i++) v[netOf[i]!]! += TOUCH_VOLTS * ((((i + 1) * 0.618034) % 1) - 0.5);
    return this.follow(g) && this.newton(PLAIN_STEPS);
  }

  /** Shunts to the start voltages that fade to nothing, on every net that is not held. True when Kirchhoff holds at the end. */
  private fade(): boolean {
    const { feed, volts: v } = this;
    const { shunt, anchor, structure } = feed;
    const free = Int32Array.from(shunt.keys()).filter((i) => shunt[i] === 0);
    for (const i of free) anchor[i] = v[structure.netOf[i]!]!;
    let siemens = 1;
    let factor = 0.1;
    const keep = v.slice();
    let failures = 0;
    while (siemens > 1e-12) {
      for (const i of free) shunt[i] = siemens * factor;
      if (this.newton(30)) {
        keep.set(v);
        siemens *= factor;
      } else {
        v.set(keep);
        if (++failures > 10) break;
        factor = Math.sqrt(factor);
      }
    }
    for (const i of free) shunt[i] = 0;
    return this.newton(PLAIN_STEPS);
  }

  /** Every source from nothing to its full voltage. */
  private growSources(): boolean {
    const v = this.volts;
    v.fill(0);
    let scale = 0;
    let step = 0.1;
    const keep = v.slice();
    let failures = 0;
    while (scale < 1) {
      const next = Math.min(1, scale + step);
      this.sourceScale = next;
      this.placeKnown();
      if (this.newton(30)) {
        keep.set(v);
        scale = next;
        step *= 1.5;
      } else {
        v.set(keep);
        step *= 0.4;
        if (++failures > 15) break;
      }
    }
    this.sourceScale = 1;
    this.placeKnown();
    return scale >= 1 && this.newton(PLAIN_STEPS) && this.comesToRest();
  }

  private worstNets(): { net: string; amperes: number }[] {
    this.exactLimits();
    this.assemble();
    const { residual: f, structure } = this.feed;
    return Array.from(f, (x, i) => ({ net: this.netlist.nets[structure.netOf[i]!]!, amperes: Math.abs(x) }))
      .filter((w) => !(w.amperes <= 1e-9))
      .sort((a, b) => b.amperes - a.amperes)
      .slice(0, 3);
  }
}

/**
 * Whether a junction jumps over zero. A leakage saturates on both sides of it, and Newton can jump from one flat to the
 * other for ever; once it has gone on for long, every such jump stops at zero first.
 */
function crosses(v: number, old: number): boolean {
  return v * old < 0 && Math.abs(v) > LEAK_VOLTS / 2 && Math.abs(old) > LEAK_VOLTS / 2;
}

/** What `sensitivities` finds for each wanted net. */
export interface Sensitivities {
  /** Volts for one spread of each parameter; row-major wanted x parameters. */
  readonly byParameter: Float64Array;
  /** Volts for one spread of the fault's severity. */
  readonly byGrade: Float64Array;
  /** Source resistance that a meter sees at the net, ohms. */
  readonly ohms: Float64Array;
}

/** The element whose logarithm is a fault's severity, and the standard deviation of that logarithm. */
export type SeverityElement = { readonly spread: number } & (
  | { readonly kind: 'conductance'; readonly element: number }
  | { readonly kind: 'bridge'; readonly index: number }
  | { readonly kind: 'gain'; readonly transistor: number }
);

/** Resistance of a lamp at `d` volts over its hot resistance: a filament's rises about with the root of the voltage. */
function lampRatio(d: number, lamp: { readonly cold: number; readonly rated: number }): number {
  return 1 / lamp.cold + (1 - 1 / lamp.cold) * (Math.sqrt(Math.abs(d) / lamp.rated + 1e-4) - 0.01);
}

interface PlacedDrive {
  readonly net: number;
  readonly volts: number;
  readonly siemens: number;
}
interface PlacedHint {
  readonly net: number;
  readonly volts: number;
  /** A net that is further off is in another state, volts. */
  readonly within: number;
}

/**
 * How far a hinted net may end from its hint: half way to the next level that stands among the hints or at the reference.
 * Levels closer than a quarter of the largest are one level, loaded more and less.
 */
function hintReach(levels: readonly number[]): (volts: number) => number {
  const apart = Math.max(1, 0.25 * Math.max(...levels.map(Math.abs)));
  return (volts) => {
    const steps = [0, ...levels].map((other) => Math.abs(other - volts)).filter((step) => step > apart);
    return steps.length > 0 ? 0.5 * Math.min(...steps) : apart;
  };
}
