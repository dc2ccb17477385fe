import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { breaksOf, type DriveWave, LEAST_EDGE, nextBreak, voltsAt } from './drive-wave.ts';

const pulses = {
  kind: 'pulses',
  low: -6,
  high: 0,
  delay: 5e-6,
  width: 20e-6,
  period: 100e-6,
  edge: 'linear',
  rise: 1e-6,
  fall: 2e-6,
} as const satisfies DriveWave;
const bits = {
  kind: 'bits',
  bits: '1011',
  bit: 10e-6,
  low: -6,
  high: 0,
  delay: 0,
  edge: 'linear',
  rise: 1e-6,
  fall: 1e-6,
} as const satisfies DriveWave;

const waves = fc.oneof(
  fc.record({
    kind: fc.constant('pulses' as const),
    low: fc.double({ min: -12, max: 0, noNaN: true }),
    high: fc.double({ min: 0, max: 12, noNaN: true }),
    negative: fc.boolean(),
    delay: fc.double({ min: -1, max: 1, noNaN: true }),
    width: fc.double({ min: 0.1, max: 0.4, noNaN: true }),
    period: fc.double({ min: 0.5, max: 2, noNaN: true }),
    edge: fc.constantFrom('linear' as const, 'exponential' as const),
    rise: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
    fall: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
  }),
  fc.record({
    kind: fc.constant('bits' as const),
    bits: fc.string({ unit: fc.constantFrom('0', '1'), minLength: 1, maxLength: 12 }),
    bit: fc.double({ min: 0.2, max: 1, noNaN: true }),
    low: fc.constant(-6),
    high: fc.constant(0),
    negative: fc.boolean(),
    delay: fc.double({ min: -1, max: 1, noNaN: true }),
    repeat: fc.boolean(),
    edge: fc.constantFrom('linear' as const, 'exponential' as const),
    rise: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
    fall: fc.double({ min: 0.01, max: 0.1, noNaN: true }),
  }),
);

describe('pulses', () => {
  it('rest at low, begin at the delay, and take their edges from level to level', () => {
    const at = (us: number): number => voltsAt(pulses, us * 1e-6);
    expect([0, 4.9, 5, 5.5, 6, 20, 25, 26, 27, 50].map(at).map((v) => Math.round(v * 1e6) / 1e6 + 0)).toEqual(
      [-6, -6, -6, -3, 0, 0, 0, -3, -6, -6],
    );
    expect(at(105.5)).toBeCloseTo(-3, 9);
  });

  it('stop after their count', () => {
    expect(voltsAt({ ...pulses, count: 2 }, 110e-6)).toBe(0);
    expect(voltsAt({ ...pulses, count: 2 }, 210e-6)).toBe(-6);
    expect(breaksOf({ ...pulses, count: 1 }, 0, 1).map((t) => Math.round(t * 1e6))).toEqual([5, 6, 25, 27]);
  });

  it('that are negative rest at high', () => {
    expect(voltsAt({ ...pulses, negative: true }, 0)).toBe(0);
    expect(voltsAt({ ...pulses, negative: true }, 15e-6)).toBe(-6);
  });

  it('with exponential edges begin each edge where the one before has come to', () => {
    const wave = { ...pulses, edge: 'exponential', rise: 20e-6, fall: 40e-6 } as const;
    const top = -6 * Math.exp(-1);
    expect(voltsAt(wave, 25e-6)).toBeCloseTo(top, 9);
    const bottom = -6 + (top + 6) * Math.exp(-2);
    expect(voltsAt(wave, 105e-6)).toBeCloseTo(bottom, 9);
    expect(voltsAt(wave, 125e-6)).toBeCloseTo(bottom * Math.exp(-1), 9);
  });
});

describe('bits', () => {
  it('stand at high for a 1, begin again where they repeat, and stay where they do not', () => {
    const level = (wave: DriveWave) => (k: number) => voltsAt(wave, (k + 0.5) * 10e-6) === 0;
    expect([0, 1, 2, 3, 4, 5].map(level(bits))).toEqual([true, false, true, true, true, true]);
    expect([0, 1, 2, 3, 4, 5].map(level({ ...bits, repeat: true }))).toEqual([
      true,
      false,
      true,
      true,
      true,
      false,
    ]);
    expect(breaksOf(bits, 0, 1).map((t) => Math.round(t * 1e6))).toEqual([10, 11, 20, 21]);
  });
});

describe('samples', () => {
  const wave: DriveWave = { kind: 'samples', instants: [1, 2, 4], volts: [0, 4, 0] };
  it('are joined by lines and stay where they end', () => {
    expect([0, 1.5, 3, 9].map((t) => voltsAt(wave, t))).toEqual([0, 2, 2, 0]);
    expect(breaksOf(wave, 0, 9)).toEqual([1, 2, 4]);
  });
  it('that repeat begin again with their last instant', () => {
    const turning = { ...wave, repeat: true };
    expect([4.5, 6, 7.5].map((t) => voltsAt(turning, t))).toEqual([2, 2, 2]);
    expect(breaksOf(turning, 0, 8)).toEqual([1, 2, 4, 5, 7, 8]);
  });
  it('without a corner worth it break nowhere between their ends', () => {
    const n = 1000;
    const sine = Array.from({ length: n }, (_, i) => Math.sin((2 * Math.PI * i) / (n - 1)));
    const smooth: DriveWave = { kind: 'samples', instants: sine.map((_, i) => i), volts: sine };
    expect(breaksOf(smooth, 0, n)).toEqual([n - 1]);
  });
});

describe('any wave', () => {
  it('stays between its levels and moves continuously', () => {
    fc.assert(
      fc.property(waves, fc.double({ min: -3, max: 30, noNaN: true }), (wave, t) => {
        const v = voltsAt(wave, t);
        expect(v).toBeGreaterThanOrEqual(wave.low - 1e-9);
        expect(v).toBeLessThanOrEqual(wave.high + 1e-9);
        const steepest = (wave.high - wave.low) / Math.min(wave.rise, wave.fall);
        expect(Math.abs(voltsAt(wave, t + 1e-7) - v)).toBeLessThanOrEqual(1.01e-7 * steepest + 1e-9);
      }),
    );
  });

  it('has its breaks one after the other, and is smooth between them', () => {
    fc.assert(
      fc.property(waves, (wave) => {
        let t = -2;
        for (let k = 0; k < 20; k++) {
          const next = nextBreak(wave, t);
          expect(next).toBeGreaterThan(t);
          const end = Math.min(next, t + 1);
          // No corner inside: the second difference in the middle is that of a line or an exponential.
          const h = (end - t) / 8;
          const mid = t + 4 * h;
          const bend = voltsAt(wave, mid - h) - 2 * voltsAt(wave, mid) + voltsAt(wave, mid + h);
          const most = (wave.high - wave.low) * (h / Math.min(wave.rise, wave.fall)) ** 2;
          expect(Math.abs(bend)).toBeLessThanOrEqual(wave.edge === 'linear' ? 1e-9 : most + 1e-9);
          if (next === Infinity) break;
          t = next;
        }
      }),
    );
  });

  it('takes a nanosecond for an edge of no duration', () => {
    const sharp = { ...pulses, rise: 0, fall: 0 };
    expect(voltsAt(sharp, 5e-6 + LEAST_EDGE / 2)).toBeCloseTo(-3, 6);
    expect(nextBreak(sharp, 5e-6)).toBeCloseTo(5e-6 + LEAST_EDGE, 15);
  });
});
