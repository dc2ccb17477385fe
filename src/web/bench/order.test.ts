import { describe, expect, it } from 'vitest';
import { askingOrder, lettered, lettersFor, orderMarks } from './order.ts';

const NEXT = ['A', 'B', 'C', 'D'].map((point) => ({ state: 'held', point }));

describe('the order of asking', () => {
  it('puts last what cannot be reached, and keeps the rest in order', () => {
    expect(askingOrder(NEXT, new Set(['A', 'C'])).map(({ point }) => point)).toEqual(['B', 'D', 'A', 'C']);
  });

  it('asks for one point of a wire, and for another one where the first cannot be reached', () => {
    const netOf = (point: string) => (point === 'B' ? 'A' : point);
    const asked = (...out: string[]) => askingOrder(NEXT, new Set(out), netOf).map(({ point }) => point);
    expect(asked()).toEqual(['A', 'C', 'D']);
    expect(asked('A')).toEqual(['B', 'C', 'D', 'A']);
    const other = { state: 'free', point: 'B' };
    expect(askingOrder([...NEXT, other], new Set(), netOf)).toContain(other);
  });

  it('marks the first three, where they are of the state that is shown', () => {
    expect([...orderMarks(NEXT, 'held')]).toEqual([
      ['A', 1],
      ['B', 2],
      ['C', 3],
    ]);
    expect([...orderMarks([{ state: 'free', point: 'A' }, ...NEXT], 'held')]).toEqual([
      ['A', 2],
      ['B', 3],
    ]);
  });
});

describe('letters', () => {
  it('are given to a ranking that readings made, and to none before the first reading', () => {
    const unread = ['Q5', 'R14', 'R12'].map((key) => ({ key, reasons: [] }));
    expect(lettered(unread, 2)).toEqual([]);
    const read = unread.map((one) => ({ ...one, reasons: one.key === 'R14' ? [{}] : [] }));
    expect(lettered(read, 2)).toEqual(['Q5', 'R14']);
  });

  it('go by the first ranking and stay when the order changes', () => {
    const first = lettersFor(new Map(), ['Q5', 'R14', 'R12']);
    const later = lettersFor(first, ['R12', 'D1', 'Q5']);
    expect([...later]).toEqual([
      ['Q5', 'a'],
      ['R14', 'b'],
      ['R12', 'c'],
      ['D1', 'd'],
    ]);
  });

  it('are the same map when nobody is new', () => {
    const known = lettersFor(new Map(), ['Q5']);
    expect(lettersFor(known, ['Q5'])).toBe(known);
  });

  it('go on with two after z', () => {
    const many = Array.from({ length: 54 }, (_, i) => `S${i}`);
    const letters = [...lettersFor(new Map(), many).values()];
    expect([letters[25], letters[26], letters[52], letters[53]]).toEqual(['z', 'aa', 'ba', 'bb']);
    expect(new Set(letters).size).toBe(54);
  });
});
