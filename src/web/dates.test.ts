import { describe, expect, it } from 'vitest';
import { byDate, dayWords, shortDay, today } from './dates.ts';

describe('a date', () => {
  it('is written out, as far as it is known', () => {
    expect(dayWords('2024-11-09')).toBe('9 November 2024');
    expect(dayWords('2024-11-09T12:30:00Z')).toBe('9 November 2024');
    expect(dayWords('1968-05')).toBe('May 1968');
    expect(dayWords('')).toBe('');
    expect(dayWords('long ago')).toBe('long ago');
    expect(shortDay('2024-09-09')).toBe('9 Sept 2024');
    expect(shortDay('2024-11-09')).toBe('9 Nov 2024');
  });
  it('of today is that of this computer', () => {
    expect(today(new Date(2024, 0, 5, 23, 59))).toBe('2024-01-05');
  });
  it('stands before the moments of its day, after those of the day before', () => {
    const given = ['2024-11-09T10:00:00Z', '2024-11-10', '', '2024-11-09', '2024-11-08T23:00:00Z'];
    expect(given.toSorted(byDate)).toEqual([
      '',
      '2024-11-08T23:00:00Z',
      '2024-11-09',
      '2024-11-09T10:00:00Z',
      '2024-11-10',
    ]);
  });
});
