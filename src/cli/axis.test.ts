import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { axesOf, axisFor, cellOf, engraving, lensOver } from './axis.ts';
import { figures } from './numbers.ts';

function rails(...volts: number[]) {
  return { rails: volts.map((v) => ({ net: `${v}V`, volts: v, tolerance: 5 })) };
}

describe('the scale', () => {
  it('runs from the most negative rail to the most positive, with 0 V, and a little over', () => {
    const [axis, ...others] = axesOf(rails(-12, 6));
    expect(axis.marks).toEqual([-12, 0, 6]);
    expect(axis.low).toBeCloseTo(-12.72, 9);
    expect(axis.high).toBeCloseTo(6.72, 9);
    expect(others).toEqual([]);
  });

  it('leaves the supply of another family to a scale of its own', () => {
    const axes = axesOf(rails(-24, 12, -80));
    expect(axes.map(({ marks }) => marks)).toEqual([
      [-24, 0, 12],
      [-80, -24, 0, 12],
    ]);
    expect(axisFor(axes, -6)).toBe(axes[0]);
    expect(axisFor(axes, -40)).toBe(axes[1]);
    expect(axisFor(axes, -400)).toBe(axes[1]);
  });

  it('takes in all rails of a machine with one family, however they lie', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -100, max: 100 }), { maxLength: 6 }), (volts) => {
        const { low, high } = axesOf(rails(...volts)).at(-1)!;
        for (const v of [0, ...volts]) expect(low < v && v < high).toBe(true);
      }),
    );
  });

  it('puts levels in order, ends within the strip', () => {
    const [axis] = axesOf(rails(-12, 6));
    fc.assert(
      fc.property(
        fc.double({ min: -50, max: 50, noNaN: true }),
        fc.double({ min: 0, max: 20, noNaN: true }),
        (v, more) => {
          const cell = cellOf(axis, 40, v);
          expect(cell).toBeGreaterThanOrEqual(0);
          expect(cellOf(axis, 40, v + more)).toBeGreaterThanOrEqual(cell);
          expect(cellOf(axis, 40, v + more)).toBeLessThan(40);
        },
      ),
    );
  });

  it('is engraved at rails and 0 V, the unit at its end', () => {
    const [axis] = axesOf(rails(-12, 6));
    expect(engraving(axis, 40, figures(true))).toBe('−12                       0         +6 V');
    expect(engraving(axis, 40, figures(false))).toBe('-12                       0         +6 V');
  });

  it('leaves out figures that would touch others, never the outer ones', () => {
    const [axis] = axesOf(rails(-12, -11, -6, 6));
    expect(engraving(axis, 20, figures(true))).toBe('−12   −6    0   +6 V');
  });

  it('through the lens covers its levels and is engraved at round volts', () => {
    const lens = lensOver([0.28, 0.3, 0.73]);
    expect(lens.marks).toEqual([0.4, 0.6]);
    expect(lens.low).toBeLessThan(0.28);
    expect(lens.high).toBeGreaterThan(0.73);
    fc.assert(
      fc.property(
        fc.double({ min: -20, max: 20, noNaN: true }),
        fc.double({ min: 0, max: 2, noNaN: true }),
        (v, range) => {
          const { low, high, marks } = lensOver([v, v + range]);
          expect(low < v && v + range < high).toBe(true);
          for (const mark of marks) expect(low < mark && mark < high).toBe(true);
        },
      ),
    );
  });
});
