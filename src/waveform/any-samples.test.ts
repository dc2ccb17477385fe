import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  alignByCorrelation,
  alignByEdges,
  comparison,
  type Estimate,
  edgesOf,
  logicTrace,
  measurement,
  Pyramid,
  type Trace,
} from './index.ts';

const samples = fc.oneof(
  fc.array(fc.oneof(fc.float(), fc.constantFrom(0, 1, 5, Number.NaN)), { maxLength: 60 }),
  fc.array(fc.constantFrom(0, 0, 0, 1, 2, 5, 5, 5, Number.NaN), { maxLength: 200 }),
  fc.array(fc.float({ min: -12, max: 0, noNaN: true }), { minLength: 30, maxLength: 300 }),
);

const trace = fc.tuple(samples, fc.boolean()).map(([values, stamped]): Trace => {
  const stamps = Float64Array.from(values, (_, i) => i + Math.floor(i / 7));
  return {
    name: 'A',
    unit: 'V',
    timebase: stamped ? { stamps } : { start: -5, step: 0.5 },
    values: Float32Array.from(values),
  };
});

function* estimates(value: unknown): Generator<Estimate> {
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return;
  if ('uncertainty' in value) yield value as Estimate;
  for (const part of Object.values(value)) yield* estimates(part);
}

describe('whatever the samples', () => {
  it('a measurement is numbers with uncertainties, or reasons', () => {
    fc.assert(
      fc.property(trace, (t) => {
        for (const estimate of estimates(measurement(t))) {
          if ('reason' in estimate) continue;
          expect(estimate.value).not.toBeNaN();
          expect(estimate.uncertainty).toBeGreaterThanOrEqual(0);
        }
      }),
      { numRuns: 200 },
    );
  });

  it('edges alternate within a stretch, in the order of time', () => {
    fc.assert(
      fc.property(trace, (t) => {
        const { count, rising, mid, begin, end, stretch } = edgesOf(t);
        for (let i = 0; i < count; i++) {
          expect(begin[i]! > mid[i]!).toBe(false);
          expect(end[i]! < mid[i]!).toBe(false);
          if (i === 0) continue;
          expect(mid[i]).toBeGreaterThan(mid[i - 1]!);
          if (stretch[i] === stretch[i - 1]) expect(rising[i]).toBe(1 - rising[i - 1]!);
        }
      }),
      { numRuns: 200 },
    );
  });

  it('two traces are aligned and compared, or there is a reason', () => {
    fc.assert(
      fc.property(trace, trace, (one, two) => {
        for (const alignment of [
          alignByCorrelation(one, two, { rate: 0.01 }),
          alignByCorrelation(one, two),
          alignByEdges(edgesOf(one), edgesOf(two)),
        ]) {
          if ('reason' in alignment) continue;
          expect(Number.isFinite(alignment.map.offset)).toBe(true);
          expect(alignment.map.rate).toBeGreaterThan(0.98);
          comparison(one, two, { map: alignment.map });
        }
        const plain = comparison(one, two);
        if ('reason' in plain) return;
        for (const { from, to } of plain.differences) expect(to).toBeGreaterThanOrEqual(from);
      }),
      { numRuns: 150 },
    );
  });

  it('a trace does not differ from itself', () => {
    fc.assert(
      fc.property(trace, (t) => {
        const same = comparison(t, t);
        if (!('reason' in same)) expect(same.differences).toEqual([]);
      }),
      { numRuns: 150 },
    );
  });

  it('there are logic states in rising order, and columns', () => {
    fc.assert(
      fc.property(trace, (t) => {
        const { instants, states } = logicTrace(t);
        expect(instants).toHaveLength(states.length);
        for (let i = 1; i < instants.length; i++) expect(instants[i]).toBeGreaterThan(instants[i - 1]!);
        expect(new Pyramid(t).columns(-5, 40, 10).min).toHaveLength(10);
      }),
    );
  });
});
