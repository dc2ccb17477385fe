import type { CompareView } from '../../server/index.ts';
import { verdictOf } from '../strip/index.ts';

export type CompareRow = CompareView['rows'][number];

/** By how far the right set is off the left one, in spreads; then what was read in both, then what was read in one. */
export function furthestFirst(rows: readonly CompareRow[]): CompareRow[] {
  const rank = ({ off, left, right }: CompareRow): number =>
    off !== null ? Math.abs(off) : left && right ? -1 : -2;
  return [...rows].sort((a, b) => rank(b) - rank(a));
}

/** How many were read in both sets, and how many of them are off. */
export function drifted(rows: readonly CompareRow[]): { both: number; departs: number; doubtful: number } {
  const both = rows.filter(({ left, right }) => left && right);
  const count = (verdict: string): number =>
    both.filter(({ off }) => off !== null && verdictOf(off) === verdict).length;
  return { both: both.length, departs: count('departs'), doubtful: count('doubtful') };
}
