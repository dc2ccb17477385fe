/** A running condition followed in time: sound, deviated or under a fault. */
import {
  type CircuitSolver,
  type Edit,
  type PeriodicState,
  periodicState,
  type TimedDrive,
  type Transient,
  type TransientState,
  type TransientTask,
  transient,
} from '../../circuit/index.ts';
import type { Condition } from '../../machine/index.ts';
import { jumpsAtStart, restOf, type Span, spanOf, waveOf } from './span.ts';

/** Steps may err by so much, volts; what is read at a bench is not surer. */
const TOLERANCE = 5e-3;
/** A state repeats when no net is further from it than this, volts. */
const AGREEMENT = 0.03;
/** Samples that a straight line tells as well as this are left out, volts. */
const THIN = 2e-3;
/** Periods of the drives in which a counter is looked for that divides them, and how near it comes back, volts. */
const DIVIDED = 40;
const MOST_DIVISOR = 20;
const BACK_VOLTS = 0.25;
/** Periods waited for the sound state, and for a fault's from there on. */
const SOUND_PERIODS = 120;
const FAULT_PERIODS = 14;
/** A second period that changes the state by less, volts, or by so small a share of the first one's change, is the last. */
const STILL_VOLTS = 4e-3;
const AT_ONCE = 0.1;
/** A run is given up after so many steps for each that the sound one took, and at least so many. */
const MOST_STEPS = 25;
const LEAST_STEPS = 4000;
/** Before time 0 the drives rest for so long, seconds: charges stand still at an operating point. */
const BEFORE = 1e-6;

/** What a condition does from its begin on, and how to follow it again under a fault. */
export interface Course {
  readonly span: Span;
  /** What of the waveform is told: two turns of what repeats, so that no pulse is cut; else the stretch that is watched. */
  readonly instants: Float64Array;
  /** By net. */
  readonly volts: readonly Float64Array[];
}

/** The sound run of a condition, from which those under faults begin. */
export interface SoundCourse extends Course {
  readonly steps: number;
  /** Where the period begins, of what repeats. */
  readonly begin: TransientState | undefined;
  /** It was found and repeats; else the last of what was run. */
  readonly settled: boolean;
}

export interface FollowOptions {
  readonly edit?: Edit;
  /** Deviations of the storage's parameters; those of the parts are the solver's. */
  readonly storageDeviations?: Float64Array;
}

function tasked(
  solver: CircuitSolver,
  condition: Condition,
  { edit, storageDeviations }: FollowOptions,
): Omit<TransientTask, 'from' | 'to'> {
  return {
    drives: condition.drives.map(
      (drive): TimedDrive => ({ net: drive.net, wave: waveOf(drive), ohms: drive.ohms }),
    ),
    probes: Int32Array.from(solver.netlist.nets, (_, i) => i),
    tolerance: TOLERANCE,
    thin: THIN,
    ...(edit === undefined ? {} : { edit }),
    ...(storageDeviations === undefined ? {} : { storageDeviations }),
  };
}

/**
 * The sound course of a condition with the parts as the solver has them.
 *
 * @returns undefined when it cannot be followed
 */
export function soundCourse(
  solver: CircuitSolver,
  condition: Condition,
  options: FollowOptions = {},
): SoundCourse | undefined {
  const span = spanOf(condition);
  const task = tasked(solver, condition, options);
  if (!span.repeats) {
    const run = fromRest(solver, condition, task, span);
    return run?.converged
      ? { span, ...watched(run, span), steps: run.steps, begin: undefined, settled: true }
      : undefined;
  }
  const turn = span.to - span.from;
  const first = fromRest(solver, condition, task, { ...span, to: span.from + turn });
  if (!first?.converged) return undefined;
  const divisor = divisorOf(solver, task, span, first.end);
  const whole: Span = { ...span, to: span.from + divisor.turns * turn };
  const found = periodicState(solver, {
    ...task,
    from: span.from,
    period: whole.to - whole.from,
    agreement: AGREEMENT,
    mostPeriods: SOUND_PERIODS,
    start: divisor.state,
  });
  if (!found.waveform.converged) return undefined;
  const { end, steps } = found.waveform;
  return { span: whole, ...repeated(found.waveform, whole), steps, begin: end, settled: found.found };
}

/**
 * The course under a fault, or with the parts otherwise: from where the sound one stands, in the same span.
 *
 * @returns undefined when it cannot be followed
 */
export function courseLike(
  solver: CircuitSolver,
  condition: Condition,
  sound: SoundCourse,
  options: FollowOptions,
): Course | undefined {
  const { span } = sound;
  const mostSteps = Math.max(LEAST_STEPS, MOST_STEPS * sound.steps);
  const task = { ...tasked(solver, condition, options), mostSteps };
  if (sound.begin === undefined) {
    const run = fromRest(solver, condition, task, span);
    return run?.converged ? { span, ...watched(run, span) } : undefined;
  }
  // Most faults settle at once: then the second period is the answer.
  const first = transient(solver, { ...task, ...span, start: sound.begin });
  const second = first.converged ? transient(solver, { ...task, ...span, start: first.end }) : first;
  if (second.converged) {
    const [before, after] = [change(sound.begin, first.end), change(first.end, second.end)];
    if (after <= Math.max(STILL_VOLTS, Math.min(AT_ONCE * before, AGREEMENT / 2)))
      return { span, ...repeated(second, span) };
  }
  const found: PeriodicState = periodicState(solver, {
    ...task,
    from: span.from,
    period: span.to - span.from,
    agreement: AGREEMENT,
    mostPeriods: FAULT_PERIODS,
    start: second.converged ? second.end : sound.begin,
  });
  return found.waveform.converged ? { span, ...repeated(found.waveform, span) } : undefined;
}

function change(from: TransientState, to: TransientState): number {
  let most = 0;
  from.volts.forEach((v, i) => {
    most = Math.max(most, Math.abs(v - to.volts[i]!));
  });
  return most;
}

/** From the operating point before time 0, hinted nets held until then, to the end of a span. */
function fromRest(
  solver: CircuitSolver,
  condition: Condition,
  task: Omit<TransientTask, 'from' | 'to'>,
  { to }: Span,
): Transient | undefined {
  const released = condition.hints;
  if (!condition.drives.some(jumpsAtStart))
    return transient(solver, { ...task, ...(released.length > 0 ? { released } : {}), from: 0, to });
  const before = transient(solver, {
    ...task,
    drives: condition.drives.map((drive) => ({ net: drive.net, wave: restOf(drive), ohms: drive.ohms })),
    hints: released,
    from: -BEFORE,
    to: 0,
  });
  return before.converged ? transient(solver, { ...task, start: before.end, from: 0, to }) : undefined;
}

/** After how many turns of the drives the circuit is where it was: of a counter the whole count. */
function divisorOf(
  solver: CircuitSolver,
  task: Omit<TransientTask, 'from' | 'to'>,
  span: Span,
  begin: TransientState,
): { turns: number; state: TransientState } {
  const states: TransientState[] = [begin];
  const near = (a: TransientState, b: TransientState): boolean =>
    a.volts.every((v, i) => !(Math.abs(v - b.volts[i]!) > BACK_VOLTS));
  /** The last two states have each come back after so many turns. */
  const back = (turns: number): boolean =>
    states.length > turns + 1 && [1, 2].every((k) => near(states.at(-k)!, states.at(-k - turns)!));
  for (let n = 1; n <= DIVIDED; n++) {
    const run = transient(solver, {
      ...task,
      probes: [],
      from: span.from,
      to: span.to,
      start: states.at(-1)!,
    });
    if (!run.converged) break;
    states.push({ volts: run.end.volts, windings: run.end.windings });
    if (n >= 2 && back(1)) return { turns: 1, state: states.at(-1)! };
    for (let turns = 2; turns <= MOST_DIVISOR && 2 * turns < states.length; turns++)
      if (back(turns)) return { turns, state: states.at(-1)! };
  }
  // The drives' phase does not tell where a state belongs that repeats otherwise than they do.
  return { turns: 1, state: states.at(-1)! };
}

function watched({ instants, volts }: Transient, span: Span): Pick<Course, 'instants' | 'volts'> {
  const first = instants.findIndex((t) => t >= span.from);
  return first <= 0
    ? { instants, volts }
    : { instants: instants.slice(first), volts: volts.map((v) => v.slice(first)) };
}

/** Two turns, one after the other. */
function repeated({ instants, volts }: Transient, span: Span): Pick<Course, 'instants' | 'volts'> {
  const turn = span.to - span.from;
  const n = instants.length;
  const twice = new Float64Array(2 * n - 1);
  twice.set(instants);
  for (let i = 1; i < n; i++) twice[n - 1 + i] = instants[i]! + turn;
  return {
    instants: twice,
    volts: volts.map((v) => {
      const both = new Float64Array(2 * n - 1);
      both.set(v);
      both.set(v.subarray(1), n);
      return both;
    }),
  };
}
