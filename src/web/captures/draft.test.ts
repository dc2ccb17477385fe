import { describe, expect, it } from 'vitest';
import { textUnderstanding } from '../../capture/index.ts';
import type { UnderstandingView } from '../../server/index.ts';
import { checked, draftOf, numberOf } from './draft.ts';

const POINTS = new Set(['A/Q1.c']);

function understood(text: string): UnderstandingView {
  return textUnderstanding(new TextEncoder().encode(text), 'a.csv').understanding!;
}

const TIMED = understood('time (s),CH1 (V)\n0,-6\n1e-6,-5.9\n2e-6,-5.8\n');
const BARE = understood('-6.1\n-6.2\n-5.9\n');

describe('what a file is understood to hold', () => {
  it('comes back as it was where nothing is corrected', () => {
    const { understanding, faults, points } = checked(draftOf(TIMED), TIMED, POINTS);
    expect(faults.size).toBe(0);
    expect(understanding).toEqual(TIMED);
    expect(points).toEqual(['']);
  });

  it('takes corrections in either decimal sign', () => {
    const draft = draftOf(TIMED);
    const columns = draft.columns.map((column, i) =>
      i === 1 ? { ...column, factor: '0,001', probe: '10', offset: '-.5', point: 'A/Q1.c' } : column,
    );
    const { understanding, points } = checked({ ...draft, columns }, TIMED, POINTS);
    expect(understanding?.columns[1]).toMatchObject({ factor: 0.001, probe: 10, offset: -0.5 });
    expect(points).toEqual(['A/Q1.c']);
  });

  it.each([
    ['factor', '0', '1.factor', 'must not be 0'],
    ['factor', 'ten', '1.factor', '“ten” is no number'],
    ['probe', '-10', '1.probe', 'must be above 0'],
    ['offset', '', '1.offset', 'nothing is no number'],
    ['point', 'Q9', '1.point', 'no such point on this machine'],
  ] as const)('is not taken with %s %s, which is said at its field', (name, text, field, words) => {
    const draft = draftOf(TIMED);
    const columns = draft.columns.map((column, i) => (i === 1 ? { ...column, [name]: text } : column));
    const { understanding, faults } = checked({ ...draft, columns }, TIMED, POINTS);
    expect(understanding).toBeUndefined();
    expect(faults.get(field)).toBe(words);
  });

  it('asks for the sample interval where there are no times', () => {
    const draft = draftOf(BARE);
    expect(checked(draft, BARE, POINTS).faults.get('interval')).toBe('nothing is no number');
    expect(checked({ ...draft, interval: '2e-6' }, BARE, POINTS).understanding?.interval).toBe(2e-6);
  });

  it('needs a channel', () => {
    const draft = draftOf(TIMED);
    const columns = draft.columns.map((column) => ({ ...column, role: 'skip' as const }));
    const { others, faults } = checked({ ...draft, columns, interval: '1' }, TIMED, POINTS);
    expect([...faults]).toEqual([]);
    expect(others).toContain('no column is a channel');
  });
});

describe('a number in a field', () => {
  it('has no prefix and no words', () => {
    expect(['1e-3', '0,5', '−2', '.5'].map(numberOf)).toEqual([0.001, 0.5, -2, 0.5]);
    for (const text of ['', '1k', '1,2,3', '0x10', 'Infinity', '--1']) expect(numberOf(text)).toBeNaN();
  });
});
