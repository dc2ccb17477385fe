/**
 * The state that a circuit falls into under a fault, followed on the fault's neighbourhood alone: the way of `CircuitSolver`'s
 * pseudo-transient, with capacitances on the few nets that take part.
 */
import type { Hold, NearTask, Neighbourhood } from './neighbourhood.ts';

/** Of what holds a net, siemens. */
export const HOLD_SIEMENS = 1;
/** Capacitance over time of the first step, siemens; the steps grow. */
const FIRST_STEP = 3e-3;
const LAST_STEP = 1e-8;
/** On the way a step need not be exact, volts. */
const FOLLOW_SETTLED = 3e-3;
const FOLLOW_STEPS = 12;
const MOST_ROUNDS = 100;
const MOST_FAILURES = 12;

/**
 * Holds the hinted nets of the neighbourhood that `near`'s last try has met, lets go and follows them to rest, step by step of an
 * implicit Euler method; a step with a negative pivot is too long for what grows in it.
 *
 * @returns Newton steps, and whether a stable point was found, which is then in `near.volts`
 */
export function followedNear(
  near: Neighbourhood,
  start: Float64Array,
  task: NearTask,
  hints: readonly { readonly net: number; readonly volts: number }[],
): { found: boolean; steps: number } {
  let steps = 0;
  const solved = (from: Float64Array, change: Partial<NearTask>): boolean => {
    const found = near.solve(from, { ...task, ...change });
    steps += near.steps;
    return found;
  };
  const met = new Set(near.nets);
  const holds: Hold[] = hints.filter((h) => met.has(h.net)).map((h) => ({ ...h, siemens: HOLD_SIEMENS }));
  let at = start;
  if (holds.length > 0) {
    if (!solved(start, { holds })) return { found: false, steps };
    for (const net of near.nets) met.add(net);
    at = near.volts.slice();
  }
  let g = FIRST_STEP;
  let growth = 0.2;
  let failures = 0;
  let moved = 0;
  for (let round = 0; g > LAST_STEP || (moved > 1e-2 && g > 1e-13); round++) {
    if (round === MOST_ROUNDS || failures > MOST_FAILURES) return { found: false, steps };
    const shunts = Array.from(met, (net) => ({ net, volts: at[net]!, siemens: g }));
    const found = solved(at, { holds: shunts, settled: FOLLOW_SETTLED, steps: FOLLOW_STEPS });
    if (!found && near.crowded) return { found: false, steps };
    if (found && near.stable) {
      for (const net of near.nets) met.add(net);
      moved = 0;
      for (const net of met) moved = Math.max(moved, Math.abs(near.volts[net]! - at[net]!));
      at = near.volts.slice();
      g *= growth;
      // A narrow place is passed slowly; behind it the steps grow again.
      growth = Math.max(0.2, growth * 0.75);
    } else {
      growth = 0.6;
      g *= found ? 2 : 5;
      failures++;
    }
  }
  const found = solved(at, {}) && near.stable;
  return { found, steps };
}
