import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { axisOf, engraving, lensAxis, PAD, xOf } from './axis.ts';

const LOGIC = axisOf({
  from: -12,
  to: 6,
  rails: [{ volts: -12 }, { volts: -6 }, { volts: 0 }, { volts: 6 }],
});
const figures = (...args: Parameters<typeof engraving>) =>
  engraving(...args)
    .map(({ label }) => label)
    .filter((label) => label !== '');

describe('the axis', () => {
  it('runs from rail to rail and 0.7 V over, or 4 % where that is more', () => {
    expect([LOGIC.low, LOGIC.high]).toEqual([-12.72, 6.72]);
    expect(axisOf({ from: -6, to: 0, rails: [] })).toMatchObject({ low: -6.7, high: 0.7 });
    expect(axisOf({ from: -80, to: 0, rails: [] })).toMatchObject({ low: -83.2, high: 3.2 });
  });

  it('has an upright at each rail, and none for the 0 V line, which is drawn by itself', () => {
    expect(LOGIC.rails).toEqual([-12, -6, 6]);
  });

  it('is there for a machine without rails, too', () => {
    const { low, high } = axisOf({ from: 0, to: 0, rails: [] });
    expect(high).toBeGreaterThan(low);
  });

  it('keeps levels in order and the ends inside the strip', () => {
    const level = fc.double({ min: -12.72, max: 6.72, noNaN: true });
    fc.assert(
      fc.property(level, level, (a, b) => {
        const [one, other] = [xOf(LOGIC, 520, a), xOf(LOGIC, 520, b)];
        if (a < b) expect(one).toBeLessThanOrEqual(other);
        expect(one).toBeGreaterThanOrEqual(PAD - 1e-9);
        expect(one).toBeLessThanOrEqual(520 - PAD + 1e-9);
      }),
    );
  });
});

describe('the engraving', () => {
  it('has figures at round volts that meet both rails', () => {
    expect(figures(LOGIC, 520)).toEqual(['−12', '−9', '−6', '−3', '0', '+3', '+6 V']);
    expect(figures(axisOf({ from: -24, to: 12, rails: [] }), 520)).toEqual([
      '−24',
      '−18',
      '−12',
      '−6',
      '0',
      '+6',
      '+12 V',
    ]);
  });

  it('has short ticks between', () => {
    const ticks = engraving(LOGIC, 520).map(({ volts }) => volts);
    expect(ticks).toEqual(Array.from({ length: 19 }, (_, i) => i - 12));
  });

  it('names rails that no round step meets, and leaves out the figure that would touch them', () => {
    const found = figures(axisOf({ from: -12.6, to: 6.3, rails: [] }), 520);
    expect(found[0]).toBe('−12.6');
    expect(found.at(-1)).toBe('+6.3 V');
  });

  it('has fewer figures on a narrow strip', () => {
    expect(figures(LOGIC, 200).length).toBeLessThan(figures(LOGIC, 520).length);
  });

  it('of a lens is in millivolts', () => {
    const axis = lensAxis({ value: -0.112, sigma: 0.004 });
    expect(axis.high - axis.low).toBeCloseTo(24 * 0.004);
    const found = figures(axis, 520, 'mV');
    expect(found.at(-1)).toMatch(/^−\d+ mV$/);
    expect(found.length).toBeGreaterThan(4);
  });

  it('never lets figures touch, whatever the rails', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -400, max: -1, noNaN: true }),
        fc.double({ min: 0, max: 400, noNaN: true }),
        fc.integer({ min: 180, max: 760 }),
        (from, to, width) => {
          const axis = axisOf({ from, to, rails: [] });
          const places = engraving(axis, width)
            .filter(({ label }) => label !== '')
            .map(({ volts }) => xOf(axis, width, volts));
          expect(places.length).toBeGreaterThan(0);
          for (let i = 1; i < places.length; i++) {
            // The two rails themselves may be close only where one of them is all that there is.
            if (places.length > 2) expect(places[i]! - places[i - 1]!).toBeGreaterThan(40);
          }
        },
      ),
    );
  });
});
