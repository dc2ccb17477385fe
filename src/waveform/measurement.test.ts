import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  delay,
  type Estimate,
  edgesOf,
  isMeasured,
  type Measurement,
  measurement,
  stateLevels,
  type Timebase,
  type Trace,
} from './index.ts';

function traceOf(values: ArrayLike<number>, timebase: Timebase = { start: 0, step: 1e-6 }): Trace {
  return { name: 'A', unit: 'V', timebase, values: Float32Array.from(values) };
}

function made(n: number, v: (i: number) => number): number[] {
  return Array.from({ length: n }, (_, i) => v(i));
}

/** Up at `up`, down at `down` of every period, in samples, over ramps of `ramp`. */
function train(period: number, up: number, down: number, ramp: number): (i: number) => number {
  return (i) => {
    const p = i % period;
    return Math.min(1, Math.max(0, (p - up) / ramp)) - Math.min(1, Math.max(0, (p - down) / ramp));
  };
}

function generator(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

const value = (estimate: Estimate): number => (isMeasured(estimate) ? estimate.value : Number.NaN);

/** Numbers that depend on time, and on level. */
const times = (m: Measurement): number[] =>
  [m.period, m.pulseDuration, m.rise.duration, m.fall.duration, m.rise.settling].map(value);
const shares = (m: Measurement): number[] => [m.dutyFactor, m.rise.overshoot, m.fall.overshoot].map(value);
const volts = (m: Measurement): number[] => [m.levels.amplitude, m.peakToPeak].map(value);

function expectClose(found: readonly number[], wanted: readonly number[], relative = 1e-3): void {
  found.forEach((x, i) => {
    if (Number.isNaN(x) && Number.isNaN(wanted[i])) return;
    expect(Math.abs(x - wanted[i]!), `${found} for ${wanted}`).toBeLessThanOrEqual(
      relative * Math.abs(wanted[i]!) + 1e-9,
    );
  });
}

const shape = fc.record({
  period: fc.integer({ min: 60, max: 120 }),
  up: fc.integer({ min: 2, max: 8 }),
  width: fc.integer({ min: 20, max: 30 }),
  ramp: fc.integer({ min: 2, max: 12 }),
});

describe('a measurement', () => {
  it('scales with volts and shifts with an offset', () => {
    fc.assert(
      fc.property(
        shape,
        fc.double({ min: 0.01, max: 100, noNaN: true }),
        fc.double({ min: -10, max: 10, noNaN: true }),
        ({ period, up, width, ramp }, scale, offset) => {
          const wave = made(600, train(period, up, up + width, ramp));
          const plain = measurement(traceOf(wave));
          expect(plain.levels.method).toBe('histogram');
          const moved = measurement(traceOf(wave.map((v) => scale * (v + offset))));
          expectClose(times(moved), times(plain));
          expectClose(shares(moved), shares(plain));
          expectClose(
            volts(moved),
            volts(plain).map((v) => v * scale),
          );
          expectClose([value(moved.levels.low)], [scale * (value(plain.levels.low) + offset)], 1e-2);
          expect(moved.pulseCount).toBe(plain.pulseCount);
        },
      ),
    );
  });

  it('scales and shifts with time', () => {
    fc.assert(
      fc.property(
        shape,
        fc.double({ min: 1e-9, max: 10, noNaN: true }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        ({ period, up, width, ramp }, step, shift) => {
          const wave = made(600, train(period, up, up + width, ramp));
          const plain = measurement(traceOf(wave, { start: 0, step: 1 }));
          const moved = measurement(traceOf(wave, { start: shift * step, step }));
          expectClose(
            times(moved),
            times(plain).map((t) => t * step),
          );
          expectClose(shares(moved), shares(plain));
        },
      ),
    );
  });

  it('of the negative waveform with the other polarity is the same, rise and fall changed', () => {
    fc.assert(
      fc.property(shape, ({ period, up, width, ramp }) => {
        const wave = made(600, train(period, up, up + width, ramp));
        const plain = measurement(traceOf(wave));
        const turned = measurement(traceOf(wave.map((v) => -v)), { polarity: 'negative' });
        expectClose(
          [turned.period, turned.pulseDuration, turned.fall.duration, turned.rise.duration].map(value),
          [plain.period, plain.pulseDuration, plain.rise.duration, plain.fall.duration].map(value),
        );
      }),
    );
  });

  it('of the reversed waveform has the same pulses, rise and fall changed', () => {
    fc.assert(
      fc.property(shape, ({ period, up, width, ramp }) => {
        const wave = made(4 * period, train(period, up, up + width, ramp));
        const plain = measurement(traceOf(wave));
        const turned = measurement(traceOf(wave.toReversed()));
        expectClose(
          [turned.pulseDuration, turned.fall.duration, turned.rise.duration].map(value),
          [plain.pulseDuration, plain.rise.duration, plain.fall.duration].map(value),
        );
        expect(turned.pulseCount).toBe(plain.pulseCount);
      }),
    );
  });

  it('is the same from stamps as from an even interval', () => {
    const wave = made(500, train(80, 5, 30, 6));
    const even = measurement(traceOf(wave, { start: -1, step: 0.5 }));
    const stamps = Float64Array.from(wave, (_, i) => -1 + 0.5 * i);
    const stamped = measurement(traceOf(wave, { stamps }));
    expectClose(times(stamped), times(even), 1e-9);
    // The first and last stamp stand for half an interval each.
    expectClose([stamped.average, stamped.rms].map(value), [even.average, even.rms].map(value), 5e-3);
  });

  it('weights the average with the time between stamps', () => {
    const stamps = Float64Array.of(0, 1, 2, 3, 13, 23, 33);
    const average = value(measurement(traceOf([0, 0, 0, 0, 1, 1, 1], { stamps })).average);
    expect(average).toBeCloseTo(25 / 33, 6);
  });
});

describe('what cannot be had is a reason', () => {
  it.each([
    ['no samples', []],
    ['no samples', [Number.NaN, Number.NaN]],
    ['one level only', made(100, () => -6)],
  ] as const)('%s', (reason, values) => {
    const m = measurement(traceOf(values));
    expect(m.period).toEqual({ reason });
    expect(m.rise.duration).toEqual({ reason });
    expect(m.levels.amplitude).toEqual({ reason });
    expect(m.bursts).toEqual({ reason });
  });

  it('noise alone is one level, whatever the seed and the number of samples', () => {
    fc.assert(
      fc.property(fc.nat(), fc.integer({ min: 200, max: 20_000 }), (seed, n) => {
        const noise = generator(seed);
        const levels = stateLevels(traceOf(made(n, () => -3 + 0.02 * noise())));
        expect(levels.method).toBe('one level');
        expect(levels.states[0]!.value).toBeCloseTo(-3, 2);
      }),
      { numRuns: 25 },
    );
  });

  it('noise of a step or two of the resolution is one level', () => {
    const noise = generator(7);
    const values = made(2000, () => 0.04 * Math.round((-3 + 0.02 * noise()) / 0.04));
    expect(stateLevels(traceOf(values)).method).toBe('one level');
  });

  it('a single step has an instant and a duration, but no pulse and no period', () => {
    const m = measurement(traceOf(made(200, (i) => Math.min(1, Math.max(0, (i - 95) / 10)))));
    expect(value(m.rise.duration)).toBeCloseTo(8e-6, 9);
    expect(m.edges.mid[0]).toBeCloseTo(100e-6, 9);
    expect(m.pulseDuration).toEqual({ reason: 'no whole pulse' });
    expect(m.period).toEqual({ reason: 'no whole period' });
    expect(m.fall.duration).toEqual({ reason: 'no full transition' });
    expect(m.periodJitter).toEqual({ reason: 'fewer than three periods' });
  });

  it('a transition across a gap is no instant, and no period spans it', () => {
    const wave = made(1000, train(100, 20, 60, 4));
    // The third rise, at sample 222, is not seen.
    for (let i = 215; i < 230; i++) wave[i] = Number.NaN;
    const m = measurement(traceOf(wave));
    expect(m.pulseCount).toBe(9);
    expect(m.edges.mid.some((t) => t > 210e-6 && t < 235e-6)).toBe(false);
    expect(m.period).toMatchObject({ count: 7 });
    expect(value(m.period)).toBeCloseTo(100e-6, 9);
    expect(value(m.pulseDuration)).toBeCloseTo(40e-6, 9);
  });

  it('a pulse that does not reach the second reference level has no transition duration', () => {
    const wave = made(400, train(100, 20, 60, 8)).map((v, i) => (i < 100 ? 0.8 * v : v));
    const { rise } = measurement(traceOf(wave));
    expect(rise.count).toBe(4);
    expect(rise.duration).toMatchObject({ count: 3 });
  });
});

describe('levels', () => {
  it('of a staircase are all its steps', () => {
    const noise = generator(3);
    const steps = [0, 1.2, 2.4, 3.6, 4.8];
    const levels = stateLevels(traceOf(made(5000, (i) => steps[Math.floor(i / 250) % 5]! + 0.03 * noise())));
    expect(levels.states).toHaveLength(5);
    levels.states.forEach((state, k) => {
      expect(Math.abs(state.value - steps[k]!)).toBeLessThan(4 * state.uncertainty);
      expect(state.noise).toBeCloseTo(0.03, 2);
    });
  });

  it('of a staircase with a step in the middle of its range are found whatever the noise makes of it', () => {
    fc.assert(
      fc.property(fc.nat(), fc.constantFrom(3, 5, 7), (seed, steps) => {
        const noise = generator(seed);
        const values = made(6000, (i) => (Math.floor(i / 200) % steps) * 0.9 + 0.03 * noise());
        const levels = stateLevels(traceOf(values));
        expect(levels.states).toHaveLength(steps);
        expectClose(
          levels.states.map((state) => state.value + 1),
          made(steps, (k) => 0.9 * k + 1),
          5e-3,
        );
        expectClose([value(levels.amplitude)], [0.9 * (steps - 1)], 5e-3);
      }),
      { numRuns: 40 },
    );
  });

  it('of a triangle are its ends', () => {
    const levels = stateLevels(traceOf(made(2000, (i) => Math.abs((i % 200) - 100) / 100)));
    expect(levels.method).toBe('extremes');
    expect([levels.low, levels.high].map(value)).toEqual([0, 1]);
  });

  it('of a resolution coarser than the noise know the step of it', () => {
    const noise = generator(5);
    const clean = train(100, 20, 60, 17.3);
    const values = made(4000, (i) => 0.05 * Math.round((5 * clean(i) + 0.06 * noise()) / 0.05));
    const levels = stateLevels(traceOf(values));
    expect(levels.quantum).toBeCloseTo(0.05, 4);
    expect(Math.abs(value(levels.high) - 5)).toBeLessThan(0.02);
  });

  it('that are given are taken', () => {
    const m = measurement(traceOf(made(400, train(100, 20, 60, 10))), { levels: { low: 0, high: 2 } });
    expect(m.levels.method).toBe('given');
    expect(() => measurement(traceOf([0, 1]), { levels: { low: 2, high: 1 } })).toThrow(/2 and 1/);
  });
});

describe('uncertainties', () => {
  it('hold the truth within four of them, and not always within a quarter of one', () => {
    let far = 0;
    const wave = train(100, 20, 60, 10);
    for (let seed = 0; seed < 60; seed++) {
      const noise = generator(seed);
      const m = measurement(traceOf(made(1000, (i) => wave(i) + 0.02 * noise())));
      const found: [Estimate, number][] = [
        [m.levels.low, 0],
        [m.levels.high, 1],
        [m.period, 100e-6],
        [m.pulseDuration, 40e-6],
      ];
      for (const [estimate, truth] of found.slice(2)) {
        const { uncertainty } = estimate as { uncertainty: number };
        const off = Math.abs(value(estimate) - truth) / uncertainty;
        expect(off).toBeLessThan(4);
        if (off > 0.25) far++;
      }
    }
    expect(far).toBeGreaterThan(40);
  });
});

describe('jitter', () => {
  it('of instants that are off by a known spread is that spread', () => {
    const noise = generator(11);
    const ups = made(400, (k) => 50 + 100 * k + 2 * noise());
    const wave = made(40_100, (i) => {
      const k = Math.min(399, Math.max(0, Math.round((i - 70) / 100)));
      const p = i - ups[k]!;
      return Math.min(1, Math.max(0, p / 4)) - Math.min(1, Math.max(0, (p - 40) / 4));
    });
    const m = measurement(traceOf(wave));
    const edge = m.edgeJitter as { value: number; uncertainty: number };
    expect(Math.abs(edge.value - 2e-6)).toBeLessThan(4 * edge.uncertainty);
    // Neighbouring edges are independent, so that a period has twice the variance.
    expect(Math.abs(value(m.periodJitter) / edge.value - Math.SQRT2)).toBeLessThan(0.15);
  });
});

describe('bursts', () => {
  const wave = made(5000, (i) => (i % 1000 >= 100 && i % 1000 < 500 ? train(50, 5, 25, 4)(i % 1000) : 0));

  it('are groups of pulses with pauses between them', () => {
    const m = measurement(traceOf(wave));
    if ('reason' in m.bursts) throw new Error(m.bursts.reason);
    expect(m.levels.method).toBe('histogram');
    // The pause before the first one is not seen whole.
    expect(m.bursts.count).toBe(5);
    expect(m.bursts.pulses).toMatchObject({ value: 8, count: 4 });
    expect(value(m.bursts.period)).toBeCloseTo(1000e-6, 9);
    expect(Math.abs(value(m.bursts.duration) - 370e-6)).toBeLessThan(0.2e-6);
    expect(value(m.period)).toBeCloseTo(50e-6, 9);
  });

  it('cut by the window are counted, but not measured', () => {
    const { bursts } = measurement(traceOf(wave), { window: { from: 300e-6, to: 3300e-6 } });
    expect(bursts).toMatchObject({ count: 4, pulses: { value: 8, count: 2 } });
  });

  it('are not seen in a steady train', () => {
    expect(measurement(traceOf(made(1000, train(100, 20, 60, 4)))).bursts).toHaveProperty('reason');
  });
});

describe('a window', () => {
  it('counts the pulses that begin in it', () => {
    const trace = traceOf(made(1000, train(100, 20, 60, 4)));
    for (const [from, to, count] of [
      [0, 1e-3, 10],
      [100e-6, 399e-6, 3],
      [130e-6, 310e-6, 1],
    ] as const) {
      expect(measurement(trace, { window: { from, to } }).pulseCount).toBe(count);
    }
  });
});

describe('the delay of two traces', () => {
  it('is from each edge to the next of the other', () => {
    const a = edgesOf(traceOf(made(1000, train(100, 20, 60, 4))));
    const b = edgesOf(traceOf(made(1000, train(100, 27, 70, 4))));
    expect(value(delay(a, b, { from: 'rising', to: 'rising' }))).toBeCloseTo(7e-6, 9);
    expect(value(delay(a, b, { from: 'falling', to: 'falling' }))).toBeCloseTo(10e-6, 9);
    expect(delay(a, edgesOf(traceOf(made(100, () => 1))))).toEqual({ reason: 'one level only' });
  });
});
