/**
 * The waveforms of a circuit: its voltages from the operating point of the first instant on, as the drives move.
 *
 * Trapezoidal rule, with a backward-Euler step after each corner of a drive, where the past says nothing of what comes.
 * Steps end on every corner. The length of a step follows from its local truncation error: the difference between what the
 * past foretells (a parabola through three instants) and what the step finds, of which theory gives the step's own share.
 *
 * @source C. W. Gear, Numerical Initial Value Problems in Ordinary Differential Equations, Prentice-Hall 1971, error
 * constants of the rules and their estimate by a predictor (from memory)
 */
import { type Condition, type DriveWave, type Hint, nextBreak, voltsAt } from '../../machine/index.ts';
import type { Edit } from '../edit.ts';
import type { CircuitSolver } from '../operating-point.ts';
import { type Structure, structureOf } from '../structure.ts';
import { type ResistiveDrive, StepEquations } from './equations.ts';
import { movingNets } from './moving.ts';
import { Recorder } from './recorder.ts';
import { type Storage, storageOf } from './storage.ts';

/** A net that is fed `wave` through `ohms` (left out or 0: stiffly). */
export interface TimedDrive {
  readonly net: string;
  readonly wave: DriveWave;
  readonly ohms?: number;
}

/** Where a circuit stands at an instant: enough to go on from there. */
export interface TransientState {
  /** Volts of each net of the netlist. */
  readonly volts: Float64Array;
  /** Current of each winding and inductor, amperes, in the order of `storageOf`. */
  readonly windings: readonly number[];
}

export interface TransientTask {
  readonly drives: readonly TimedDrive[];
  /** Choose between the states of a bistable circuit at the start. */
  readonly hints?: readonly Hint[];
  /** Nets that are held at some volts until `from` and let go then: what starts an oscillator that could also rest. */
  readonly released?: readonly Hint[];
  readonly edit?: Edit;
  /** Seconds. */
  readonly from: number;
  readonly to: number;
  /** Numbers of the nets whose voltages are wanted. */
  readonly probes: ArrayLike<number>;
  /** Goes on from here instead of from the operating point. */
  readonly start?: TransientState;
  /** Net voltages near those of the operating point: of the sound circuit, for a fault. */
  readonly near?: Float64Array;
  /** Largest local truncation error of a step at any net, volts; 2 mV where nothing is said. */
  readonly tolerance?: number;
  /** Samples that a straight line tells as well as this are left out, volts; nothing where nothing is said. */
  readonly thin?: number;
  /** No step is longer, seconds. */
  readonly longestStep?: number;
  /** Deviations of the storage's parameters, in units of their spread; those of the parts are the solver's. */
  readonly storageDeviations?: Float64Array;
  /** Gives up after so many steps; ten million where nothing is said. */
  readonly mostSteps?: number;
}

export interface Transient {
  /** False: the waveforms end before `to`, at `end.at`; `why` says what happened. */
  readonly converged: boolean;
  readonly why?: 'no operating point' | 'no convergence' | 'too many steps';
  /** Seconds, rising; a sample for each step unless thinned. */
  readonly instants: Float64Array;
  /** For each probe the volts at the instants; NaN for a net that nothing fixes. */
  readonly volts: readonly Float64Array[];
  readonly end: TransientState & { readonly at: number };
  readonly steps: number;
  readonly rejected: number;
  /** Newton iterations of all steps, with one look at every device each. */
  readonly iterations: number;
  /** The hinted nets began on their sides. */
  readonly stateHeld: boolean;
  /** Nets with the largest unbalanced current, amperes; empty when converged. */
  readonly worst: readonly { readonly net: string; readonly amperes: number }[];
}

const TOLERANCE = 2e-3;
const MOST_STEPS = 1e7;
/** Newton iterations of a step; more, and a shorter step is cheaper. */
const STEP_ITERATIONS = 12;
/** What Newton's method may leave over, share of the tolerance. */
const NEWTON_SHARE = 0.5;
/** Share of a stretch between two corners that its first step takes when nothing is known. */
const FIRST_SHARE = 0.01;
/** A step grows to twice its length at most, and not for less than this. */
const MOST_GROWTH = 2;
const LEAST_GROWTH = 1.25;
const SAFETY = 0.75;
const AFTER_FAILURE = 1 / 8;
/** Corners of two drives that are so near are one, seconds: their instants differ by rounding. */
const SAME_INSTANT = 1e-12;
/** What holds a net that is let go later. */
const HOLD_OHMS = 10;
/** Time in which charges stand still while the nets without charge find their voltages, seconds. */
const STANDSTILL = 1e-13;

function isMoving(wave: DriveWave): boolean {
  return wave.kind !== 'constant';
}

const kept = new WeakMap<CircuitSolver, Map<Structure, StepEquations>>();

/**
 * The waveforms of `solver.netlist` with the parts as `solver.setParts` has set them.
 *
 * @throws RangeError for a drive of a net that the machine does not have, or a span of no length: faults of the caller
 */
export function transient(solver: CircuitSolver, task: TransientTask): Transient {
  return new Integration(solver, task).run();
}

class Integration {
  private readonly solver: CircuitSolver;
  private readonly task: TransientTask;
  private readonly storage: Storage;
  private readonly equations: StepEquations;
  private readonly netOf: Int32Array;
  private readonly volts: Float64Array;
  /** Voltages of the last three instants. */
  private now: Float64Array;
  private before: Float64Array;
  private earlier: Float64Array;
  private readonly foretold: Float64Array;
  private readonly savedVolts: Float64Array;
  private savedState = new Float64Array(0);
  private readonly resistive: readonly ResistiveDrive[];
  private readonly stiffNets: number[] = [];
  private readonly stiffWaves: DriveWave[] = [];
  private readonly softWaves: DriveWave[] = [];
  private readonly tolerance: number;
  private readonly recorder: Recorder;
  private firstStep = Number.NaN;
  private t: number;
  private steps = 0;
  private rejected = 0;
  private iterations = 0;

  constructor(solver: CircuitSolver, task: TransientTask) {
    if (!(task.to > task.from)) throw new RangeError(`a span from ${task.from} to ${task.to} s`);
    const { netlist } = solver;
    this.solver = solver;
    this.task = task;
    this.storage = storageOf(netlist);
    this.tolerance = task.tolerance ?? TOLERANCE;
    this.t = task.from;
    const resistive: ResistiveDrive[] = [];
    for (const d of task.drives) {
      const net = netlist.netIndex.get(d.net);
      if (net === undefined)
        throw new RangeError(`a drive of ${d.net}, a net that the machine does not have`);
      const wave = deviated(solver, net, d.wave);
      if (d.ohms) {
        resistive.push({ net, siemens: 1 / d.ohms });
        this.softWaves.push(wave);
      } else {
        this.stiffNets.push(net);
        this.stiffWaves.push(wave);
      }
    }
    const coupled: number[] = [];
    for (const l of this.storage.inductances) {
      const nets = l.conductances.flatMap((c) => [netlist.conductances[c]!.a, netlist.conductances[c]!.b]);
      for (const a of nets) for (const b of nets) if (a < b) coupled.push(a, b);
    }
    const stiff = [...new Set(this.stiffNets)].sort((a, b) => a - b);
    const soft = resistive.map((d) => d.net);
    const whole = structureOf(netlist, stiff, soft, coupled);
    const moving = movingNets(
      netlist,
      [
        ...this.stiffNets.map((net, i) => ({ net, stiff: true, moves: isMoving(this.stiffWaves[i]!) })),
        ...soft.map((net, i) => ({ net, stiff: false, moves: isMoving(this.softWaves[i]!) })),
      ],
      (task.released ?? []).map(({ net }) => netlist.netIndex.get(net)!),
    );
    // What cannot move stands where it was found, like a net that is held. Of a state that is given nobody knows that it rests.
    const standing = task.start
      ? []
      : Array.from(moving.keys()).filter((net) => moving[net] === 0 && whole.unknown[net]! >= 0);
    const structure =
      standing.length === 0
        ? whole
        : structureOf(
            netlist,
            [...stiff, ...standing].sort((a, b) => a - b),
            soft,
            coupled,
          );
    let own = kept.get(solver);
    if (!own) {
      own = new Map();
      kept.set(solver, own);
    }
    let equations = own.get(structure);
    if (!equations) {
      equations = new StepEquations(netlist, solver.values, structure, this.storage, resistive.length);
      own.set(structure, equations);
    }
    this.equations = equations;
    this.resistive = resistive;
    this.netOf = structure.netOf;
    this.volts = equations.volts;
    const places = this.volts.length;
    this.now = new Float64Array(places);
    this.before = new Float64Array(places);
    this.earlier = new Float64Array(places);
    this.foretold = new Float64Array(places);
    this.savedVolts = new Float64Array(places);
    this.recorder = new Recorder(Int32Array.from(task.probes), task.thin ?? 0);
  }
  run(): Transient {
    const { solver, task, volts } = this;
    const { netlist, values } = solver;
    const drives = task.drives.map(({ net, wave, ohms = 0 }) => ({
      net,
      volts: voltsAt(wave, task.from),
      ohms,
    }));
    const held = (task.released ?? []).map((h) => ({ ...h, ohms: HOLD_OHMS }));
    const condition: Condition = { name: '', drives: [...drives, ...held], hints: task.hints ?? [] };
    let stateHeld = true;
    let begin = task.start?.volts;
    if (!begin) {
      const point = solver.solve(condition, {
        ...(task.edit ? { edit: task.edit } : {}),
        ...(task.near ? { start: task.near } : {}),
      });
      stateHeld = point.stateHeld;
      if (!point.converged) return this.result('no operating point', stateHeld, point.worst);
      begin = point.volts;
    }
    for (let i = 0; i < netlist.nets.length; i++) volts[i] = Number.isFinite(begin[i]) ? begin[i]! : 0;
    const restore = values.apply(task.edit);
    try {
      this.equations.prepare(this.resistive, volts, task.storageDeviations, task.edit);
      this.savedState = new Float64Array(this.equations.state.length);
      for (let i = 0; i < netlist.machine.rails.length; i++)
        volts[netlist.netIndex.get(netlist.machine.rails[i]!.net)!] = values.rails[i]!;
      volts[netlist.reference] = 0;
      this.setDrives(task.from);
      this.equations.rest(task.start?.windings);
      const why = this.integrate();
      return this.result(why, stateHeld, why ? this.equations.worst() : []);
    } finally {
      restore();
    }
  }

  private result(
    why: Transient['why'] | undefined,
    stateHeld: boolean,
    worst: Transient['worst'],
  ): Transient {
    const { equations, steps, rejected, iterations, task } = this;
    const nets = this.solver.netlist.nets.length;
    const { instants, volts } = this.recorder.result();
    const { unknown, reached } = equations.structure;
    const lost = (net: number): boolean => unknown[net]! < 0 && !reached[net];
    Array.from(task.probes).forEach((net, p) => {
      if (lost(net)) volts[p]!.fill(Number.NaN);
    });
    return {
      converged: why === undefined,
      ...(why ? { why } : {}),
      instants,
      volts,
      end: { at: this.t, volts: this.now.slice(0, nets), windings: equations.windingAmperes() },
      steps,
      rejected,
      iterations,
      stateHeld,
      worst,
    };
  }

  private setDrives(t: number): void {
    const { volts, stiffNets, stiffWaves, softWaves } = this;
    for (let i = 0; i < stiffNets.length; i++) volts[stiffNets[i]!] = voltsAt(stiffWaves[i]!, t);
    const first = this.solver.netlist.nets.length;
    for (let i = 0; i < softWaves.length; i++) volts[first + i] = voltsAt(softWaves[i]!, t);
  }

  private nextCorner(t: number): number {
    let next = this.task.to;
    const from = t + SAME_INSTANT;
    for (const w of this.stiffWaves) next = Math.min(next, nextBreak(w, from));
    for (const w of this.softWaves) next = Math.min(next, nextBreak(w, from));
    return next;
  }

  private integrate(): Transient['why'] | undefined {
    const { task, volts } = this;
    if ((task.start || task.released) && !this.standStill()) return 'no convergence';
    this.now.set(volts);
    this.recorder.add(this.t, volts);
    while (this.t < task.to) {
      const next = this.nextCorner(this.t);
      const why = this.stretch(next);
      if (why) return why;
    }
    return undefined;
  }

  /** From a state that is given: nets without charge take the voltages that belong to the charges of the others. */
  private standStill(): boolean {
    this.equations.begin(STANDSTILL, false);
    if (!this.newton()) return false;
    this.equations.accept();
    return true;
  }

  /** Newton's method from the present voltages, which are a guess. */
  private newton(): boolean {
    const { equations } = this;
    const enough = NEWTON_SHARE * this.tolerance;
    for (let k = 0; k < STEP_ITERATIONS; k++) {
      const limited = equations.evaluate();
      this.iterations++;
      if (!equations.solve()) return false;
      if (!limited && equations.bend() < enough) return true;
    }
    return false;
  }

  /** From one corner to the next. */
  private stretch(next: number): Transient['why'] | undefined {
    const { task, tolerance } = this;
    const longest = task.longestStep ?? Infinity;
    const most = task.mostSteps ?? MOST_STEPS;
    let h = this.leaveCorner(next);
    if (!(h > 0)) return 'no convergence';
    let h1 = h;
    let h2 = h;
    while (this.t < next) {
      if (this.steps >= most) return 'too many steps';
      const { t, equations, volts, netOf, foretold } = this;
      const left = next - t;
      h = Math.min(h, longest);
      let end = t + h;
      if (h > 0.999 * left) {
        h = left;
        end = next;
      } else if (2 * h > left) {
        h = left / 2;
        end = t + h;
      }
      const { now, before, earlier } = this;
      const a0 = ((h + h1) * (h + h1 + h2)) / (h1 * (h1 + h2));
      const a1 = (-h * (h + h1 + h2)) / (h1 * h2);
      const a2 = (h * (h + h1)) / ((h1 + h2) * h2);
      for (let i = 0; i < netOf.length; i++) {
        const net = netOf[i]!;
        const v = a0 * now[net]! + a1 * before[net]! + a2 * earlier[net]!;
        foretold[net] = v;
        volts[net] = v;
      }
      this.setDrives(end);
      equations.begin(h, true);
      const found = this.newton();
      let error = Infinity;
      if (found) {
        let apart = 0;
        for (let i = 0; i < netOf.length; i++) {
          const net = netOf[i]!;
          const d = Math.abs(volts[net]! - foretold[net]!);
          if (d > apart) apart = d;
        }
        error = (apart * (h * h)) / (h * h + 2 * (h + h1) * (h + h1 + h2));
      }
      if (!(error <= tolerance)) {
        this.rejected++;
        h *= found ? Math.max(0.1, SAFETY * Math.cbrt(tolerance / error)) : AFTER_FAILURE;
        if (!(h > leastStep(t))) return 'no convergence';
        volts.set(now);
        equations.limitFrom(now);
        continue;
      }
      equations.accept();
      this.steps++;
      this.t = end;
      this.now = earlier;
      this.before = now;
      this.earlier = before;
      earlier.set(volts);
      this.recorder.add(end, volts);
      h2 = h1;
      h1 = h;
      const growth = error > 0 ? SAFETY * Math.cbrt(tolerance / error) : MOST_GROWTH;
      if (growth >= LEAST_GROWTH || growth < 1) h *= Math.min(MOST_GROWTH, growth);
    }
    return undefined;
  }

  /**
   * Two equal steps away from a corner, the first by backward Euler; the bend of the three voltages tells its error
   * afterwards, h^2 v''/2.
   *
   * @returns the length of each, or NaN where even the shortest does not lead anywhere
   */
  private leaveCorner(next: number): number {
    const { equations, volts, savedVolts, savedState, netOf, tolerance, task } = this;
    const begin = this.t;
    const gap = next - begin;
    savedVolts.set(this.now);
    savedState.set(equations.state);
    let h = Number.isNaN(this.firstStep) ? FIRST_SHARE * gap : 2 * this.firstStep;
    h = Math.min(h, gap / 2, task.longestStep ?? Infinity);
    const { now: a, before: b, earlier: c } = this;
    for (;;) {
      volts.set(savedVolts);
      equations.limitFrom(savedVolts);
      this.setDrives(begin + h);
      equations.begin(h, false);
      let found = this.newton();
      let error = Infinity;
      const last = h === gap / 2;
      if (found) {
        equations.accept();
        b.set(volts);
        for (let i = 0; i < netOf.length; i++) {
          const net = netOf[i]!;
          volts[net] = 2 * volts[net]! - savedVolts[net]!;
        }
        this.setDrives(last ? next : begin + 2 * h);
        equations.begin(h, true);
        found = this.newton();
        if (found) {
          error = 0;
          for (let i = 0; i < netOf.length; i++) {
            const net = netOf[i]!;
            const bend = Math.abs(volts[net]! - 2 * b[net]! + savedVolts[net]!) / 2;
            if (bend > error) error = bend;
          }
        }
      }
      if (error <= tolerance) {
        equations.accept();
        this.steps += 2;
        if (h < gap / 2 || !(this.firstStep > h)) this.firstStep = h;
        this.recorder.add(begin + h, b);
        this.t = last ? next : begin + 2 * h;
        this.recorder.add(this.t, volts);
        c.set(savedVolts);
        a.set(volts);
        return h;
      }
      this.rejected++;
      equations.state.set(savedState);
      h *= found ? Math.max(0.05, SAFETY * Math.sqrt(tolerance / error)) : AFTER_FAILURE;
      if (!(h > leastStep(begin))) return Number.NaN;
    }
  }
}

/** A few units in the last place of the instant. */
function leastStep(t: number): number {
  return 1e-15 + 1e-14 * Math.abs(t);
}

/** A constant drive stands where the parts' deviations put its level. */
function deviated(solver: CircuitSolver, net: number, wave: DriveWave): DriveWave {
  if (wave.kind !== 'constant' || !solver.values.deviations) return wave;
  const level = solver.netlist.levels.findIndex((l) => l.net === net && l.volts === wave.volts);
  return level < 0 ? wave : { kind: 'constant', volts: solver.values.levels[level]! };
}
