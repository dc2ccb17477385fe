import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Component, entropyBits, informationBits } from './next-reading.ts';

const component = fc.record({
  group: fc.integer({ min: 0, max: 3 }),
  probability: fc.double({ min: 0.01, max: 1, noNaN: true }),
  mean: fc.double({ min: -12, max: 6, noNaN: true }),
  sigma: fc.double({ min: -3.5, max: 1.5, noNaN: true }).map((x) => Math.exp(x)),
});
const mixture = fc.array(component, { minLength: 1, maxLength: 8 });

function entropyOfGroups(list: readonly Component[]): number {
  const shares = new Map<number, number>();
  for (const c of list) shares.set(c.group, (shares.get(c.group) ?? 0) + c.probability);
  return entropyBits([...shares.values()]);
}

/** By the trapezoidal rule with steps of a fifteenth of the narrowest sigma, over all groups, nothing merged. */
function plainSum(list: readonly Component[]): number {
  const total = list.reduce((sum, c) => sum + c.probability, 0);
  const from = Math.min(...list.map((c) => c.mean - 8 * c.sigma));
  const to = Math.max(...list.map((c) => c.mean + 8 * c.sigma));
  const step = Math.min(...list.map((c) => c.sigma)) / 15;
  const prior = [0, 1, 2, 3].map((g) => list.reduce((s, c) => s + (c.group === g ? c.probability : 0), 0));
  let bits = 0;
  for (let y = from; y < to; y += step) {
    const own = [0, 0, 0, 0];
    for (const c of list)
      own[c.group]! += (c.probability * Math.exp(-0.5 * ((y - c.mean) / c.sigma) ** 2)) / c.sigma;
    const all = own.reduce((a, b) => a + b, 0);
    own.forEach((d, g) => {
      // Smaller ones lose their digits.
      if (d > 1e-280) bits += d * Math.log2((d * total) / (prior[g]! * all)) * step;
    });
  }
  return bits / total / Math.sqrt(2 * Math.PI);
}

describe('the information of a reading', () => {
  it('lies between nothing and the entropy of the suspects', () => {
    fc.assert(
      fc.property(mixture, (list) => {
        const bits = informationBits(list);
        expect(bits).toBeGreaterThanOrEqual(0);
        expect(bits).toBeLessThan(entropyOfGroups(list) + 1e-6);
      }),
    );
  });
  it('is what a plain sum over the voltage gives', () => {
    fc.assert(
      fc.property(mixture, (list) => {
        expect(Math.abs(informationBits(list) - plainSum(list))).toBeLessThan(1e-3);
      }),
      { numRuns: 60 },
    );
  });
  it('does not change when all volts are shifted or scaled, or the order of the hypotheses', () => {
    fc.assert(
      fc.property(
        mixture,
        fc.double({ min: -20, max: 20, noNaN: true }),
        fc.boolean(),
        (list, shift, turn) => {
          const scale = turn ? -7 : 3;
          const other = list
            .map((c) => ({ ...c, mean: scale * c.mean + shift, sigma: Math.abs(scale) * c.sigma }))
            .reverse();
          expect(Math.abs(informationBits(other) - informationBits(list))).toBeLessThan(1e-3);
        },
      ),
    );
  });
  it('is nothing when all hypotheses read the same, or all belong to one suspect', () => {
    fc.assert(
      fc.property(mixture, component, (list, one) => {
        const same = list.map((c) => ({ ...c, mean: one.mean, sigma: one.sigma }));
        expect(informationBits(same)).toBe(0);
        expect(informationBits(list.map((c) => ({ ...c, group: 2 })))).toBeLessThan(1e-9);
      }),
    );
  });
  it('is nothing without a hypothesis', () => {
    expect(informationBits([])).toBe(0);
    expect(informationBits([{ group: 0, probability: 0, mean: 0, sigma: 1 }])).toBe(0);
  });
  it('never falls when the meter gets better', () => {
    fc.assert(
      fc.property(mixture, fc.double({ min: 0.05, max: 0.9, noNaN: true }), (list, sigma) => {
        const at = (s: number): number => informationBits(list.map((c) => ({ ...c, sigma: s })));
        expect(at(sigma * 0.7)).toBeGreaterThan(at(sigma) - 1e-3);
      }),
    );
  });
  it('is not misled by an unknown fault that may read anything around the sound level', () => {
    // 0.5 V² against 0.05 V: all but the chance that the wide one lands within the narrow one is told.
    const list = [
      { group: 0, probability: 0.5, mean: -6, sigma: 4.8 },
      { group: 1, probability: 0.5, mean: -6, sigma: 0.05 },
    ];
    expect(Math.abs(informationBits(list) - plainSum(list))).toBeLessThan(1e-5);
    expect(informationBits(list)).toBeGreaterThan(0.9);
  });
  it('counts more hypotheses than a thousand', () => {
    const many = Array.from({ length: 5000 }, (_, i) => ({ group: i, probability: 1, mean: i, sigma: 0.01 }));
    expect(informationBits(many)).toBeCloseTo(Math.log2(5000), 6);
  });
});

describe('entropy', () => {
  it('of equal chances is the logarithm of their number, and of one certainty nothing', () => {
    for (const n of [1, 2, 3, 8])
      expect(entropyBits(Array.from({ length: n }, () => 0.2))).toBeCloseTo(Math.log2(n), 12);
    expect(entropyBits([0, 3, 0])).toBe(0);
  });
});
