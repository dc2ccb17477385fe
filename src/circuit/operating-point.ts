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
import { Assembly, type PlacedDrive } from './assembly.ts';
import type { Edit } from './edit.ts';
import { pivotedSolve } from './matrix/index.ts';
import { followedNear, HOLD_SIEMENS } from './near-state.ts';
import { type Hold, type NearTask, Neighbourhood } from './neighbourhood.ts';
import type { Netlist } from './netlist.ts';
import { adjointSensitivities, type Sensitivities, type SeverityElement } from './sensitivity.ts';
import { type Structure, structureOf } from './structure.ts';
import { ElementValues } from './values.ts';

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
  /** The point is not a balance point between two states (sign of the pivots). */
  readonly stable: boolean;
  /** Nets with the largest unbalanced current, amperes; empty when converged. */
  readonly worst: readonly { readonly net: string; readonly amperes: number }[];
}

export interface SolveOptions {
  /** Start from these net voltages (of a neighbouring case, for instance the sound circuit). */
  readonly start?: Float64Array;
  readonly edit?: Edit;
  /** The start has already left the hinted state, and any stable point near it will do: the next grade of the same fault. */
  readonly stateLost?: boolean;
  /**
   * The sound point of the condition with the same parts, which the solver then reckons this fault on; worth it for many
   * faults of one condition one after the other, in a table's accuracy.
   */
  readonly sound?: Float64Array;
  /** 1 microvolt for what is shown and compared (default), 'table' for fault tables: some 100 microvolts. */
  readonly accuracy?: 'fine' | 'table';
}

const PLAIN_STEPS = 60;
/** From a neighbouring point, and from the held state where that one has settled: what has not settled by then is followed instead. */
const WARM_STEPS = 50;
/** From the held state where the warm start has found nothing to compare with: mostly it will be followed. */
const HELD_STEPS = 15;
/** Volts of the touch that a balance point between states gets. */
const TOUCH_VOLTS = 4e-3;
/** Steps after which Newton is suspected of going in circles. */
const CAREFUL_AFTER = 12;
/** A few units in the last place. */
const ROUNDING = 1e-15;
/** So often a pseudo-transient step is shortened for what grows in it. */
const MOST_TOO_LONG = 10;
/** In a fault table, a step as small as this ends the iteration: what it leaves over is some 100 microvolts. */
const TABLE_STEP = 2e-3;
/** On the way of a pseudo-transient a step need not be exact. */
const FOLLOW_STEP = 3e-3;
/** Devices that have moved by less keep their linearisation: the error is second order. */
const TABLE_STALE = 2e-3;

/** Two points nearer than this are one, volts. */
const SAME_VOLTS = 0.02;

interface Placed {
  readonly assembly: Assembly;
  readonly drives: readonly PlacedDrive[];
  readonly hints: readonly PlacedHint[];
}

/** Solves one netlist again and again: all conditions, all faults, all deviations. Not re-entrant; one for each thread. */
export class CircuitSolver {
  readonly netlist: Netlist;
  readonly values: ElementValues;
  private readonly assemblies = new Map<Structure, Assembly>();
  private readonly conditions = new WeakMap<Condition, Placed>();
  private readonly railNets: Int32Array;
  private neighbourhood: Neighbourhood | undefined;

  // The case that is being solved.
  private feed!: Assembly;
  private drives: readonly PlacedDrive[] = [];
  private hints: readonly PlacedHint[] = [];
  private volts: Float64Array;
  private steps = 0;
  private table = false;
  /** A step below this ends an iteration without another look, volts. */
  private lastStep = 0;
  private residualScale = 1e-12;
  private residualShare = 1e-9;
  private sourceScale = 1;
  private lowest = 0;
  private highest = 0;
  /** Total of Newton steps since construction, for benches. */
  totalSteps = 0;

  constructor(netlist: Netlist) {
    this.netlist = netlist;
    this.values = new ElementValues(netlist);
    this.railNets = Int32Array.from(netlist.machine.rails, (r) => netlist.netIndex.get(r.net)!);
    this.volts = new Float64Array(netlist.nets.length);
  }

  /**
   * Sets every element to its nominal value moved by `deviations` (in units of each parameter's spread, length
   * `parameters`; undefined for none) at `celsius`, plus the deviation of the temperature parameter.
   */
  setParts(deviations: Float64Array | undefined, celsius: number): void {
    this.values.set(deviations, celsius);
  }

  /** The structure that a condition's stiff drives give; conditions that drive the same nets share it. */
  structure(condition: Condition): Structure {
    return this.placed(condition).assembly.structure;
  }

  private placed(condition: Condition): Placed {
    let found = this.conditions.get(condition);
    if (found) return found;
    const { netlist } = this;
    const drives = condition.drives.map((d) => ({
      net: netlist.netIndex.get(d.net)!,
      volts: d.volts,
      siemens: d.ohms > 0 ? 1 / d.ohms : 0,
      level: netlist.levels.findIndex((l) => netlist.nets[l.net] === d.net && l.volts === d.volts),
    }));
    const stiff = [...new Set(drives.filter((d) => d.siemens === 0).map((d) => d.net))].sort((a, b) => a - b);
    const resistive = drives.filter((d) => d.siemens > 0).map((d) => d.net);
    const structure = structureOf(netlist, stiff, resistive);
    let assembly = this.assemblies.get(structure);
    if (!assembly) {
      assembly = new Assembly(netlist, this.values, structure);
      this.assemblies.set(structure, assembly);
    }
    const { unknown } = structure;
    const within = hintReach(condition.hints.map((h) => h.volts));
    const hints = condition.hints
      .map((h) => ({ net: netlist.netIndex.get(h.net)!, volts: h.volts, within: within(h.volts) }))
      .filter((h) => unknown[h.net]! >= 0);
    found = { assembly, drives, hints };
    this.conditions.set(condition, found);
    return found;
  }

  /** A condition's drives at the voltages that the deviations give them. */
  private drivesOf({ drives }: Placed): readonly PlacedDrive[] {
    const { levels, deviations } = this.values;
    if (!deviations || levels.length === 0) return drives;
    return drives.map((d) => (d.level < 0 ? d : { ...d, volts: levels[d.level]! }));
  }

  /** The operating point of `condition`. The returned `volts` are the caller's own. */
  solve(condition: Condition, options: SolveOptions = {}): OperatingPoint {
    const placed = this.placed(condition);
    const { assembly: feed } = placed;
    this.feed = feed;
    this.drives = this.drivesOf(placed);
    this.hints = placed.hints;
    this.steps = 0;
    const { edit, start } = options;
    const near =
      options.sound && edit && start && options.accuracy === 'table' && this.around(options.sound, condition);
    this.setAccuracy(options.accuracy === 'table');
    const restore = this.values.apply(edit);
    this.sourceScale = 1;
    feed.shunt.fill(0);
    this.setBounds();
    const v = new Float64Array(this.netlist.nets.length);
    this.volts = v;
    const nearAid = near && this.solveNear(near, start, edit, options.stateLost ?? false);
    const { aid, ok } = nearAid
      ? { aid: nearAid, ok: true }
      : this.solveWhole(start, options.stateLost ?? false);
    const stateHeld = this.holds();
    const worst = ok ? [] : this.worstNets();
    const converged = worst.length === 0;
    const opened = (edit?.open ?? []).map((o) => feed.innerVolts(o.transistor, v));
    const { unknown, reached } = feed.structure;
    for (let i = 0; i < v.length; i++) if (unknown[i]! < 0 && !reached[i]) v[i] = Number.NaN;
    restore();
    this.totalSteps += this.steps;
    return { converged, volts: v, opened, aid, steps: this.steps, stateHeld, stable: ok, worst };
  }

  /**
   * How the voltages of `wanted` nets move with every parameter at a point that `solve` has found for the same condition, parts and
   * edit; see `adjointSensitivities`.
   *
   * @param volts   net voltages of the point, as `solve` returned them
   * @param wanted  net indices; a known or unreached net gives zeros
   * @param grade   the fault's severity, as one more parameter
   */
  sensitivities(
    condition: Condition,
    volts: Float64Array,
    wanted: ArrayLike<number>,
    edit?: Edit,
    grade?: SeverityElement,
  ): Sensitivities {
    const placed = this.placed(condition);
    const { assembly } = placed;
    return adjointSensitivities(assembly, this.drivesOf(placed), this.railNets, volts, wanted, edit, grade);
  }

  /** The sound circuit to reckon faults on, if it is a stable one. */
  private around(sound: Float64Array, condition: Condition): Neighbourhood | undefined {
    const placed = this.placed(condition);
    const { assembly } = placed;
    let near = this.neighbourhood;
    if (near?.sound !== sound || near.assembly !== assembly || near.generation !== this.values.generation) {
      near = new Neighbourhood(assembly, this.drivesOf(placed), sound);
      this.neighbourhood = near;
    }
    return near.usable ? near : undefined;
  }

  private setAccuracy(table: boolean): void {
    this.table = table;
    this.lastStep = table ? TABLE_STEP : 0;
    this.residualScale = table ? 1e-10 : 1e-13;
    this.residualShare = table ? 1e-7 : 1e-10;
    this.feed.stale = table ? TABLE_STALE : 0;
  }

  private restart(start: Float64Array | undefined): void {
    for (let i = 0; i < this.volts.length; i++) {
      const volts = start?.[i] ?? 0;
      // What another condition left without a voltage may have one here.
      this.volts[i] = Number.isFinite(volts) ? volts : 0;
    }
    this.placeKnown();
  }

  /** Puts the known nets to their voltages and tells the equations. */
  private placeKnown(): void {
    const v = this.volts;
    const { values, netlist } = this;
    for (let i = 0; i < this.railNets.length; i++) v[this.railNets[i]!] = values.rails[i]! * this.sourceScale;
    for (const d of this.drives) if (d.siemens === 0) v[d.net] = d.volts * this.sourceScale;
    v[netlist.reference] = 0;
    this.feed.prepare(this.drives, this.sourceScale);
  }

  /**
   * Volts between which every net ends: a network of parts that only consume power has no voltage outside those of its
   * sources. A volt more on each side lets Newton's way overshoot.
   */
  private setBounds(): void {
    let lo = 0;
    let hi = 0;
    const within = (volts: number): void => {
      lo = Math.min(lo, volts);
      hi = Math.max(hi, volts);
    };
    for (const volts of this.values.rails) within(volts);
    for (const d of this.drives) within(d.volts);
    for (const h of this.hints) within(h.volts);
    this.lowest = lo - 1;
    this.highest = hi + 1;
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
    const { feed, volts: v, table } = this;
    const { lu, residual: f } = feed;
    const { netOf, pattern } = feed.structure;
    feed.startLimits(v);
    let last = 0;
    const settled = table ? 2e-3 : 1e-4;
    for (let k = 0; k <= limit; k++) {
      feed.careful = k > CAREFUL_AFTER;
      const limited = feed.evaluate(v);
      if (!limited && last < settled && this.balanced() && k > 0) return true;
      // Rounding may forbid the finer balance; the stated one is then as good as doubles give.
      if (k === limit) return !limited && last < 1e-6 && this.balanced(1e-10, 1e-7);
      this.steps++;
      let dv = f;
      if (feed.factor()) lu.solve(f);
      else {
        const safe = pivotedSolve(pattern, lu.values, f);
        if (!safe) return false;
        dv = safe;
      }
      let most = 0;
      for (let i = 0; i < netOf.length; i++) {
        const net = netOf[i]!;
        const next = Math.min(this.highest, Math.max(this.lowest, v[net]! - dv[i]!));
        const d = Math.abs(next - v[net]!);
        if (!(d <= most)) most = d;
        v[net] = next;
      }
      if (!Number.isFinite(most)) return false;
      if (!limited && most < this.lastStep) return true;
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

  /** Solves on the whole network, with one aid after the other. */
  private solveWhole(start: Float64Array | undefined, stateLost: boolean): { aid: Aid; ok: boolean } {
    this.restart(start);
    let aid: Aid = 'none';
    let ok: boolean;
    const warm = start !== undefined;
    if (warm || this.hints.length === 0) {
      ok = this.newton(warm ? WARM_STEPS : PLAIN_STEPS);
      const doubtful = ok && this.feed.lu.negativePivots > 0;
      const away = !stateLost && !this.holds();
      if (this.hints.length > 0 && (!ok || doubtful || away)) {
        aid = 'state';
        ok = this.settleState(ok && !doubtful, start);
      } else if (doubtful) {
        aid = 'state';
        ok = this.comesToRest();
      }
    } else {
      aid = 'state';
      ok = this.followState(undefined);
      if (!ok || !this.holds()) ok = this.race() || ok;
    }
    if (!ok && this.table) {
      // Stamps that stand still for too long can keep a loop of high gain from settling.
      aid = 'state';
      this.setAccuracy(false);
      this.restart(start);
      ok = this.followState(start);
    }
    if (!ok) {
      aid = 'shunts';
      this.restart(start);
      ok = this.fade() && this.comesToRest();
    }
    if (!ok) {
      aid = 'sources';
      this.restart(start);
      ok = this.growSources();
    }
    if (!ok) {
      aid = 'transient';
      this.restart(start);
      ok = this.pseudoTransient(1);
    }
    return { aid, ok };
  }

  /**
   * Solves on the nets that a fault moves. Where the answer has left the state, Newton's method from held nets is asked as in
   * `settleState`; where there is none, or the two disagree, the circuit is followed as it lets go.
   *
   * @returns the aid, or undefined where this way does not lead to a stable point
   */
  private solveNear(
    near: Neighbourhood,
    start: Float64Array,
    edit: Edit,
    stateLost: boolean,
  ): Aid | undefined {
    const { volts: v, hints } = this;
    const task: NearTask = { edit, lowest: this.lowest, highest: this.highest, stale: TABLE_STALE };
    const solved = (from: Float64Array, holds?: readonly Hold[]): boolean => {
      const found = near.solve(from, holds ? { ...task, holds } : task);
      this.steps += near.steps;
      return found && (holds !== undefined || near.stable);
    };
    if (solved(start)) {
      v.set(near.volts);
      if (stateLost || this.holds()) return 'none';
      const lost = hints.filter((h) => Math.abs(v[h.net]! - h.volts) > h.within);
      if (
        solved(
          start,
          lost.map((h) => ({ net: h.net, volts: h.volts, siemens: HOLD_SIEMENS })),
        ) &&
        solved(near.volts.slice())
      ) {
        // Nets without a voltage are NaN in both.
        if (near.volts.every((x, i) => !(Math.abs(x - v[i]!) >= SAME_VOLTS))) return 'state';
        const warm = v.slice();
        v.set(near.volts);
        if (this.holds()) return 'state';
        v.set(warm);
      }
    }
    if (near.crowded) return undefined;
    const { found, steps } = followedNear(near, start, task, stateLost ? [] : hints);
    this.steps += steps;
    if (!found) return undefined;
    v.set(near.volts);
    return 'state';
  }

  /**
   * From a warm start whose answer has left the state or is in doubt. Newton's method from the held state is tried
   * first: where it keeps the state, or loses it to the same point as the warm start did, that is the answer; only
   * where the two disagree is the circuit followed as it lets go.
   *
   * @param settled the warm start found a stable point: the present voltages
   */
  private settleState(settled: boolean, start: Float64Array | undefined): boolean {
    const warm = this.volts.slice();
    this.restart(start);
    if (this.hold(start)) {
      const held = this.volts.slice();
      this.feed.shunt.fill(0);
      if (this.newton(settled ? WARM_STEPS : HELD_STEPS) && this.feed.lu.negativePivots === 0) {
        if (this.holds()) return true;
        if (settled && this.volts.every((x, i) => Math.abs(x - warm[i]!) < SAME_VOLTS)) return true;
      }
      this.volts.set(held);
      return this.pseudoTransient(3e-3);
    }
    return false;
  }

  /** Holds the hinted nets at their hints, solves, lets go and follows the circuit to rest. */
  private followState(start: Float64Array | undefined): boolean {
    return this.hold(start) && this.pseudoTransient(3e-3);
  }

  /** The circuit with the hinted nets held at their hints. */
  private hold(start: Float64Array | undefined): boolean {
    const { shunt, anchor, structure } = this.feed;
    shunt.fill(0);
    for (const h of this.hints) {
      const u = structure.unknown[h.net]!;
      shunt[u] = HOLD_SIEMENS;
      anchor[u] = h.volts;
    }
    if (this.newton(PLAIN_STEPS)) return true;
    this.restart(start);
    if (this.fade()) return true;
    shunt.fill(0);
    return false;
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
    this.lastStep = FOLLOW_STEP;
    let failures = 0;
    let tooLong = 0;
    let growth = 0.2;
    let rounds = 0;
    let moved = 0;
    let ok = true;
    // A net that only leakages charge comes to rest late: short of it, Newton jumps to another state.
    while ((g > 1e-8 || (moved > 1e-2 && g > 1e-13)) && rounds++ < 200) {
      for (let i = 0; i < n; i++) {
        shunt[i] = g;
        anchor[i] = v[netOf[i]!]!;
      }
      keep.set(v);
      const found = this.newton(16);
      if (found && (feed.lu.negativePivots === 0 || tooLong > MOST_TOO_LONG)) {
        g *= growth;
        // A narrow place is passed slowly; behind it the steps grow again.
        growth = Math.max(0.2, growth * 0.75);
        moved = 0;
        for (let i = 0; i < n; i++) moved = Math.max(moved, Math.abs(v[netOf[i]!]! - anchor[i]!));
        continue;
      }
      v.set(keep);
      growth = 0.6;
      g *= found ? 2 : 5;
      if (found) tooLong++;
      else if (++failures > 12) {
        ok = false;
        break;
      }
    }
    shunt.fill(0);
    this.lastStep = this.table ? TABLE_STEP : 0;
    this.residualScale = fine.scale;
    this.residualShare = fine.share;
    return ok;
  }

  /** From a balance point between states the circuit would run away at a touch: gives it one and follows. */
  private leaveBalance(): boolean {
    const { feed, volts: v } = this;
    const { netOf } = feed.structure;
    const { shunt, anchor, lu } = feed;
    const n = netOf.length;
    for (let i = 0; i < n; i++) anchor[i] = v[netOf[i]!]!;
    // The slowest step at which the fastest growth is still growth.
    let g = 1e-6;
    for (; g < 10; g *= 4) {
      shunt.fill(g);
      feed.exactLimits(v);
      feed.evaluate(v);
      if (feed.factor() && lu.negativePivots === 0) break;
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
    const { feed, volts: v } = this;
    feed.stale = 0;
    feed.exactLimits(v);
    feed.evaluate(v);
    const { residual: f, structure } = feed;
    return Array.from(f, (x, i) => ({ net: this.netlist.nets[structure.netOf[i]!]!, amperes: Math.abs(x) }))
      .filter((w) => !(w.amperes <= 1e-9))
      .sort((a, b) => b.amperes - a.amperes)
      .slice(0, 3);
  }
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
