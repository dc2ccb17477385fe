import { describe, expect, it } from 'vitest';
import { instantAt } from './trace.ts';

describe('instants of a trace', () => {
  it('are evenly spaced from the start, or as stamped', () => {
    expect(instantAt({ start: -1e-3, step: 1e-5 }, 100)).toBeCloseTo(0, 12);
    expect(instantAt({ stamps: Float64Array.of(0, 2, 7) }, 2)).toBe(7);
  });
});
