/**
 * Correlation and alignment against a general-purpose signal library: scipy 1.17.1 with numpy 2.4.6, Python 3.
 *
 * Both sides make the same series from a stated integer generator, s <- (1664525 s + 1013904223) mod 2^32. Recorded are, for
 * `c = scipy.signal.correlate(b, a, 'full')`, sums at seven lags and the lag of the greatest; and for pulses at stated places the lag of
 * the greatest sum after `scipy.signal.resample` of the 512 sums about it to 64 times as many (so that it is known to 1/64 of a sample).
 */
import { describe, expect, it } from 'vitest';
import { alignByCorrelation, crossCorrelation, type Trace } from '../../src/waveform/index.ts';

function generated(seed: number, n: number, value: (state: number) => number): number[] {
  let state = seed;
  return Array.from({ length: n }, () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return value(state);
  });
}

/** 1000 whole numbers of -128 to 127 from seed 1; 1200 of seed 2, with twice the first ones added from the 137th on. */
function integers(): { a: number[]; b: number[] } {
  const a = generated(1, 1000, (state) => (state >>> 24) - 128);
  const b = generated(2, 1200, (state) => (state >>> 24) - 128).map((v, i) => v + 2 * (a[i - 137] ?? 0));
  return { a, b };
}

/** 60 Gaussian pulses of sigma 4 samples at places (s >> 16) * 4000 / 65536 from seed 9, over 4000 samples. */
function pulses(shift: number, height: number): Trace {
  const places = generated(9, 60, (state) => ((state >>> 16) * 4000) / 65536);
  const values = Float32Array.from({ length: 4000 }, (_, i) =>
    places.reduce((sum, place) => sum + height * Math.exp(-0.5 * ((i - place - shift) / 4) ** 2), 0),
  );
  return { name: '', unit: 'V', timebase: { start: 0, step: 1 }, values };
}

describe('cross-correlation', () => {
  it.each([
    [-999, 6120],
    [-499, 76132],
    [0, 699522],
    [137, 11041146],
    [138, 331783],
    [501, 424211],
    [1199, 6936],
  ])('at lag %i is %i', (lag, sum) => {
    const { a, b } = integers();
    expect(crossCorrelation(a, b)[lag + 999]).toBeCloseTo(sum, 5);
  });

  it('is greatest at lag 137', () => {
    const { a, b } = integers();
    const sums = crossCorrelation(a, b);
    expect(sums.indexOf(sums.reduce((most, sum) => Math.max(most, sum))) - 999).toBe(137);
  });
});

describe('alignment by correlation', () => {
  it('finds the lag of the greatest sum in noise', () => {
    const { a, b } = integers();
    const trace = (values: number[]): Trace => ({
      name: '',
      unit: 'V',
      timebase: { start: 0, step: 1 },
      values: Float32Array.from(values),
    });
    const alignment = alignByCorrelation(trace(a), trace(b));
    if ('reason' in alignment) throw new Error(alignment.reason);
    expect(Math.abs(alignment.map.offset - 137)).toBeLessThan(0.05);
  });

  // Shift made, integer lag of the greatest sum, lag after resampling.
  it.each([
    [0.25, 0, 0.25],
    [12.3, 12, 12.28125],
    [-57.81, -58, -57.8125],
  ])('finds a shift of %f between samples', (shift, whole, resampled) => {
    const [first, second] = [pulses(0, 1), pulses(shift, 0.7)];
    const sums = crossCorrelation(first.values, second.values);
    expect(sums.indexOf(sums.reduce((most, sum) => Math.max(most, sum))) - 3999).toBe(whole);
    const alignment = alignByCorrelation(first, second);
    if ('reason' in alignment) throw new Error(alignment.reason);
    expect(Math.abs(alignment.map.offset - resampled)).toBeLessThan(1 / 64 + 0.01);
    expect(Math.abs(alignment.map.offset - shift)).toBeLessThan(0.01);
  });
});
