import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shares, staff } from './staff.ts';

describe('the staff', () => {
  it('is shared out whole, each share within a cell of what is due', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.001, max: 1, noNaN: true }), { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 10, max: 100 }),
        (probabilities, width) => {
          const sum = probabilities.reduce((a, b) => a + b, 0);
          const cells = shares(probabilities, width);
          expect(cells.reduce((a, b) => a + b, 0)).toBe(width);
          cells.forEach((count, i) => {
            expect(Math.abs(count - (probabilities[i]! / sum) * width)).toBeLessThan(1);
          });
        },
      ),
    );
  });

  it('shows suspects by letter, then others, none of these and sound', () => {
    const cells = shares([0.5, 0.2, 0.1, 0.1, 0.1], 10);
    expect(staff(cells, 2, true)).toBe('aaaaabb·╱═');
    expect(staff(cells, 2, false)).toBe('aaaaabb./=');
  });

  it('is empty when nothing has any probability', () => {
    expect(shares([0, 0], 10)).toEqual([0, 0]);
  });
});
