import { describe, expect, it } from 'vitest';
import type { BenchRow, PointView } from '../../server/index.ts';
import { itemsOf, nameParts } from './rows.ts';

function point(name: string, board: string, group: string, family = 0): PointView {
  return { point: name, net: name, board, group, minutes: 1, note: '', caution: '', gated: false, family };
}

function row(name: string): BenchRow {
  return {
    point: name,
    sound: null,
    drawing: null,
    learnt: false,
    twins: [],
    reading: null,
    off: null,
    verdict: null,
  };
}

const POINTS = [
  point('SUM/Q1.b', 'SUM', 'Half sum'),
  point('+60V', 'TUB', 'TUB', 1),
  point('SUM/Q1.c', 'SUM', 'Half sum'),
  point('TAL/Q4.c', 'TAL', 'TAL'),
];
const ROWS = POINTS.map(({ point: name }) => row(name));

const told = (items: ReturnType<typeof itemsOf>) =>
  items.map((item) =>
    item.kind === 'row' ? item.name : item.kind === 'group' ? `[${item.text}]` : `scale ${item.family}`,
  );

describe('the column', () => {
  it('has the points in signal order under their stages, another family under a scale of its own', () => {
    expect(told(itemsOf(POINTS, ROWS, 0))).toEqual([
      '[Half sum, board SUM]',
      'Q1.b',
      'Q1.c',
      '[TAL]',
      'Q4.c',
      'scale 1',
      '[TUB]',
      '+60V',
    ]);
  });

  it('has a scale for the usual family where the head shows another', () => {
    expect(told(itemsOf(POINTS, ROWS, 1))[0]).toBe('scale 0');
  });

  it('has the points of one board where one is chosen', () => {
    expect(told(itemsOf(POINTS, ROWS, 0, 'TAL'))).toEqual(['[TAL]', 'Q4.c']);
  });

  it('leaves out points of which the answer says nothing', () => {
    expect(told(itemsOf(POINTS, ROWS.slice(0, 1), 0))).toEqual(['[Half sum, board SUM]', 'Q1.b']);
  });
});

describe('the large name', () => {
  it('has a board where the point is a pin, and none where it is a net', () => {
    expect(nameParts('ADD/Q5.c')).toEqual({ board: 'ADD', rest: 'Q5.c' });
    expect(nameParts('CARRY')).toEqual({ board: '', rest: 'CARRY' });
  });
});
