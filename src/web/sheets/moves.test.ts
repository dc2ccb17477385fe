import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { moved, rangeOf, stepped, within } from './moves.ts';

const EXTENT = { rows: 5, columns: 3, page: 2 };
const cell = fc.record({ row: fc.integer({ min: 0, max: 4 }), column: fc.integer({ min: 0, max: 2 }) });
const KEYS = ['ArrowUp', 'ArrowDown', 'ArrowLeft', 'ArrowRight', 'Home', 'End', 'PageUp', 'PageDown'];

describe('keys in a grid', () => {
  it('never lead out of it', () => {
    fc.assert(
      fc.property(cell, fc.constantFrom(...KEYS), fc.boolean(), (from, key, far) => {
        const to = moved(from, key, EXTENT, far)!;
        expect(to.row >= 0 && to.row < 5 && to.column >= 0 && to.column < 3).toBe(true);
      }),
    );
  });

  it('lead a cell on, a page on, or to the end', () => {
    const from = { row: 1, column: 1 };
    expect(moved(from, 'ArrowRight', EXTENT)).toEqual({ row: 1, column: 2 });
    expect(moved(from, 'PageDown', EXTENT)).toEqual({ row: 3, column: 1 });
    expect(moved(from, 'End', EXTENT, true)).toEqual({ row: 4, column: 2 });
    expect(moved(from, 'a', EXTENT)).toBeUndefined();
  });

  it('Tab goes in reading order to the end and no further', () => {
    expect(stepped({ row: 0, column: 2 }, 1, EXTENT)).toEqual({ row: 1, column: 0 });
    expect(stepped({ row: 1, column: 0 }, -1, EXTENT)).toEqual({ row: 0, column: 2 });
    expect(stepped({ row: 4, column: 2 }, 1, EXTENT)).toBeUndefined();
  });

  it('a range holds both of its corners, whichever was first', () => {
    fc.assert(
      fc.property(cell, cell, (a, b) => {
        const range = rangeOf(a, b);
        expect(within(range, a.row, a.column) && within(range, b.row, b.column)).toBe(true);
      }),
    );
  });
});
