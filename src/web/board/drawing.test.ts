import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type DrawnPart, drawnBoard } from './drawing.ts';

const KINDS = ['transistor', 'diode', 'resistor', 'trimmer', 'capacitor', 'other', 'connector'];
const PINS: Readonly<Record<string, string[]>> = {
  transistor: ['e', 'b', 'c'],
  trimmer: ['1', '2', 'w'],
  diode: ['a', 'k'],
};

const part = fc.record({ kind: fc.constantFrom(...KINDS), pins: fc.integer({ min: 1, max: 60 }) });
const board = fc.array(part, { maxLength: 80 }).map((parts): DrawnPart[] =>
  parts.map(({ kind, pins }, i) => {
    const many = kind === 'connector' || kind === 'other' ? pins : 2;
    const names = PINS[kind] ?? Array.from({ length: many }, (_, n) => String(n + 1));
    return { ref: `X${i}`, kind, pins: names.map((pin) => ({ pin, net: `N${pin}` })) };
  }),
);

describe('a board drawn from its parts list', () => {
  it('has every part and every pin, within its edges, and no part on another', () => {
    fc.assert(
      fc.property(board, (parts) => {
        const { width, height, items } = drawnBoard(parts);
        expect(items.map((item) => item.part.ref).sort()).toEqual(parts.map(({ ref }) => ref).sort());
        for (const { pins, part: own } of items) {
          expect(pins.map(({ pin }) => pin)).toEqual(own.pins.map(({ pin }) => pin));
          for (const { x, y } of pins) expect(x >= 0 && x <= width && y >= 0 && y <= height).toBe(true);
        }
        for (const [i, a] of items.entries()) {
          for (const b of items.slice(i + 1)) {
            const apart =
              Math.abs(a.x - b.x) >= (a.width + b.width) / 2 - 1e-6 ||
              Math.abs(a.y - b.y) >= (a.height + b.height) / 2 - 1e-6;
            expect(apart).toBe(true);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  it('has its parts in the order of their references', () => {
    const resistor = (ref: string) => ({
      ref,
      kind: 'resistor',
      pins: [
        { pin: '1', net: 'A' },
        { pin: '2', net: 'B' },
      ],
    });
    const { items } = drawnBoard([resistor('R10'), resistor('R2'), resistor('R1')]);
    expect(items.map((item) => item.part.ref)).toEqual(['R1', 'R2', 'R10']);
  });

  it('that is not traced is its connector at an edge', () => {
    const pins = ['1', '2', '3'].map((pin) => ({ pin, net: `ADD.${pin}` }));
    const { height, items } = drawnBoard([{ ref: 'J1', kind: 'connector', pins }]);
    expect(items[0]!.pins.every(({ y }) => y > height - 30)).toBe(true);
  });
});
