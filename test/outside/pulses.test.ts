/**
 * Pulse parameters against closed forms.
 *
 * Waveforms are made here from the formula named above each; what is expected follows from the same formula and from nothing that
 * the program computes. Terms: IEEE Std 181-2011. Tolerances are those of a table of reference waveforms made apart from this program.
 */
import { describe, expect, it } from 'vitest';
import { type Estimate, isMeasured, measurement, type Trace } from '../../src/waveform/index.ts';

function trace(start: number, step: number, samples: number, v: (t: number, i: number) => number): Trace {
  const values = Float32Array.from({ length: samples }, (_, i) => v(start + i * step, i));
  return { name: 'A', unit: 'V', timebase: { start, step }, values };
}

function value(estimate: Estimate): number {
  if (!isMeasured(estimate)) throw new Error(estimate.reason);
  return estimate.value;
}

function expectWithin(estimate: Estimate, wanted: number, tolerance: number): void {
  expect(Math.abs(value(estimate) - wanted), `${value(estimate)} for ${wanted}`).toBeLessThanOrEqual(
    tolerance,
  );
}

/** Error function by its alternating series, which is exact to double precision for the arguments here (below 5 beside 1). */
function erf(x: number): number {
  if (Math.abs(x) > 5) return Math.sign(x);
  let [term, sum] = [x, x];
  for (let n = 1; Math.abs(term) > 1e-17 * Math.abs(sum) && n < 200; n++) {
    term *= (-x * x) / n;
    sum += term / (2 * n + 1);
  }
  return (2 / Math.sqrt(Math.PI)) * sum;
}

/** Numerical Recipes' quick linear generator (from memory) and the polar method of Box and Muller. */
function gaussian(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

/** -11.5 V to -0.3 V every 50 us: up from 5 us to 7 us, down from 25 us to 29 us. */
function trapezoids(t: number): number {
  const p = t - 50e-6 * Math.floor(t / 50e-6 + 1e-9);
  const high = Math.min(1, Math.max(0, (p - 5e-6) / 2e-6)) - Math.min(1, Math.max(0, (p - 25e-6) / 4e-6));
  return -11.5 + 11.2 * high;
}

describe('pulse parameters', () => {
  it('of an exponential rise: t10 = tau ln(1/0.9), t90 = tau ln 10', () => {
    const tau = 10e-6;
    const { rise, edges } = measurement(
      trace(-1e-5, 1e-7, 1100, (t) => (t < 0 ? 0 : -5 * Math.expm1(-t / tau))),
    );
    expectWithin(rise.duration, tau * Math.log(9), 0.003 * 2.1972246e-5);
    expect(edges.mid[0]).toBeCloseTo(tau * Math.LN2, 7);
  });

  it('of an error-function fall: 2 x 1.2815516 sigma from 90 to 10 %, the normal quantile', () => {
    const edge = (t: number): number => -3 * (1 + erf((t - 20e-6) / (2e-6 * Math.SQRT2)));
    const { fall, edges } = measurement(trace(-1e-5, 1e-7, 1100, edge));
    expectWithin(fall.duration, 2 * 1.2815515655446004 * 2e-6, 0.003 * 5.1262063e-6);
    expect(Math.abs(edges.mid[0]! - 20e-6)).toBeLessThan(0.02e-6);
  });

  it('of a train of trapezoids: edges, width, period and duty factor', () => {
    const m = measurement(trace(0, 5e-8, 4000, trapezoids));
    expectWithin(m.levels.low, -11.5, 0.06);
    expectWithin(m.levels.high, -0.3, 0.06);
    expectWithin(m.period, 50e-6, 0.01e-6);
    expectWithin(m.pulseDuration, 21e-6, 0.05e-6);
    expectWithin(m.rise.duration, 1.6e-6, 0.03e-6);
    expectWithin(m.fall.duration, 3.2e-6, 0.03e-6);
    expectWithin(m.dutyFactor, 0.42, 0.001);
    expectWithin(m.frequency, 20e3, 4);
    expect(m.pulseCount).toBe(4);
    expectWithin(m.average, -11.5 + 11.2 * 0.42, 0.01);
    expectWithin(m.rms, Math.sqrt(meanSquare()), 0.01);
  });

  it.each([1, 2, 3, 4, 5])('of the same train in noise of 0.12 V rms, seed %i', (seed) => {
    const noise = gaussian(seed);
    const m = measurement(trace(0, 5e-8, 4000, (t) => trapezoids(t) + 0.12 * noise()));
    expectWithin(m.levels.low, -11.5, 0.1);
    expectWithin(m.levels.high, -0.3, 0.1);
    expectWithin(m.period, 50e-6, 0.1e-6);
    expectWithin(m.pulseDuration, 21e-6, 0.3e-6);
    expectWithin(m.rise.duration, 1.6e-6, 0.15 * 1.6e-6);
    expectWithin(m.fall.duration, 3.2e-6, 0.15 * 3.2e-6);
    expect(m.pulseCount).toBe(4);
    expect(Math.abs(m.levels.noise - 0.12)).toBeLessThan(0.012);
    // The stated uncertainties hold what they promise: no error beyond four of them.
    for (const [estimate, wanted] of [
      [m.period, 50e-6],
      [m.pulseDuration, 21e-6],
      [m.levels.low, -11.5],
      [m.levels.high, -0.3],
    ] as const) {
      const { uncertainty } = estimate as { uncertainty: number };
      expectWithin(estimate, wanted, 4 * uncertainty + 0.002 * Math.abs(wanted));
    }
  });

  it('of a second-order step: overshoot exp(-pi z / sqrt(1 - z^2)), undershoot its square', () => {
    const [z, wn] = [0.5, 2 * Math.PI * 100e3];
    const wd = wn * Math.sqrt(1 - z * z);
    const step = (t: number): number =>
      t < 0
        ? 0
        : 1 - Math.exp(-z * wn * t) * (Math.cos(wd * t) + (z / Math.sqrt(1 - z * z)) * Math.sin(wd * t));
    const { rise } = measurement(trace(-5e-6, 2.5e-8, 2200, step));
    const overshoot = Math.exp((-Math.PI * z) / Math.sqrt(1 - z * z));
    expectWithin(rise.overshoot, overshoot, 0.003);
    expectWithin(rise.undershoot, overshoot ** 2, 0.003);
    expectWithin(rise.duration, 2.6062783e-6, 0.005 * 2.6062783e-6);
  });

  it('of two equal RC behind one another: 3.357909 tau, the root of (1 + x) exp(-x)', () => {
    const tau = 5e-6;
    const edge = (t: number): number => (t < 0 ? 0 : 4 * (1 - (1 + t / tau) * Math.exp(-t / tau)));
    const { rise } = measurement(trace(-1e-5, 1e-7, 1100, edge));
    expectWithin(rise.duration, 3.357909 * tau, 0.003 * 1.6789543e-5);
  });

  it('of an exponential rise settle at tau ln 20 - tau ln 2 within 5 %', () => {
    const tau = 10e-6;
    const { rise } = measurement(trace(-1e-5, 1e-7, 2000, (t) => (t < 0 ? 0 : -5 * Math.expm1(-t / tau))));
    expectWithin(rise.settling, tau * Math.log(10), 0.02 * tau);
  });
});

/** Mean square of the trapezoid over a period: flats, and ramps by Simpson's rule, which is exact for squares of lines. */
function meanSquare(): number {
  const ramp = (11.5 ** 2 + 4 * 5.9 ** 2 + 0.3 ** 2) / 6;
  return (11.5 ** 2 * (5 + 21) + 0.3 ** 2 * 18 + ramp * (2 + 4)) / 50;
}
