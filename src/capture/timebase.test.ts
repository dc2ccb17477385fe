import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantAt } from '../waveform/index.ts';
import { timebaseOf } from './timebase.ts';

describe('the timebase of stamps', () => {
  it('puts no sample further from its stamp than 1 % of a step and the rounding, at most a quarter of a step', () => {
    const cases = fc.record({
      steps: fc.array(fc.double({ min: 0.7, max: 1.3, noNaN: true }), { minLength: 1, maxLength: 40 }),
      rounding: fc.double({ min: 0, max: 1, noNaN: true }),
      start: fc.double({ min: -1e3, max: 1e3, noNaN: true }),
    });
    fc.assert(
      fc.property(cases, ({ steps, rounding, start }) => {
        let at = start;
        const stamps = Float64Array.from([start, ...steps.map((step) => (at += step))]);
        const timebase = timebaseOf(stamps, rounding);
        if ('stamps' in timebase) {
          expect(timebase.stamps).toBe(stamps);
          return;
        }
        const allowed = Math.min(0.01 * timebase.step + rounding, 0.25 * timebase.step) + 1e-9;
        stamps.forEach((stamp, i) => {
          expect(Math.abs(instantAt(timebase, i) - stamp)).toBeLessThanOrEqual(allowed);
        });
      }),
    );
  });

  it('is a start and a step for what an even clock wrote', () => {
    const stamps = Float64Array.from({ length: 1000 }, (_, i) => Number((i * 0.37).toFixed(2)));
    expect(timebaseOf(stamps, 0.005)).toEqual({ start: 0, step: expect.closeTo(0.37, 9) });
  });
});
