import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  criticalVoltage,
  type Junction,
  junction,
  junctionByParameters,
  junctionCurrent,
  limitedJunction,
  MOST_AMPERES,
  ZENER_AMPERES,
} from './junction.ts';

const some: fc.Arbitrary<Junction> = fc
  .record({
    is: fc.constantFrom(1e-15, 1e-9, 1e-6, 1e-3),
    nvt: fc.constantFrom(0.022, 0.0257, 0.05),
    rs: fc.constantFrom(0, 1e-3, 0.5, 8, 100, 1000),
    leak: fc.constantFrom(0, 5e-9, 1e-4),
    vz: fc.constantFrom(Infinity, 0.7, 3.3, 12),
  })
  // A zener's voltage is that over its knee and its resistance: the resistance cannot take the most of it.
  .filter((j) => j.vz > 2 * j.rs * ZENER_AMPERES);
const volts = fc.double({ min: -40, max: 40, noNaN: true });

/** Voltage over the junction itself and its series resistance for a current found. */
function outer(j: Junction, v: number): number {
  junctionCurrent(j, v);
  const { i, vd } = junction;
  return vd + j.rs * i;
}

describe('a junction', () => {
  it('shares the voltage between its curve and its series resistance', () => {
    fc.assert(
      fc.property(some, volts, (j, v) => {
        expect(Math.abs(outer(j, v) - v)).toBeLessThan(3e-8);
      }),
      { seed: 1 },
    );
  });

  it('carries no current at 0 V, never gives power, and never carries less at a higher voltage', () => {
    fc.assert(
      fc.property(some, volts, volts, (j, a, b) => {
        junctionCurrent({ ...j, vz: Infinity }, 0);
        expect(Math.abs(junction.i)).toBeLessThan(1e-18);
        const [low, high] = a < b ? [a, b] : [b, a];
        junctionCurrent(j, low);
        const atLow = junction.i;
        junctionCurrent(j, high);
        expect(junction.i - atLow).toBeGreaterThanOrEqual(-1e-12 - 1e-9 * Math.abs(atLow));
        expect(junction.i * high).toBeGreaterThanOrEqual(-1e-9);
      }),
      { seed: 2 },
    );
  });

  it('states the slope of its current, and what its current owes to each of its parameters', () => {
    const out = new Float64Array(4);
    fc.assert(
      fc.property(some, volts, (j, v) => {
        const current = (own: Junction, at = v): number => {
          junctionCurrent(own, at);
          return junction.i;
        };
        const size = Math.abs(current(j));
        fc.pre(size < 20);
        const h = 1e-6;
        const near = (found: number, up: number, down: number): void => {
          const slope = (up - down) / (2 * h);
          expect(Math.abs(found - slope)).toBeLessThan(1e-8 + 2e-4 * Math.abs(slope) + 1e-7 * size);
        };
        junctionCurrent(j, v);
        near(junction.g, current(j, v + h), current(j, v - h));
        junctionByParameters(j, v, out);
        const [byIs, byLeak, byRs, byVz] = [...out] as [number, number, number, number];
        near(byIs, current({ ...j, is: j.is * (1 + h) }), current({ ...j, is: j.is * (1 - h) }));
        near(byLeak, current({ ...j, leak: j.leak * (1 + h) }), current({ ...j, leak: j.leak * (1 - h) }));
        if (j.vz === Infinity)
          near(byRs, current({ ...j, rs: j.rs * (1 + h) }), current({ ...j, rs: j.rs * (1 - h) }));
        else near(byVz, current({ ...j, vz: j.vz + h }), current({ ...j, vz: j.vz - h }));
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  it('of a zener type shows the stated voltage at the stated current', () => {
    for (const rs of [1, 8, 60]) {
      const j: Junction = { is: 1e-13, nvt: 0.0386, rs, leak: 0, vz: 6.8 };
      junctionCurrent(j, -6.8);
      expect(junction.i).toBeCloseTo(-ZENER_AMPERES, 9);
      // The dynamic resistance there is the series one and that of the knee.
      expect(1 / junction.g).toBeCloseTo(rs + 0.03 / ZENER_AMPERES, 6);
    }
  });

  it('goes on as its tangent above the most that any part carries', () => {
    const j: Junction = { is: 1e-9, nvt: 0.0257, rs: 0, leak: 0, vz: Infinity };
    junctionCurrent(j, j.nvt * Math.log(MOST_AMPERES / j.is));
    const { i, g } = junction;
    junctionCurrent(j, 20);
    expect(i).toBeCloseTo(MOST_AMPERES, 6);
    expect(junction.g).toBeCloseTo(g, 6);
    expect(junction.i).toBeCloseTo(i + g * (20 - j.nvt * Math.log(MOST_AMPERES / j.is)), 3);
  });
});

describe('the limit of a step', () => {
  it('is a finite voltage on the way from the old one to the new one or below the bend of the curve', () => {
    fc.assert(
      fc.property(some, volts, volts, (j, v, old) => {
        const critical = criticalVoltage(j.is, j.nvt);
        const at = limitedJunction(v, old, j.nvt, critical);
        expect(Number.isFinite(at)).toBe(true);
        expect(at).toBeLessThanOrEqual(Math.max(v, old));
        if (v <= critical || Math.abs(v - old) <= 2 * j.nvt) expect(at).toBe(v);
      }),
      { seed: 4, numRuns: 1000 },
    );
  });
  it('is reached within a few dozen steps, however far the new voltage', () => {
    fc.assert(
      fc.property(some, volts, volts, (j, v, start) => {
        const critical = criticalVoltage(j.is, j.nvt);
        let at = Math.min(start, critical);
        let steps = 0;
        for (; at !== v && steps < 60; steps++) at = limitedJunction(v, at, j.nvt, critical);
        expect(at).toBe(v);
      }),
      { seed: 5, numRuns: 1000 },
    );
  });
});
