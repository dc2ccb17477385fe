/** Which marks stand in the list beside the picture, and in what order one goes through them. */

import type { BenchRow } from '../../server/index.ts';
import type { ListKind } from './mark-list.tsx';
import type { Mark } from './marks.ts';

/** Departures in signal order with what is wanted among them; all of a kind otherwise. */
export function listedMarks(
  marks: readonly Mark[],
  list: ListKind,
  rows: ReadonlyMap<string, BenchRow>,
  wanted: string | undefined,
  orders: ReadonlyMap<string, number>,
): readonly Mark[] {
  if (list !== 'parting') return marks.filter(({ kind }) => kind === list);
  return marks.filter(({ name, kind }) => {
    const verdict = rows.get(name)?.verdict;
    return (
      kind === 'points' &&
      (name === wanted || orders.has(name) || verdict === 'departs' || verdict === 'doubtful')
    );
  });
}

export function marksAfter(listed: readonly Mark[], name: string): readonly Mark[] {
  const at = listed.findIndex((one) => one.name === name);
  return [...listed.slice(at + 1), ...listed.slice(0, Math.max(0, at))];
}

export function shortOf(marks: readonly Mark[], name: string): string {
  return marks.find((one) => one.name === name)?.short ?? name;
}
