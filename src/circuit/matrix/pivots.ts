import type { Plan } from './plan.ts';
import type { Symbolic } from './symbolic.ts';

/** Pivots below zero of one of `systems` interleaved ones. */
export function negativePivots(plan: Plan, places: Float64Array, systems: 1 | 2, half: 0 | 1): number {
  const { pivots } = plan;
  let count = 0;
  for (let k = 0; k < pivots.length; k++) if (places[pivots[k]! * systems + half]! < 0) count++;
  return count;
}

/**
 * Smallest of |pivot| / largest magnitude in the pivot's row of the matrix. Where it nears the rounding error, about
 * 1e-16, cancellation has eaten the pivot: the matrix is singular, or wants another order.
 */
export function smallestPivotRatio(
  symbolic: Symbolic,
  plan: Plan,
  places: Float64Array,
  systems: 1 | 2,
  half: 0 | 1,
): number {
  const { rowStart } = symbolic.pattern;
  let smallest = Number.POSITIVE_INFINITY;
  for (const [k, i] of symbolic.order.entries()) {
    let largest = 0;
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++)
      largest = Math.max(largest, Math.abs(places[e * systems + half]!));
    smallest = Math.min(smallest, Math.abs(1 / places[plan.pivots[k]! * systems + half]!) / largest);
  }
  return smallest;
}
