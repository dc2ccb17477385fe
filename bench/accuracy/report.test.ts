import { describe, expect, it } from 'vitest';
import { reliability, sections, text, wilson } from './report.ts';
import type { Score } from './score.ts';

const one = (right: boolean, probability: number): Score => ({
  board: 'T',
  kind: 'all',
  twin: 'all',
  number: 1,
  planted: ['T/R1:open'],
  right,
  named: right ? 'T/R1' : 'T/R2',
  probability,
  claims: [[probability, right]],
  invisible: 1,
  restless: 0,
  milliseconds: 1,
});

describe('the report', () => {
  it('gives Wilson the interval of a share', () => {
    // Newcombe, Statistics in Medicine 17 (1998) 857-872, table I: 81 of 263 gives 0.2553 to 0.3662 (from memory).
    const [low, high] = wilson(81, 263);
    expect(low).toBeCloseTo(0.2553, 3);
    expect(high).toBeCloseTo(0.3662, 3);
    expect(wilson(0, 0)).toEqual([0, 1]);
  });

  it('counts each claim in one bin only, certainty included', () => {
    const claims = [0.06, 0.2, 0.5, 0.7, 0.9, 0.97, 1].map((p) => [p, p > 0.5] as const);
    const bins = reliability(claims);
    expect(bins.reduce((sum, b) => sum + b.claims, 0)).toBe(claims.length);
    expect(bins.find((b) => b.from === 0.65)!.right).toBe(1);
  });

  it('tells right from wrong, confident misses and the draws that were not planted', () => {
    const [section] = sections([one(true, 0.99), one(false, 0.95), one(false, 0.4)]);
    expect(section!.lines.at(-1)!.right).toBe(1);
    expect(section!.confident).toBe(2);
    expect(section!.confidentWrong).toBe(1);
    expect(section!.invisibleShare).toBeCloseTo(0.5, 9);
    expect(section!.misses).toHaveLength(2);
    expect(text([section!])).toContain('named T/R2 at 0.95');
  });
});
