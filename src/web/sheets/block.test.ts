import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { blockOf, laid, textOf } from './block.ts';

const COLUMNS = ['board', 'ref', 'kind', 'value'];

describe('a block from a spreadsheet', () => {
  it('comes back as it was copied, quotes, tabs and all', () => {
    const cell = fc.string().map((text) => text.replaceAll(/[\r\n]/g, ' ').trim());
    fc.assert(
      fc.property(
        fc.array(fc.array(cell, { minLength: 2, maxLength: 4 }), { minLength: 1, maxLength: 5 }),
        (block) => {
          // A last line of empty cells is a line.
          expect(blockOf(textOf(block))).toEqual(block);
        },
      ),
    );
  });

  it('is one cell where there is neither tab nor line', () => {
    expect(blockOf('4K7')).toEqual([['4K7']]);
    expect(blockOf('4K7\r\n')).toEqual([['4K7']]);
  });

  it('goes to the right and down from the cell it is put into; what stands beyond the last column is counted', () => {
    expect(
      laid(
        [
          ['R1', 'resistor'],
          ['R2', 'resistor', '1k', 'x', 'y'],
        ],
        COLUMNS,
        1,
      ),
    ).toEqual({
      rows: [
        { ref: 'R1', kind: 'resistor' },
        { ref: 'R2', kind: 'resistor', value: '1k' },
      ],
      left: 2,
      headed: false,
    });
  });

  it('with headings of the sheet goes where they say, wherever it is put', () => {
    const block = [
      ['Value', 'Ref', 'shop'],
      ['1k', 'R1', 'x'],
    ];
    expect(laid(block, COLUMNS, 3)).toEqual({ rows: [{ value: '1k', ref: 'R1' }], left: 1, headed: true });
  });
});
