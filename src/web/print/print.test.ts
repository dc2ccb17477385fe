import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { outcomesOf, whereTo } from './outcomes.ts';
import { type Group, pagesOf } from './pagination.ts';

const HEIGHTS = { row: 7, group: 5, scale: 10 };
const group = (text: string, rows: number, family = 0): Group<string> => ({
  text,
  family,
  rows: Array.from({ length: rows }, (_, i) => `${text}${i}`),
});
const heightOf = (page: readonly Group<string>[]): number =>
  page.reduce(
    (sum, one, i) =>
      sum +
      HEIGHTS.group +
      one.rows.length * HEIGHTS.row +
      (i > 0 && page[i - 1]!.family !== one.family ? HEIGHTS.scale : 0),
    0,
  );

describe('pages of a bench sheet', () => {
  const groups = fc.array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 0, max: 1 })), {
    maxLength: 12,
  });
  const room = fc.integer({ min: 12, max: 250 });

  it('hold every line once, in its order, and no more than there is room for', () => {
    fc.assert(
      fc.property(groups, room, room, (sizes, first, more) => {
        const given = sizes.map(([rows, family], i) => group(`g${i}-`, rows, family));
        const later = Math.max(first, more);
        const pages = pagesOf(given, HEIGHTS, [first, later]);
        expect(pages.flat().flatMap(({ rows }) => rows)).toEqual(given.flatMap(({ rows }) => rows));
        pages.forEach((page, i) => {
          expect(heightOf(page)).toBeLessThanOrEqual(i === 0 ? first : later);
        });
      }),
    );
  });

  it('do not cut a stage that fits on a page', () => {
    fc.assert(
      fc.property(groups, room, (sizes, later) => {
        const given = sizes.map(([rows, family], i) => group(`g${i}-`, rows, family));
        const pages = pagesOf(given, HEIGHTS, [later, later]);
        for (const one of given) {
          if (HEIGHTS.group + one.rows.length * HEIGHTS.row > later) continue;
          expect(pages.filter((page) => page.some(({ text }) => text === one.text))).toHaveLength(1);
        }
      }),
    );
  });

  it('name a stage again where it goes on', () => {
    const pages = pagesOf([group('a', 10)], HEIGHTS, [40, 40]);
    expect(pages.map((page) => page.map(({ text, rows }) => [text, rows.length]))).toEqual([
      [['a', 5]],
      [['a', 5]],
    ]);
  });

  it('leave a first page without room to what stands on it, and come to an end whatever the room', () => {
    expect(pagesOf([group('a', 2)], HEIGHTS, [3, 40]).map((page) => page.length)).toEqual([0, 1]);
    expect(pagesOf([group('a', 3)], HEIGHTS, [3, 3]).map((page) => page[0]!.rows.length)).toEqual([1, 1, 1]);
  });
});

describe('what a reading decides', () => {
  const suspect = (key: string, probability: number) => ({ key, probability });
  const answer = (list: readonly ReturnType<typeof suspect>[]) =>
    ({ suspects: list }) as unknown as Parameters<typeof outcomesOf>[1];
  it('is a range for suspects that it cannot part, and another for each that it can', () => {
    const shows = [
      { key: 'a', value: 0, sigma: 0.1 },
      { key: 'b', value: -6, sigma: 0.2 },
      { key: 'c', value: -6.3, sigma: 0.2 },
      { key: 'rare', value: 3, sigma: 0.1 },
    ];
    const found = outcomesOf(
      { shows },
      answer([suspect('a', 0.3), suspect('b', 0.2), suspect('c', 0.4), suspect('rare', 0.005)]),
    );
    expect(found.map(({ keys }) => keys)).toEqual([['c', 'b'], ['a']]);
    expect(found[0]!.low).toBeCloseTo(-6.7, 9);
    expect(found[0]!.high).toBeCloseTo(-5.6, 9);
    expect(found[0]!.value).toBeCloseTo(-6.2, 9);
  });
  it('is nothing where nothing is foreseen', () => {
    expect(outcomesOf({ shows: [] }, answer([]))).toEqual([]);
  });
  it('leads to a line of the sheet, to a point elsewhere, or to a second kind of evidence', () => {
    const lines = [{ line: 7, point: { point: 'SUM' } }];
    const then = (
      parts: readonly (readonly [string, number])[],
      next: readonly (readonly [string, string])[],
    ) =>
      ({
        suspects: parts.map(([part, probability]) => ({
          parts: [part],
          probability,
          confirm: [`power off, ohms at ${part}`],
        })),
        next: next.map(([state, point]) => ({ state, point })),
      }) as unknown as Parameters<typeof whereTo>[0];
    const doubt = [
      ['A/Q1', 0.5],
      ['A/R1', 0.4],
    ] as const;
    expect(whereTo(then(doubt, [['held', 'SUM']]), 'held', lines)).toBe('Go to line 7, SUM.');
    expect(whereTo(then(doubt, [['held', 'OUT']]), 'held', lines)).toBe(
      'Then OUT, which is not on this sheet.',
    );
    expect(whereTo(then(doubt, [['clear', 'SUM']]), 'held', lines)).toBe('Then SUM in the state clear.');
    // Two modes of one part make it sure.
    const sure = [
      ['A/Q1', 0.6],
      ['A/Q1', 0.35],
    ] as const;
    expect(whereTo(then(sure, [['held', 'SUM']]), 'held', lines)).toBe('Power off, ohms at A/Q1.');
    expect(whereTo(then(doubt, []), 'held', lines)).toBe('Power off, ohms at A/Q1.');
    expect(whereTo(then([], []), 'held', lines)).toBe('');
  });
});
