import { describe, expect, it } from 'vitest';
import { growingDoubles, growingSingles } from './growing-floats.ts';

describe('numbers that grow in count', () => {
  it.each([0, 1, 64, 65, 300_000, 700_001])('%d of them come back in one array, in order', (count) => {
    const grown = growingDoubles();
    for (let i = 0; i < count; i++) grown.add(i / 3);
    expect(grown.length).toBe(count);
    const all = grown.taken();
    expect(all.length).toBe(count);
    expect(all.every((value, i) => value === i / 3)).toBe(true);
  });

  it('are kept in single precision where that is asked for', () => {
    const grown = growingSingles();
    grown.add(0.1);
    expect([...grown.taken()]).toEqual([Math.fround(0.1)]);
  });
});
