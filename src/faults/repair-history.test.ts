import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  failureProbability,
  meanRate,
  modalRate,
  rateAfter,
  rateDeviation,
  rateQuantile,
  relativeExposure,
  updatedRates,
} from './index.ts';

const rate = fc.record({
  shape: fc.double({ min: 0.3, max: 60, noNaN: true }),
  hours: fc.double({ min: 1, max: 1e7, noNaN: true }),
});

describe('a rate of failures', () => {
  it('learnt in two steps is the one learnt at once', () => {
    fc.assert(
      fc.property(rate, fc.nat(20), fc.nat(20), fc.nat(10000), (prior, a, b, t) => {
        expect(rateAfter(rateAfter(prior, a, t), b, 3)).toEqual(
          expect.objectContaining({ shape: expect.closeTo(prior.shape + a + b, 9) }),
        );
        expect(rateAfter(rateAfter(prior, a, t), b, 3).hours).toBeCloseTo(prior.hours + t + 3, 6);
      }),
    );
  });
  it('has quantiles that rise, whose density integrates to the share between them', () => {
    fc.assert(
      fc.property(rate, (r) => {
        const q = [0.05, 0.35, 0.65, 0.95].map((p) => rateQuantile(r, p));
        expect(q).toEqual([...q].sort((a, b) => a - b));
        // Simpson's rule on the unnormalised density of the rate's logarithm; the three parts of 0.3 weigh the same.
        const density = (u: number): number =>
          Math.exp(r.shape * (u + Math.log(r.hours / r.shape)) - Math.exp(u) * r.hours + r.shape);
        const part = (from: number, to: number): number => {
          const n = 200;
          const step = Math.log(to / from) / n;
          let sum = 0;
          for (let i = 0; i <= n; i++)
            sum += density(Math.log(from) + i * step) * (i === 0 || i === n ? 1 : i % 2 ? 4 : 2);
          return sum * step;
        };
        const [a, b, c] = [part(q[0]!, q[1]!), part(q[1]!, q[2]!), part(q[2]!, q[3]!)];
        expect(a / b).toBeCloseTo(1, 6);
        expect(c / b).toBeCloseTo(1, 6);
      }),
    );
  });
  it('has its mean near its median, and its mode below, when much is known', () => {
    const r = { shape: 400, hours: 1e6 };
    expect(Math.abs(rateQuantile(r, 0.5) / meanRate(r) - 1)).toBeLessThan(1e-3);
    expect(modalRate(r)).toBeLessThan(meanRate(r));
    expect(rateQuantile(r, 0.841345)).toBeCloseTo(meanRate(r) + rateDeviation(r), 5);
  });
  it('has its ends at nothing and at infinity, and no quantile beyond', () => {
    const r = { shape: 2, hours: 10 };
    expect(rateQuantile(r, 0)).toBeLessThan(1e-100);
    expect(rateQuantile(r, 1)).toBe(Infinity);
    expect(modalRate({ shape: 0.5, hours: 1 })).toBe(0);
    for (const p of [-0.1, 1.1, Number.NaN]) expect(() => rateQuantile(r, p)).toThrow(RangeError);
    expect(() => rateAfter(r, -1, 1)).toThrow(RangeError);
    expect(() => rateAfter(r, 1, Number.NaN)).toThrow(RangeError);
  });
  it('predicts failures whose chances add up to one and whose mean is the rate times the hours', () => {
    fc.assert(
      fc.property(rate, fc.double({ min: 0.1, max: 2, noNaN: true }), (r, share) => {
        const hours = share * (r.hours / r.shape);
        const chances = Array.from({ length: 400 }, (_, k) => failureProbability(r, k, hours));
        expect(chances.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 6);
        expect(chances.reduce((sum, p, k) => sum + k * p, 0)).toBeCloseTo(meanRate(r) * hours, 4);
      }),
    );
  });
});

describe('rates updated from the repairs on record', () => {
  const rates = new Map([
    ['resistor', 1],
    ['transistor', 4],
    ['diode', 1.6],
  ]);
  it('stay where nothing was watched', () => {
    expect(updatedRates(rates, new Map(), new Map())).toEqual(rates);
  });
  it('are the posterior mean of each, worth two failures beforehand', () => {
    const updated = updatedRates(
      rates,
      new Map([['transistor', 9]]),
      new Map([
        ['transistor', 0.75],
        ['diode', 1.25],
      ]),
    );
    expect(updated.get('resistor')).toBe(1);
    expect(updated.get('transistor')).toBeCloseTo((2 + 9) / (2 / 4 + 0.75), 12);
    expect(updated.get('diode')).toBeCloseTo(2 / (2 / 1.6 + 1.25), 12);
  });
  it('come near what is on record when much is', () => {
    const updated = updatedRates(rates, new Map([['diode', 3000]]), new Map([['diode', 1000]]));
    expect(updated.get('diode')).toBeCloseTo(3, 2);
  });
  it('go up with every repair and down with every hour without one', () => {
    fc.assert(
      fc.property(fc.nat(30), fc.double({ min: 0, max: 100, noNaN: true }), (k, t) => {
        const at = (n: number, time: number): number =>
          updatedRates(rates, new Map([['diode', n]]), new Map([['diode', time]])).get('diode')!;
        expect(at(k + 1, t)).toBeGreaterThan(at(k, t));
        expect(at(k, t + 1)).toBeLessThan(at(k, t));
      }),
    );
  });
  it('refuse a repair of what has no rate, and numbers below nothing', () => {
    expect(() => updatedRates(rates, new Map([['relay', 1]]), new Map())).toThrow('relay');
    expect(() => updatedRates(rates, new Map(), new Map([['relay', 1]]))).toThrow('relay');
    expect(() => updatedRates(rates, new Map([['diode', -1]]), new Map())).toThrow('diode');
    expect(() => updatedRates(new Map([['diode', 0]]), new Map(), new Map())).toThrow('diode');
  });
  it('stay on the whole when repairs come as the rates say, and learn shares only', () => {
    const parts = new Map([
      ['resistor', 200],
      ['transistor', 50],
      ['diode', 125],
    ]);
    // Expected in proportion 200 : 200 : 200.
    const asExpected = new Map([...rates.keys()].map((k) => [k, 4]));
    const same = updatedRates(rates, asExpected, relativeExposure(rates, asExpected, parts));
    for (const [key, r] of same) expect(r).toBeCloseTo(rates.get(key)!, 12);
    const repairs = new Map([
      ['transistor', 10],
      ['resistor', 2],
    ]);
    const learnt = updatedRates(rates, repairs, relativeExposure(rates, repairs, parts));
    expect(learnt.get('transistor')).toBeCloseTo((4 * (2 + 10)) / (2 + 4), 12);
    expect(learnt.get('resistor')).toBeCloseTo((2 + 2) / (2 + 4), 12);
    expect(learnt.get('diode')).toBeCloseTo((1.6 * 2) / (2 + 4), 12);
    expect(updatedRates(rates, new Map(), relativeExposure(rates, new Map(), parts))).toEqual(rates);
  });
});
