import { describe, expect, it } from 'vitest';
import type { MachineView } from '../../server/index.ts';
import { drawnBoard } from './drawing.ts';
import { drawnPlaces, marksOf, placementsFor, placesOf } from './marks.ts';

const PARTS = [
  { ref: 'Q1', kind: 'transistor', pins: ['e=0V', 'b=IN', 'c=OUT'].map(pair) },
  { ref: 'J1', kind: 'connector', pins: ['1=IN', '2=OUT', '3=0V'].map(pair) },
];
const point = (name: string, net: string) => ({ point: name, net }) as MachineView['points'][number];
const MACHINE = {
  points: [
    point('IN', 'IN'),
    point('OUT', 'OUT'),
    point('ADD/Q1.c', 'OUT'),
    point('FAR', 'FAR'),
    point('MUL/Q1.c', 'FAR'),
  ],
} as unknown as MachineView;
const at = (mark: string, x: number, y: number, unit = '') => ({
  ...{ board: 'ADD', side: 'component', unit, mark, x, y },
  borrowed: false,
});

function pair(text: string) {
  const [pin, net] = text.split('=') as [string, string];
  return { pin, net };
}

describe('marks of a board', () => {
  const marks = marksOf(MACHINE, 'ADD', PARTS);

  it('are its points, the nets that run through it, its pins and its parts, each once', () => {
    expect(marks.filter(({ kind }) => kind === 'points').map(({ short }) => short)).toEqual([
      'IN',
      'OUT',
      'Q1.c',
    ]);
    expect(marks.filter(({ kind }) => kind === 'pins').map(({ short }) => short)).toEqual([
      'J1.1',
      'J1.2',
      'J1.3',
      'Q1.e',
      'Q1.b',
    ]);
    expect(marks.filter(({ kind }) => kind === 'parts').map(({ short }) => short)).toEqual(['J1', 'Q1']);
  });

  it('stand where they were placed; a net at one of its pins, a pin near its part', () => {
    const places = placesOf(marks, [at('ADD/J1.1', 0.1, 0.9), at('ADD/Q1', 0.5, 0.5)], PARTS, 'ADD');
    expect(places.get('IN')).toEqual({ x: 0.1, y: 0.9, exact: true });
    expect(places.get('ADD/Q1.c')).toEqual({ x: 0.5, y: 0.5, exact: false });
    expect(places.get('ADD/J1.3')).toBeUndefined();
  });

  it('stand on the picture of a unit where they were placed for it, else for all, else near where they are on another', () => {
    const made = [at('ADD/Q1', 0.1, 0.1, 'north'), at('ADD/Q1', 0.2, 0.2), at('ADD/Q1', 0.3, 0.3, 'south')];
    const on = (unit: string, given = made) =>
      placesOf(marks, placementsFor(given, unit), PARTS, 'ADD').get('ADD/Q1');
    expect(on('south')).toEqual({ x: 0.3, y: 0.3, exact: true });
    expect(on('west')).toEqual({ x: 0.2, y: 0.2, exact: true });
    expect(on('west', [made[0]!])).toEqual({ x: 0.1, y: 0.1, exact: false });
    expect(on('')).toEqual({ x: 0.2, y: 0.2, exact: true });
  });

  it('stand on the drawing from the start, and go where they are moved, a part with its pins', () => {
    const drawn = drawnPlaces(drawnBoard(PARTS), 'ADD');
    const before = placesOf(marks, [], PARTS, 'ADD', drawn);
    expect(marks.every(({ name }) => before.get(name)?.exact)).toBe(true);
    const part = before.get('ADD/Q1')!;
    const after = placesOf(marks, [at('ADD/Q1', part.x + 0.1, part.y)], PARTS, 'ADD', drawn);
    expect(after.get('ADD/Q1.c')!.x).toBeCloseTo(before.get('ADD/Q1.c')!.x + 0.1);
    expect(after.get('ADD/J1.1')).toEqual(before.get('ADD/J1.1'));
  });
});
