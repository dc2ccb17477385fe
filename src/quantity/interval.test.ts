import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Interval } from './index.ts';

const number = fc.double({ min: -1e6, max: 1e6, noNaN: true });
const share = fc.double({ min: 0, max: 1, noNaN: true });
/** An interval and a number in it. */
const held = fc.tuple(number, number, share).map(([a, b, t]) => {
  const interval = new Interval(Math.min(a, b), Math.max(a, b));
  const inside = Math.min(interval.hi, Math.max(interval.lo, interval.lo + t * (interval.hi - interval.lo)));
  return { interval, inside };
});

describe('laws', () => {
  it('a result holds what the operation gives for numbers of its operands', () => {
    fc.assert(
      fc.property(held, held, (x, y) => {
        expect(x.interval.add(y.interval).contains(x.inside + y.inside)).toBe(true);
        expect(x.interval.sub(y.interval).contains(x.inside - y.inside)).toBe(true);
        expect(x.interval.mul(y.interval).contains(x.inside * y.inside)).toBe(true);
        fc.pre(y.interval.lo > 1e-200 || y.interval.hi < -1e-200);
        expect(x.interval.div(y.interval).contains(x.inside / y.inside)).toBe(true);
      }),
      { numRuns: 2000 },
    );
  });

  it('both ends of a result are reached by ends of the operands', () => {
    fc.assert(
      fc.property(held, held, ({ interval: x }, { interval: y }) => {
        const product = x.mul(y);
        const corners = [x.lo * y.lo, x.lo * y.hi, x.hi * y.lo, x.hi * y.hi];
        expect(corners.some((c) => c === product.lo)).toBe(true);
        expect(corners.some((c) => c === product.hi)).toBe(true);
        expect(x.sub(y).hi - (x.hi - y.lo)).toBe(0);
        expect(x.sub(y).lo - (x.lo - y.hi)).toBe(0);
      }),
    );
  });
});

describe('cases', () => {
  it('two resistors of 10 % as a divider stay between the values worked by hand', () => {
    // 3.3 kilohms below 6.8 kilohms: lower / (lower + upper), written with each part once as 1 / (1 + upper / lower).
    const upper = Interval.fromTolerance(6800, 10);
    const lower = Interval.fromTolerance(3300, 10);
    const one = new Interval(1, 1);
    const share = one.div(one.add(upper.div(lower)));
    expect(share.lo).toBeCloseTo(2970 / (2970 + 7480), 12);
    expect(share.hi).toBeCloseTo(3630 / (3630 + 6120), 12);
  });

  it('a tolerance may be unequal, in picofarads, or of a negative rail', () => {
    expect(Interval.fromTolerance(100, { below: 20, above: 80, unit: '%' })).toMatchObject({
      lo: 80,
      hi: 180,
    });
    expect(Interval.fromTolerance(-12, 5)).toMatchObject({ lo: -12.6, hi: -11.4 });
    const small = Interval.fromTolerance(4e-12, { below: 0.5, above: 0.5, unit: 'pF' });
    expect(small.lo).toBeCloseTo(3.5e-12, 24);
    expect(small.hi).toBeCloseTo(4.5e-12, 24);
  });

  it('what is no interval throws with the numbers', () => {
    expect(() => new Interval(2, 1)).toThrow('interval must have finite ends in order, got 2 to 1');
    expect(() => new Interval(0, Number.NaN)).toThrow(RangeError);
    expect(() => new Interval(1, 2).div(new Interval(-1, 1))).toThrow('divisor contains zero, got -1 to 1');
    expect(() => Interval.fromTolerance(1, -5)).toThrow(
      'tolerance must not be negative, got -5 below and -5 above',
    );
    const huge = new Interval(1, 1e308);
    expect(() => huge.mul(huge)).toThrow('got 1 to Infinity');
  });
});
