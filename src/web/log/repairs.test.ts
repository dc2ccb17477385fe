import { describe, expect, it } from 'vitest';
import type { LogEntryView, RepairView } from '../../server/index.ts';
import { namesIn, partAndMode, suspectsIn, unknown } from './entry-text.ts';
import { pointsBack, progressOf, progressWords, proofText } from './proof.ts';
import { byRepairs, standingEntries } from './repairs.ts';

const entry = (id: string, kind: string, date: string, more: Partial<LogEntryView> = {}): LogEntryView => ({
  id,
  unit: 'south',
  date,
  kind,
  text: `${kind} ${id}`,
  points: [],
  suspects: [],
  replaces: '',
  superseded: false,
  withdrawn: false,
  note: '',
  ...more,
});
const ids = (list: readonly { readonly entry: LogEntryView }[]): string[] => list.map((one) => one.entry.id);

describe('the log by repairs', () => {
  it('opens one at a symptom and closes it at the proof; what lies between belongs to it', () => {
    const log = [
      entry('1', 'note', '2020-01-01'),
      entry('2', 'symptom', '2021-02-01'),
      entry('3', 'finding', '2021-02-02'),
      entry('4', 'replaced', '2021-02-03'),
      entry('5', 'proof', '2021-02-04'),
      entry('6', 'note', '2022-01-01'),
      entry('7', 'symptom', '2023-01-01'),
      entry('8', 'symptom', '2023-01-02'),
    ];
    const { repairs, loose } = byRepairs(log);
    expect(repairs.map(({ entries }) => ids(entries))).toEqual([
      ['7', '8'],
      ['2', '3', '4', '5'],
    ]);
    expect(repairs.map(({ closed, from }) => [closed?.id, from])).toEqual([
      [undefined, '2021-02-04'],
      ['5', ''],
    ]);
    expect(ids(loose)).toEqual(['6', '1']);
  });

  it('keeps the units apart', () => {
    const log = [
      entry('1', 'symptom', '2021-01-01'),
      entry('2', 'symptom', '2021-01-02', { unit: 'north' }),
      entry('3', 'proof', '2021-01-03', { unit: 'north' }),
      entry('4', 'note', '2021-01-04'),
    ];
    expect(byRepairs(log).repairs.map(({ unit, entries }) => [unit, ids(entries)])).toEqual([
      ['north', ['2', '3']],
      ['south', ['1', '4']],
    ]);
  });

  it('goes by the dates, and by the order of writing on one day', () => {
    const log = [
      entry('1', 'proof', '2021-05-05'),
      entry('2', 'symptom', '2021-05-01'),
      entry('3', 'finding', '2021-05-05'),
    ];
    expect(byRepairs(log).repairs.map(({ entries }) => ids(entries))).toEqual([['2', '1']]);
  });

  it('shows what stands with what it has superseded behind it, and knows a repair by its first entry', () => {
    const log = [
      entry('1', 'symptom', '2021-01-01', { superseded: true }),
      entry('2', 'symptom', '2021-01-01', { replaces: '1', superseded: true }),
      entry('3', 'symptom', '2021-01-01', { replaces: '2' }),
      entry('4', 'note', '2021-01-02', { withdrawn: true }),
    ];
    const [standing, ...others] = standingEntries(log);
    expect(others).toEqual([]);
    expect(standing!.earlier.map(({ id }) => id)).toEqual(['2', '1']);
    expect(byRepairs(log).repairs[0]!.key).toBe('1');
  });

  it('is not held up by entries that claim to replace one another', () => {
    const log = [entry('1', 'note', '', { replaces: '2' }), entry('2', 'note', '', { replaces: '1' })];
    expect(standingEntries(log).map(({ earlier }) => earlier.length)).toEqual([1, 1]);
  });
});

describe('the proof of a repair', () => {
  const judged = (id: number, verdict: 'sound' | 'doubtful' | 'departs') => ({
    id,
    value: 0,
    takenAt: '',
    off: 0,
    verdict,
  });
  const row = (point: string, now: ReturnType<typeof judged>): RepairView['rows'][number] => ({
    state: 'held',
    point,
    sound: { value: 0, sigma: 1 },
    learnt: false,
    departed: judged(1, 'departs'),
    now,
  });
  const rows = [
    row('A', judged(1, 'departs')),
    row('B', judged(2, 'sound')),
    row('C', judged(3, 'departs')),
    row('D', judged(4, 'doubtful')),
  ];

  it('is a point read again and found sound: an old reading proves nothing', () => {
    expect(rows.map(progressOf)).toEqual(['unread', 'back', 'departs', 'doubtful']);
  });
  it('names the points that are back and those that are not', () => {
    expect(pointsBack(rows)).toEqual(['B']);
    expect(progressWords(rows)).toBe('1 off still, 1 doubtful, 1 not read again, 1 back');
    expect(proofText(rows)).toBe(
      '1 of 4 points that departed are back within the sound spread; not proved: A, C, D.',
    );
    expect(proofText(rows.slice(1, 2))).toBe('1 of 1 points that departed are back within the sound spread.');
  });
});

describe('an entry as it is typed', () => {
  it('holds names apart by spaces or commas', () => {
    expect(namesIn(' SUM, CARRY  SUM;ADD/Q7.b ')).toEqual(['SUM', 'CARRY', 'ADD/Q7.b']);
    expect(unknown(['SUM', 'CARY'], ['SUM', 'CARRY'])).toEqual(['CARY']);
  });
  it('takes a double fault for two', () => {
    expect(suspectsIn(['A/Q1:open-b + A/R2:open', 'A/R2:open'])).toEqual(['A/Q1:open-b', 'A/R2:open']);
    expect(partAndMode('A/R2:open-joint:1')).toEqual({ part: 'A/R2', mode: 'open-joint:1' });
    expect(partAndMode('A/R2')).toEqual({ part: 'A/R2', mode: '' });
  });
});
