import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantAt, Pyramid, type Timebase, type Trace } from './index.ts';

function traceOf(values: Float32Array, timebase: Timebase = { start: -0.3, step: 0.1 }): Trace {
  return { name: 'A', unit: 'V', timebase, values };
}

const samples = fc
  .tuple(fc.nat(), fc.integer({ min: 1, max: 6000 }), fc.constantFrom(0, 0.02, 0.6, 1))
  .map(([seed, n, gaps]) => {
    let state = seed >>> 0;
    const random = (): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 2 ** 32;
    };
    let missing = 0;
    return Float32Array.from({ length: n }, () => {
      // Gaps come in runs, some longer than a block.
      if (missing === 0 && random() < gaps / 20) missing = Math.ceil(random() * 700);
      if (missing > 0) missing--;
      return missing > 0 || gaps === 1 ? Number.NaN : random() - 0.5;
    });
  });

/** The same columns by looking at every sample. */
function plainly(
  { values, timebase }: Trace,
  from: number,
  to: number,
  width: number,
): (readonly number[])[] {
  return Array.from({ length: width }, (_, c) => {
    const start = from + (c * (to - from)) / width;
    const end = c + 1 === width ? to : from + ((c + 1) * (to - from)) / width;
    const inside = [...values.keys()].filter((i) => {
      const t = instantAt(timebase, i);
      return t >= start && (t < end || (c + 1 === width && t === to));
    });
    const numbers = inside.map((i) => values[i]!).filter((v) => !Number.isNaN(v));
    const none = numbers.length === 0;
    return [
      none ? Number.NaN : Math.min(...numbers),
      none ? Number.NaN : Math.max(...numbers),
      numbers[0] ?? Number.NaN,
      numbers.at(-1) ?? Number.NaN,
      inside.length,
      numbers.length < inside.length ? 1 : 0,
    ];
  });
}

function shown(pyramid: Pyramid, from: number, to: number, width: number): (readonly number[])[] {
  const { min, max, first, last, count, gap } = pyramid.columns(from, to, width);
  return Array.from(min, (_, c) => [min[c]!, max[c]!, first[c]!, last[c]!, count[c]!, gap[c]!]);
}

const stretch = fc.record({
  from: fc.double({ min: -20, max: 600, noNaN: true }),
  length: fc.double({ min: 0.05, max: 700, noNaN: true }),
  width: fc.integer({ min: 1, max: 60 }),
});

describe('columns of a trace', () => {
  it('are what every sample of the stretch says, gaps and all', () => {
    fc.assert(
      fc.property(samples, stretch, (values, { from, length, width }) => {
        const trace = traceOf(values);
        expect(shown(new Pyramid(trace), from, from + length, width)).toEqual(
          plainly(trace, from, from + length, width),
        );
      }),
      { numRuns: 60 },
    );
  });

  it('are so for stamps, too', () => {
    fc.assert(
      fc.property(samples, stretch, (values, { from, length, width }) => {
        const stamps = Float64Array.from(values, (_, i) => i * 0.1 + 5 * Math.sin(i / 60));
        const trace = traceOf(values, { stamps: stamps.sort() });
        expect(shown(new Pyramid(trace), from, from + length, width)).toEqual(
          plainly(trace, from, from + length, width),
        );
      }),
      { numRuns: 40 },
    );
  });

  it('of a trace that came in pieces are those of the whole', () => {
    fc.assert(
      fc.property(samples, fc.array(fc.nat(6000)), stretch, (values, cuts, { from, length, width }) => {
        const whole = traceOf(values);
        const ends = cuts.filter((cut) => cut < values.length).sort((a, b) => a - b);
        const pyramid = new Pyramid(traceOf(values.subarray(0, 0)));
        for (const end of [...ends, values.length]) pyramid.extend(traceOf(values.subarray(0, end)));
        expect(shown(pyramid, from, from + length, width)).toEqual(
          shown(new Pyramid(whole), from, from + length, width),
        );
      }),
      { numRuns: 60 },
    );
  });

  it('say what was wrong with the stretch asked for', () => {
    const pyramid = new Pyramid(traceOf(Float32Array.of(1, 2, 3)));
    expect(() => pyramid.columns(0, 1, 0)).toThrow(/0 columns/);
    expect(() => pyramid.columns(1, 1, 10)).toThrow(/from 1 to 1/);
    expect(() => pyramid.extend(traceOf(Float32Array.of(1)))).toThrow(/1 samples .* 3/);
  });
});
