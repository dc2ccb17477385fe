import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Alignment,
  alignByCorrelation,
  alignByEdges,
  crossCorrelation,
  edgesOf,
  inverseMap,
  mapped,
  type NoAlignment,
  type Trace,
} from './index.ts';

function uniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
}

function gaussian(seed: number): () => number {
  const random = uniform(seed);
  return () => Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
}

/** A word of random bits as a voltage over time in cells: edges of a fifth of a cell, defined at every instant. */
function word(bits: readonly number[]): (cells: number) => number {
  return (cells) => {
    const k = Math.floor(cells);
    const [from, to] = [bits[k - 1] ?? 0, bits[k] ?? 0];
    return from + (to - from) * Math.min(1, (cells - k) / 0.2);
  };
}

function bitsOf(seed: number, n: number): number[] {
  const random = uniform(seed);
  return Array.from({ length: n }, () => (random() > 0.5 ? 1 : 0));
}

interface Capture {
  readonly cell: number;
  readonly samples: number;
  readonly start: number;
  readonly rate?: number;
  readonly noise?: number;
  readonly seed?: number;
  readonly gain?: number;
}

/** A capture of `wave`: the sample at `start + i` seconds sees the wave as it is at time `t / rate`. */
function capture(wave: (cells: number) => number, c: Capture): Trace {
  const noise = gaussian(c.seed ?? 1);
  const values = Float32Array.from({ length: c.samples }, (_, i) => {
    const t = c.start + i;
    return (c.gain ?? 1) * wave(t / (c.rate ?? 1) / c.cell) + (c.noise ?? 0) * noise();
  });
  return { name: '', unit: 'V', timebase: { start: c.start, step: 1 }, values };
}

function found(alignment: Alignment | NoAlignment): Alignment {
  if ('reason' in alignment) throw new Error(alignment.reason);
  return alignment;
}

describe('a correlation', () => {
  it('by transforms is the sum of products at every lag', () => {
    const series = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 1, maxLength: 40 });
    fc.assert(
      fc.property(series, series, (a, b) => {
        const sums = crossCorrelation(a, b);
        expect(sums).toHaveLength(a.length + b.length - 1);
        sums.forEach((sum, k) => {
          const lag = k - a.length + 1;
          const plain = a.reduce((total, v, i) => total + v * (b[i + lag] ?? 0), 0);
          expect(Math.abs(sum - plain)).toBeLessThan(1e-10);
        });
      }),
    );
  });
});

describe('alignment by correlation', () => {
  it.each([
    [10, 4_000, 0.01],
    [40, 20_000, 0.01],
    // Edges of 1.8 samples: what lies between the samples is not on record.
    [9, 90_000, 0.1],
    [400, 300_000, 0.01],
  ])('finds a shift to a fraction of a sample: cells of %i samples, %i samples', (cell, samples, within) => {
    const wave = word(bitsOf(5, samples));
    for (const shift of [0, 0.37, -123.62, samples / 3 + 0.25]) {
      const first = capture(wave, { cell, samples, start: 1000 });
      const second = capture((cells) => wave(cells - shift / cell), {
        cell,
        samples,
        start: 1000,
        gain: 0.8,
      });
      const { map, likeness } = found(alignByCorrelation(first, second));
      expect(map.rate).toBe(1);
      expect(Math.abs(map.offset - shift)).toBeLessThan(within);
      expect(likeness).toBeGreaterThan(0.99);
    }
  });

  it('is within four of its stated uncertainties of the truth in noise, and not drawn to half samples', () => {
    const wave = word(bitsOf(6, 2000));
    let sum = 0;
    for (let seed = 0; seed < 20; seed++) {
      const shift = 40 + 0.1 * (seed % 5);
      const common = { cell: 20, samples: 6000, start: 0, noise: 0.1 };
      const first = capture(wave, { ...common, seed: 2 * seed + 1 });
      const second = capture((cells) => wave(cells - shift / 20), { ...common, seed: 2 * seed + 2 });
      const { map, offsetUncertainty } = found(alignByCorrelation(first, second));
      const off = (map.offset - shift) / (Math.SQRT2 * offsetUncertainty);
      expect(Math.abs(off)).toBeLessThan(4);
      sum += map.offset - shift;
    }
    expect(Math.abs(sum / 20)).toBeLessThan(0.02);
  });

  it.each([0.99, 0.9987, 1.0001, 1.0093])('finds clocks that differ, rate %f', (rate) => {
    const wave = word(bitsOf(7, 8000));
    const first = capture(wave, { cell: 25, samples: 60_000, start: 0, noise: 0.02, seed: 3 });
    const second = capture((cells) => wave(cells - 12.34), {
      cell: 25,
      samples: 60_000,
      start: -500,
      rate,
      noise: 0.02,
      seed: 4,
    });
    const { map } = found(alignByCorrelation(first, second, { rate: 0.01 }));
    expect(Math.abs(map.rate - rate)).toBeLessThan(2e-7);
    // At the middle of the trace, since an error of the rate turns the line about it.
    expect(Math.abs(mapped(map, 30_000) - rate * (30_000 + 12.34 * 25))).toBeLessThan(0.02);
  });

  it('takes stamps and different intervals', () => {
    const wave = word(bitsOf(8, 400));
    const first = capture(wave, { cell: 25, samples: 8000, start: 0 });
    const stamps = Float64Array.from({ length: 9000 }, (_, i) => 0.9 * i + 0.2 * Math.sin(i));
    const values = Float32Array.from(stamps, (t) => wave((t - 31.5) / 25));
    const { map } = found(alignByCorrelation(first, { name: '', unit: 'V', timebase: { stamps }, values }));
    expect(Math.abs(map.offset - 31.5)).toBeLessThan(0.05);
  });

  it('is not misled by gaps and missing pulses', () => {
    const bits = bitsOf(9, 400);
    const first = capture(word(bits), { cell: 25, samples: 8000, start: 0 });
    const wave = word(bits.with(100, 0).with(101, 0).with(200, 1));
    const second = capture((cells) => wave(cells - 2), { cell: 25, samples: 8000, start: 0 });
    second.values.fill(Number.NaN, 3000, 3300);
    const { map } = found(alignByCorrelation(first, second));
    expect(Math.abs(map.offset - 50)).toBeLessThan(0.01);
  });

  it('names a rival where the trace repeats itself', () => {
    const wave = (cells: number): number => word([0, 1])(cells % 2);
    const first = capture(wave, { cell: 50, samples: 20_000, start: 0 });
    const { rival } = found(alignByCorrelation(first, first));
    expect(Math.abs(Math.abs(rival!) - 100)).toBeLessThan(1);
  });

  it('of what does not move, or is not alike, is none', () => {
    const flat = capture(() => 3, { cell: 1, samples: 100, start: 0 });
    const one = capture(word(bitsOf(1, 300)), { cell: 10, samples: 3000, start: 0 });
    const noise = capture(() => 0, { cell: 10, samples: 3000, start: 0, noise: 1, seed: 77 });
    expect(alignByCorrelation(flat, one)).toEqual({ reason: 'one level only' });
    expect(alignByCorrelation(one, noise)).toEqual({ reason: 'nothing alike' });
  });
});

describe('alignment by edges', () => {
  it('finds shift and rate, with edges missing and added', () => {
    fc.assert(
      fc.property(
        fc.nat(10_000),
        fc.double({ min: -300, max: 300, noNaN: true }),
        fc.double({ min: 0.99, max: 1.01, noNaN: true }),
        (seed, shift, rate) => {
          const bits = bitsOf(seed, 600);
          const first = capture(word(bits), { cell: 20, samples: 8000, start: 0, seed: 1, noise: 0.01 });
          const wave = word(bits.map((bit, k) => (k % 97 === 50 ? 1 - bit : bit)));
          const second = capture((cells) => wave(cells - shift / 20), {
            cell: 20,
            samples: 8000,
            start: 0,
            rate,
            seed: 2,
            noise: 0.01,
          });
          const { map, likeness } = found(alignByEdges(edgesOf(first), edgesOf(second), { rate: 0.012 }));
          expect(Math.abs(map.rate - rate)).toBeLessThan(1e-5);
          expect(Math.abs(mapped(map, 4000) - rate * (4000 + shift))).toBeLessThan(0.1);
          expect(likeness).toBeGreaterThan(0.9);
        },
      ),
      { numRuns: 40 },
    );
  });

  it('of a trace with one level is none', () => {
    const flat = edgesOf(capture(() => 3, { cell: 1, samples: 100, start: 0 }));
    expect(alignByEdges(flat, flat)).toEqual({ reason: 'one level only' });
  });
});

describe('a time map', () => {
  it('and its inverse undo each other', () => {
    const map = { offset: 3e-3, rate: 1.004 };
    expect(mapped(inverseMap(map), mapped(map, 0.7))).toBeCloseTo(0.7, 12);
  });
});
