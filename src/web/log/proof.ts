/** How far a repair is: which of the points that departed are back within the sound spread. */

import type { RepairView } from '../../server/index.ts';

export type RepairRow = RepairView['rows'][number];
export type Progress = 'back' | 'departs' | 'doubtful' | 'unread';

/** Of one point: not read again since it departed, or what its last reading says. */
export function progressOf({ departed, now }: Pick<RepairRow, 'departed' | 'now'>): Progress {
  if (now.id === departed.id) return 'unread';
  return now.verdict === 'sound' ? 'back' : now.verdict;
}

const ORDER: readonly Progress[] = ['departs', 'doubtful', 'unread', 'back'];

/** `1 departs still, 2 not read again, 4 back` */
export function progressWords(rows: readonly RepairRow[]): string {
  const counts = new Map<Progress, number>();
  for (const row of rows) counts.set(progressOf(row), (counts.get(progressOf(row)) ?? 0) + 1);
  const words = { departs: 'off still', doubtful: 'doubtful', unread: 'not read again', back: 'back' };
  return ORDER.flatMap((one) => (counts.has(one) ? [`${counts.get(one)} ${words[one]}`] : [])).join(', ');
}

/** What the proof says: how many points are back and which are not. */
export function proofText(rows: readonly RepairRow[]): string {
  const back = rows.filter((row) => progressOf(row) === 'back');
  const left = rows.filter((row) => progressOf(row) !== 'back');
  const all = `${back.length} of ${rows.length} points that departed are back within the sound spread`;
  if (left.length === 0) return `${all}.`;
  const names = [...new Set(left.map(({ point }) => point))].join(', ');
  return `${all}; not proved: ${names}.`;
}

/** The points that are back, each once, whatever the state. */
export function pointsBack(rows: readonly RepairRow[]): string[] {
  return [...new Set(rows.filter((row) => progressOf(row) === 'back').map(({ point }) => point))];
}
