import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Column, tableLines, wrapped } from './table.ts';

const same = (text: string): string => text;

const COLUMNS: readonly Column[] = [
  { title: 'point', align: 'left', cells: [{ text: 'SUM' }, { text: 'CARRYN' }] },
  { title: 'south', align: 'right', cells: [{ text: '−0.12' }, { text: '+12.40' }] },
  { title: 'off', align: 'right', cells: [{ text: '23' }, { text: '0.4' }] },
];

describe('a table', () => {
  it('is aligned, with the strip between', () => {
    const strip = {
      before: 1,
      title: (w: number) => '-'.repeat(w),
      cell: (row: number, w: number) => `${row}`.repeat(w),
    };
    expect(tableLines(COLUMNS, 45, same, strip)).toEqual([
      '  point   ----------------------   south  off',
      '  SUM     0000000000000000000000   −0.12   23',
      '  CARRYN  1111111111111111111111  +12.40  0.4',
    ]);
  });

  it('gives up the strip before a figure', () => {
    const strip = { before: 1, title: () => 'never', cell: () => 'never' };
    expect(tableLines(COLUMNS, 30, same, strip)).toEqual([
      '  point    south  off',
      '  SUM      −0.12   23',
      '  CARRYN  +12.40  0.4',
    ]);
  });

  it('leaves out a column with nothing in it', () => {
    const empty: Column = { title: 'north', align: 'right', cells: [{ text: '' }, { text: '' }] };
    expect(tableLines([COLUMNS[0]!, empty, COLUMNS[2]!], 40, same)[0]).toBe('  point   off');
  });

  it('folds when it is too narrow', () => {
    expect(tableLines(COLUMNS, 18, same)).toEqual([
      '  SUM',
      '    south −0.12',
      '    off 23',
      '  CARRYN',
      '    south +12.40',
      '    off 0.4',
    ]);
  });

  it('shows every figure at every width, and stays within it', () => {
    const cell = fc.record({ text: fc.stringMatching(/^[A-Z0-9.]{0,8}( [A-Z]{1,9}){0,5}$/) });
    const columns = fc.array(
      fc.record({
        title: fc.stringMatching(/^[a-z]{0,8}$/),
        align: fc.constantFrom('left' as const, 'right' as const),
        cells: fc.tuple(cell, cell),
      }),
      { minLength: 1, maxLength: 9 },
    );
    fc.assert(
      fc.property(columns, fc.integer({ min: 40, max: 160 }), (table, width) => {
        const lines = tableLines(table, width, same);
        const words = lines.join(' ').replaceAll(/\s+/g, ' ');
        for (const { text } of table.flatMap(({ cells }) => cells))
          if (text !== '') expect(words).toContain(text);
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(width);
      }),
    );
  });

  it('is painted after it is aligned', () => {
    const painted = [
      {
        title: 'a',
        align: 'right' as const,
        cells: [{ text: '1', paint: (t: string) => `<${t}>` }, { text: '22' }],
      },
    ];
    expect(tableLines(painted, 40, same)).toEqual(['   a', '   <1>', '  22']);
  });
});

describe('wrapped text', () => {
  it('hangs under its beginning', () => {
    expect(wrapped('one two three four', 12, '   ')).toEqual(['   one two', '   three', '   four']);
    expect(wrapped('one two', 40, '1  ', '   ')).toEqual(['1  one two']);
  });

  it('keeps every word', () => {
    fc.assert(
      fc.property(
        fc.array(fc.stringMatching(/^[a-z]{1,12}$/), { minLength: 1 }),
        fc.integer({ min: 5, max: 60 }),
        (words, width) => {
          expect(wrapped(words.join(' '), width).join(' ')).toBe(words.join(' '));
        },
      ),
    );
  });
});
