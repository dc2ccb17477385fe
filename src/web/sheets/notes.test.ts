import { describe, expect, it } from 'vitest';
import type { FindingView } from '../../server/index.ts';
import { cellNotes, listNotes } from './notes.ts';

const finding = (more: Partial<FindingView>): FindingView => ({
  ...{ severity: 'error', code: 'missing', file: 'parts.csv', message: 'm', found: null },
  ...{ column: null, line: null, row: null },
  ...more,
});
const ROWS = [{ key: 'r7', id: 7, version: 1, cells: {} }];

describe('findings at cells', () => {
  it('stand at the cell they are about; those of the file at none', () => {
    const notes = cellNotes(
      [
        finding({ row: 7, column: 'value' }),
        finding({ row: 7 }),
        finding({}),
        finding({ row: 8, column: 'ref' }),
      ],
      ROWS,
    );
    expect([...notes.keys()]).toEqual(['r7']);
    expect([...notes.get('r7')!.keys()]).toEqual(['value', '']);
  });

  it('of one cell are joined, and an error outweighs a doubt', () => {
    const doubt = finding({ row: 7, column: 'value', severity: 'warning', message: 'a' });
    const notes = cellNotes([doubt, finding({ row: 7, column: 'value', message: 'b' })], ROWS);
    expect(notes.get('r7')!.get('value')).toEqual({ severity: 'error', words: 'a; b' });
  });

  it('of machine.json are found by list, place and field', () => {
    const notes = listNotes(
      [finding({ column: 'rails[2].volts' }), finding({ column: 'units[0].id' })],
      'rails',
    );
    expect(notes.get('2')?.get('volts')?.words).toBe('m');
    expect(notes.size).toBe(1);
  });
});
