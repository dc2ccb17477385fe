/**
 * The periodic steady state of a clocked circuit: the state that one period of the drives leads back to itself.
 *
 * The map of a period, P(x), is run from x to x; waiting is x <- P(x). What has settled after some periods but for a few slow
 * voltages (coupling and decoupling capacitors) is extrapolated: Anderson's combination of the last periods,
 * whose changes cancel best. Where that does not help, it goes on waiting.
 *
 * @source D. G. Anderson, J. ACM 12 (1965) 547-560, iterative procedures for nonlinear integral equations; T. J. Aprille,
 * T. N. Trick, Proc. IEEE 60 (1972) 108-114, the steady state as a fixed point of the period's map (both from memory)
 */
import type { CircuitSolver } from '../operating-point.ts';
import { storageOf } from './storage.ts';
import { type Transient, type TransientState, type TransientTask, transient } from './transient.ts';

export interface PeriodicTask extends Omit<TransientTask, 'to'> {
  /**
   * Seconds in which all drives together repeat from `from` on, and with them the circuit: of a counter the whole
   * count, of an oscillator that no drive commands there is none.
   */
  readonly period: number;
  /** A net may be so far from the state that repeats, volts; 10 mV where nothing is said. */
  readonly agreement?: number;
  /** Gives up after so many; 200 where nothing is said. */
  readonly mostPeriods?: number;
  /** Waits only. */
  readonly waitOnly?: boolean;
}

export interface PeriodicState {
  /** False: no state that repeats within `mostPeriods`; `waveform` is the last period. */
  readonly found: boolean;
  /** How: by waiting alone, or with slow voltages extrapolated. */
  readonly by: 'waiting' | 'extrapolation';
  /** Periods that were run in all. */
  readonly periods: number;
  /** Largest change of a net over the last period, volts. */
  readonly change: number;
  /** The last period, from `from` to `from + period`. */
  readonly waveform: Transient;
  /** Steps and Newton iterations of all periods. */
  readonly steps: number;
  readonly iterations: number;
}

const AGREEMENT = 0.01;
const MOST_PERIODS = 200;
/** A change of so small a part of the agreement is rounding and step control. */
const NOISE_SHARE = 500;
/** Periods that are remembered. */
const MEMORY = 5;
/** A state that moves by so small a part of the agreement in all the periods remembered has come to rest. */
const DRIFT_SHARE = 10;
/** An extrapolation goes so many times as far as the last period, at most. */
const MOST_REACH = 200;
/** Periods that are waited before anything is extrapolated, and after each extrapolation. */
const SETTLING = 3;
const AFTER = 2;
/** Below this share of the change before, waiting is quick enough. */
const QUICK = 0.3;
/** What is stirred up by an extrapolation, at most, times the change before it; once that has died away it must be less. */
const MOST_STIR = 30;

/** Runs period after period from the operating point, or from `task.start`, to the state that repeats. */
export function periodicState(solver: CircuitSolver, task: PeriodicTask): PeriodicState {
  const { period, agreement = AGREEMENT, mostPeriods = MOST_PERIODS, waitOnly, ...rest } = task;
  const { netlist } = solver;
  const nets = netlist.nets.length;
  // Currents count as the volts that they are on their wires.
  const ohms = storageOf(netlist).inductances.flatMap((l) =>
    l.conductances.map((c) => 1 / netlist.conductances[c]!.siemens),
  );
  const vectorOf = ({ volts, windings }: TransientState): Float64Array => {
    const x = new Float64Array(nets + windings.length);
    x.set(volts);
    windings.forEach((i, k) => {
      x[nets + k] = i * ohms[k]!;
    });
    return x;
  };
  const stateOf = (x: Float64Array): TransientState => ({
    volts: x.slice(0, nets),
    windings: ohms.map((r, k) => x[nets + k]! / r),
  });

  let start: TransientState | undefined = task.start;
  let by: PeriodicState['by'] = 'waiting';
  let steps = 0;
  let iterations = 0;
  let change = Infinity;
  let before = Infinity;
  let settling = SETTLING;
  let worse = 0;
  /** Periods that were waited one after the other. */
  let plain = 0;
  let slowest = 0;
  let agreedBefore = false;
  let atJump = Infinity;
  let safe: TransientState | undefined;
  /** Where the periods began, and their changes. */
  let memory: { x: Float64Array; f: Float64Array }[] = [];
  for (let periods = 1; ; periods++) {
    const waveform = transient(solver, { ...rest, ...(start ? { start } : {}), to: rest.from + period });
    steps += waveform.steps;
    iterations += waveform.iterations;
    const result = (found: boolean): PeriodicState => ({
      found,
      by,
      periods,
      change,
      waveform,
      steps,
      iterations,
    });
    const goBack = (): void => {
      worse++;
      memory = [];
      before = Infinity;
      atJump = Infinity;
      settling = SETTLING * 2 ** worse;
      plain = 0;
      start = safe;
    };
    if (!waveform.converged) {
      if (!Number.isFinite(atJump) || periods >= mostPeriods) return result(false);
      goBack();
      continue;
    }
    const y = vectorOf(waveform.end);
    if (start) {
      const x = vectorOf(start);
      const f = y.map((v, i) => v - x[i]!);
      change = furthest(x, y);
      memory.push({ x, f });
      if (memory.length > MEMORY) memory.shift();
      plain++;
      // Rounding and step control move it about one place.
      if (plain >= MEMORY && furthest(memory[0]!.x, y) <= agreement / DRIFT_SHARE) return result(true);
      // What is left of an error after a period says how far the state is from the one that repeats; the slowest that was seen counts.
      const left = change / before;
      if (Number.isFinite(before)) {
        if (left < 1 && left > slowest) slowest = left;
        const apart = left < 1 ? (change * slowest) / (1 - slowest) : Infinity;
        const settled = apart <= agreement && furthest(combined(memory, agreement), y) <= agreement;
        const agreed = change <= agreement && (settled || change <= agreement / NOISE_SHARE);
        // Once may be what is quick dying away, with something slow beneath it.
        if (agreed && agreedBefore) return result(true);
        agreedBefore = agreed;
      }
      before = change;
      settling--;
      if (periods >= mostPeriods) return result(false);
      if (change > (settling > 0 ? MOST_STIR : 1) * atJump) {
        goBack();
        continue;
      }
      if (!waitOnly && settling <= 0 && memory.length >= 2 && left > QUICK && left < 1) {
        safe = waveform.end;
        start = stateOf(combined(memory, agreement));
        by = 'extrapolation';
        atJump = change;
        before = Infinity;
        settling = AFTER;
        plain = 0;
        continue;
      }
    }
    if (periods >= mostPeriods) return result(false);
    start = { volts: waveform.end.volts, windings: waveform.end.windings };
  }
}

/**
 * The combination of the periods, with weights that add up to one, whose changes cancel best; where it leads, but not further than
 * the slowest voltage that is worth it would go.
 */
function combined(memory: readonly { x: Float64Array; f: Float64Array }[], agreement: number): Float64Array {
  const last = memory.at(-1)!;
  const change = furthest(last.f, new Float64Array(last.f.length));
  const others = memory.slice(0, -1).filter(({ f }) => furthest(f, last.f) > agreement / NOISE_SHARE);
  // Differences to the last, and their normal equations, a little heavier on the diagonal.
  const df = others.map(({ f }) => f.map((v, i) => v - last.f[i]!));
  const a = df.map((p) => df.map((q) => dot(p, q)));
  const b = df.map((p) => -dot(p, last.f));
  df.forEach((_, i) => {
    a[i]![i]! *= 1 + 1e-8;
  });
  const weight = solved(a, b);
  const move = last.f.map((_, i) =>
    others.reduce((sum, { x }, k) => sum + weight[k]! * (x[i]! - last.x[i]! + df[k]![i]!), 0),
  );
  const far = furthest(move, new Float64Array(move.length));
  const share = far > MOST_REACH * change ? (MOST_REACH * change) / far : 1;
  return last.x.map((v, i) => v + last.f[i]! + share * move[i]!);
}

function furthest(p: Float64Array, q: Float64Array): number {
  let most = 0;
  for (let i = 0; i < p.length; i++) most = Math.max(most, Math.abs(p[i]! - q[i]!));
  return most;
}

function dot(p: Float64Array, q: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < p.length; i++) sum += p[i]! * q[i]!;
  return sum;
}

/** Gaussian elimination of a small positive definite system. */
function solved(a: number[][], b: number[]): number[] {
  const n = b.length;
  for (let p = 0; p < n; p++)
    for (let r = p + 1; r < n; r++) {
      const factor = a[r]![p]! / a[p]![p]!;
      for (let c = p; c < n; c++) a[r]![c]! -= factor * a[p]![c]!;
      b[r]! -= factor * b[p]!;
    }
  for (let r = n - 1; r >= 0; r--) {
    for (let c = r + 1; c < n; c++) b[r]! -= a[r]![c]! * b[c]!;
    b[r]! /= a[r]![r]!;
  }
  return b;
}
