import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { segments } from './stave-geometry.ts';

describe('a stave', () => {
  it('is one whole: its segments fill it in order, whatever the shares', () => {
    const share = fc.double({ min: 0, max: 1, noNaN: true });
    fc.assert(
      fc.property(
        fc.array(share, { minLength: 1, maxLength: 14 }),
        fc.integer({ min: 120, max: 800 }),
        (shares, length) => {
          const parts = segments(
            shares.map((one, i) => ({ key: String(i), share: one })),
            length,
          );
          expect(parts[0]!.from).toBe(0);
          expect(parts.at(-1)!.to).toBeCloseTo(length);
          for (const [i, { from, to }] of parts.entries()) {
            expect(to).toBeGreaterThan(from);
            if (i > 0) expect(from).toBeCloseTo(parts[i - 1]!.to + 2);
          }
        },
      ),
    );
  });

  it('gives a share its length, and hardly anything still a line', () => {
    const [large, small, none] = segments(
      [
        { key: 'a', share: 0.75 },
        { key: 'b', share: 0.25 },
        { key: 'c', share: 0 },
      ],
      208.5,
    );
    expect(large!.to - large!.from).toBeCloseTo(1.5 + 150);
    expect(small!.to - small!.from).toBeCloseTo(1.5 + 50);
    expect(none!.to - none!.from).toBeCloseTo(1.5);
  });
});
