import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { between, placed, valueAt } from './cursors.ts';
import { bounded, plusMinus, quantity, roundStep, timeScale, valueScale } from './scale.ts';
import { about, moved, type Span, within, zoomed } from './span.ts';

const WHOLE: Span = { from: -2, to: 8 };
const spans = fc
  .tuple(fc.double({ min: -2, max: 7.9, noNaN: true }), fc.double({ min: 1e-3, max: 1, noNaN: true }))
  .map(([from, length]) => within({ from, to: from + length }, WHOLE));

describe('a stretch of time', () => {
  it('stays within the whole, whatever is done to it', () => {
    fc.assert(
      fc.property(
        spans,
        fc.double({ min: 0.01, max: 100, noNaN: true }),
        fc.double({ min: -3, max: 3, noNaN: true }),
        (span, share, by) => {
          for (const one of [zoomed(span, share, span.from, WHOLE, 1e-6), moved(span, by, WHOLE)]) {
            expect(one.from).toBeGreaterThanOrEqual(WHOLE.from);
            expect(one.to).toBeLessThanOrEqual(WHOLE.to);
            expect(one.to).toBeGreaterThan(one.from);
          }
        },
      ),
    );
  });

  it('keeps the instant that it is drawn closer about in its place', () => {
    const span = zoomed({ from: 0, to: 4 }, 0.5, 1, WHOLE, 1e-6);
    expect(span).toEqual({ from: 0.5, to: 2.5 });
    expect((1 - span.from) / (span.to - span.from)).toBe(0.25);
  });

  it('is never shorter than the least, nor longer than the whole', () => {
    expect(zoomed({ from: 0, to: 1 }, 1e-9, 0.5, WHOLE, 0.01)).toEqual({ from: 0.495, to: 0.505 });
    expect(zoomed({ from: 0, to: 1 }, 1e9, 0.5, WHOLE, 0.01)).toEqual(WHOLE);
  });

  it('moves by shares of itself and stops at the ends', () => {
    expect(moved({ from: 0, to: 2 }, 0.5, WHOLE)).toEqual({ from: 1, to: 3 });
    expect(moved({ from: 0, to: 2 }, 50, WHOLE)).toEqual({ from: 6, to: 8 });
  });

  it('goes to a difference so that what is about it is seen as well', () => {
    expect(about({ from: 3, to: 3.1 }, { from: 0, to: 10 }, WHOLE)).toEqual({ from: 2.8, to: 3.3 });
    const wide = about({ from: 0, to: 4 }, { from: 0, to: 1 }, WHOLE);
    expect(wide).toEqual({ from: 0, to: 4 });
  });
});

describe('a scale', () => {
  it('steps by one, two or five of a decade', () => {
    expect([0.3, 1, 1.1, 2.5, 6e-6, 1e-9].map(roundStep)).toEqual([0.5, 1, 2, 5, 1e-5, 1e-9]);
  });

  it('of time has round instants in the prefix of its length', () => {
    const scale = timeScale({ from: -3.1e-6, to: 17e-6 }, 8);
    expect(scale.unit).toBe('µs');
    expect(scale.marks.map(({ label }) => label)).toEqual(['0', '5', '10', '15']);
    expect(scale.marks[1]!.value).toBeCloseTo(5e-6, 15);
  });

  it('counts from a round instant where 0 is far', () => {
    const scale = timeScale({ from: 0.400_001_2, to: 0.400_005_2 }, 5);
    expect(scale).toMatchObject({ origin: 0.4, originLabel: '400 ms', unit: 'µs' });
    expect(scale.marks.map(({ label }) => label)).toEqual(['+2', '+3', '+4', '+5']);
  });

  it('never has more marks than there is room for, and all of them inside', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e3, max: 1e3, noNaN: true }),
        fc.double({ min: 1e-6, max: 1e3, noNaN: true }),
        fc.integer({ min: 1, max: 20 }),
        (from, length, most) => {
          const { marks } = timeScale({ from, to: from + length }, most);
          expect(marks.length).toBeLessThanOrEqual(most + 1);
          for (const { value } of marks) {
            expect(value).toBeGreaterThanOrEqual(from - 1e-6 * length);
            expect(value).toBeLessThanOrEqual(from + length * (1 + 1e-6));
          }
        },
      ),
    );
  });

  it('of volts shows the sign of every value but 0', () => {
    const scale = valueScale(-6.4, 0.6, 'V', 4);
    expect(scale.marks.map(({ label }) => label)).toEqual(['−6', '−4', '−2', '0']);
    expect(valueScale(-0.05, 0.05, 'V', 2)).toMatchObject({ unit: 'mV' });
  });
});

describe('a value in words', () => {
  it('has the prefix that suits it', () => {
    expect(quantity(-6.1449, 'V')).toBe('−6.145 V');
    expect(quantity(12.5e-6, 's', 4, '+')).toBe('+12.5 µs');
    expect(quantity(0, 'V', 4, '+')).toBe('0 V');
    expect(quantity(Number.NaN, 'V')).toBe('—');
  });

  it('is rounded where its uncertainty has its second digit', () => {
    expect(bounded(-6.14213, 0.0112, 'V')).toBe('−6.142 V');
    expect(bounded(1.23456e-6, 4e-9, 's')).toBe('1.2346 µs');
    expect(plusMinus(0.408e-6, 70e-6, 's')).toBe('± 0.41 µs');
    expect(plusMinus(0.00254, -6.1, 'V')).toBe('± 2.5 mV');
    expect(plusMinus(0.31, 49.7, '')).toBe('± 0.31');
    expect(bounded(0.512, 0.003, '')).toBe('0.5120');
  });
});

describe('cursors', () => {
  const trace = { name: 'a', unit: 'V', timebase: { start: 1, step: 2 }, values: Float32Array.of(0, 4, -4) };

  it('span what lies between them, whichever is first', () => {
    expect(between({ a: 3, b: 1 })).toEqual({ from: 1, to: 3 });
    expect(between({ a: 3 })).toBeUndefined();
    expect(placed({}, 'a', 99, WHOLE)).toEqual({ a: 8 });
  });

  it('read a trace on the line between its samples, and nothing outside', () => {
    expect(valueAt(trace, 1)).toBe(0);
    expect(valueAt(trace, 2)).toBe(2);
    expect(valueAt(trace, 4)).toBe(0);
    expect(valueAt(trace, 0.9)).toBeNaN();
    expect(valueAt(trace, 5.1)).toBeNaN();
  });
});
