import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  entryAt,
  minimumDegreeOrder,
  patternOf,
  pivotedSolve,
  residual,
  SparseLU,
  SparseLUPair,
  symbolicFactor,
} from './index.ts';
import { dense, denseSolve, generator, randomSystem, randomValues } from './random-system.ts';

const shape = fc.record({
  n: fc.integer({ min: 1, max: 60 }),
  degree: fc.integer({ min: 0, max: 9 }),
  seed: fc.integer(),
  reach: fc.constantFrom(4, 60),
});

function solved(lu: SparseLU, b: Float64Array, transposed: boolean): Float64Array {
  const x = b.slice();
  if (transposed) lu.solveTransposed(x);
  else lu.solve(x);
  return x;
}

function expectClose(x: Float64Array, reference: readonly number[], tolerance = 1e-9): void {
  const scale = Math.max(...reference.map(Math.abs));
  for (const [i, value] of reference.entries())
    expect(Math.abs(x[i]! - value)).toBeLessThanOrEqual(tolerance * scale);
}

function bits(numbers: Float64Array): BigUint64Array {
  return new BigUint64Array(numbers.slice().buffer);
}

describe('a pattern', () => {
  it('holds what it is given, the mirror images and the diagonal, with columns ascending', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(11), fc.nat(11))), (pairs) => {
        const pattern = patternOf(12, pairs);
        const expected = new Set(pairs.flatMap(([i, j]) => [`${i} ${j}`, `${j} ${i}`]));
        for (let i = 0; i < 12; i++) expected.add(`${i} ${i}`);
        expect(pattern.column.length).toBe(expected.size);
        for (let i = 0; i < 12; i++) {
          for (let e = pattern.rowStart[i]!; e < pattern.rowStart[i + 1]!; e++) {
            expect(expected).toContain(`${i} ${pattern.column[e]}`);
            expect(entryAt(pattern, i, pattern.column[e]!)).toBe(e);
            if (e > pattern.rowStart[i]!) expect(pattern.column[e]).toBeGreaterThan(pattern.column[e - 1]!);
          }
        }
        expect(patternOf(12, Int32Array.from(pairs.flat()))).toEqual(pattern);
      }),
    );
  });

  it('refuses an index outside the matrix', () => {
    expect(() => patternOf(3, [[0, 3]])).toThrow('index 3 is outside 0 to 2');
  });
});

describe('the elimination order', () => {
  it('takes every unknown once, and a tree without any fill', () => {
    const random = generator(7);
    const pairs = Array.from({ length: 199 }, (_, i): [number, number] => [
      i + 1,
      Math.floor(random() * (i + 1)),
    ]);
    const pattern = patternOf(200, pairs);
    expect([...minimumDegreeOrder(pattern)].sort((a, b) => a - b)).toEqual(
      Array.from({ length: 200 }, (_, i) => i),
    );
    expect(symbolicFactor(pattern).factorEntries).toBe(pattern.column.length);
  });
});

describe('sparse factors', () => {
  it('solve what dense elimination with partial pivoting solves, upright and transposed', () => {
    fc.assert(
      fc.property(shape, ({ n, degree, seed, reach }) => {
        const { pattern, values, b } = randomSystem(n, degree, seed, reach);
        const lu = new SparseLU(symbolicFactor(pattern));
        lu.values.set(values);
        expect(lu.refactor()).toBe(true);
        for (const transposed of [false, true]) {
          const { x } = denseSolve(dense(pattern, values, transposed), b);
          expectClose(solved(lu, b, transposed), x);
          expectClose(pivotedSolve(pattern, values, b, transposed)!, x);
        }
        expect(residual(pattern, values, solved(lu, b, false), b)).toBeLessThan(1e-14);
      }),
    );
  });

  it('tell the sign of the determinant by their negative pivots', () => {
    fc.assert(
      fc.property(shape, ({ n, degree, seed, reach }) => {
        const { pattern, values, b } = randomSystem(n, degree, seed, reach);
        const lu = new SparseLU(symbolicFactor(pattern));
        lu.values.set(values);
        lu.refactor();
        expect(lu.negativePivots % 2).toBe(denseSolve(dense(pattern, values), b).sign < 0 ? 1 : 0);
      }),
    );
  });

  it('are the same to the last bit whether all is done anew or only what a change reaches', () => {
    fc.assert(
      fc.property(shape, fc.integer({ min: 1, max: 20 }), ({ n, degree, seed, reach }, scale) => {
        const random = generator(seed);
        const { pattern, values, b } = randomSystem(n * scale, degree, seed, reach);
        const symbolic = symbolicFactor(pattern);
        const kept = new SparseLU(symbolic);
        kept.values.set(values);
        kept.refactor();
        for (let step = 0; step < 5; step++) {
          const changes = Math.floor(random() * 4);
          for (let change = 0; change < changes; change++)
            kept.values[Math.floor(random() * values.length)]! *= 1 + 0.01 * random();
          kept.refactor();
          const anew = new SparseLU(symbolic);
          anew.values.set(kept.values);
          anew.refactor();
          expect(bits(solved(kept, b, false))).toEqual(bits(solved(anew, b, false)));
          expect(kept.negativePivots).toBe(anew.negativePivots);
        }
      }),
      { numRuns: 40 },
    );
  });

  it('are the same to the last bit from the compiled and from the plain loops', () => {
    fc.assert(
      fc.property(shape, fc.integer({ min: 1, max: 10 }), ({ n, degree, seed, reach }, scale) => {
        const { pattern, b } = randomSystem(n * scale, degree, seed, reach);
        const symbolic = symbolicFactor(pattern);
        const random = generator(seed);
        const compiled = new SparseLU(symbolic);
        const plain = new SparseLU(symbolic, 'plain');
        expect(compiled.loops).toBe('compiled');
        expect(plain.loops).toBe('plain');
        for (let step = 0; step < 3; step++) {
          const values = randomValues(pattern, random);
          for (const lu of [compiled, plain]) {
            lu.values.set(values);
            expect(lu.refactor()).toBe(true);
          }
          for (const transposed of [false, true])
            expect(bits(solved(compiled, b, transposed))).toEqual(bits(solved(plain, b, transposed)));
          expect(compiled.smallestPivotRatio).toBe(plain.smallestPivotRatio);
        }
      }),
    );
  });

  it('of a pair are those of its two systems, to the last bit, by either loops', () => {
    fc.assert(
      fc.property(shape, fc.integer({ min: 1, max: 10 }), ({ n, degree, seed, reach }, scale) => {
        const { pattern } = randomSystem(n * scale, degree, seed, reach);
        const symbolic = symbolicFactor(pattern);
        const random = generator(seed);
        const single = new SparseLU(symbolic);
        const pairs = [new SparseLUPair(symbolic), new SparseLUPair(symbolic, 'plain')];
        for (let step = 0; step < 2; step++) {
          const values = [randomValues(pattern, random), randomValues(pattern, random)];
          const b = Float64Array.from({ length: 2 * pattern.n }, () => random() - 0.5);
          for (const pair of pairs) {
            for (const half of [0, 1] as const)
              for (const [e, value] of values[half]!.entries()) pair.values[2 * e + half] = value;
            expect(pair.refactor()).toBe(true);
          }
          for (const transposed of [false, true]) {
            const answers = pairs.map((pair) => {
              const x = b.slice();
              if (transposed) pair.solveTransposed(x);
              else pair.solve(x);
              return x;
            });
            for (const half of [0, 1] as const) {
              const own = (interleaved: Float64Array) => interleaved.filter((_, i) => i % 2 === half);
              single.values.set(values[half]!);
              single.refactor();
              const expected = bits(solved(single, own(b), transposed));
              for (const [i, answer] of answers.entries()) {
                expect(bits(own(answer))).toEqual(expected);
                expect(pairs[i]!.negativePivots(half)).toBe(single.negativePivots);
                expect(pairs[i]!.smallestPivotRatio(half)).toBe(single.smallestPivotRatio);
              }
            }
          }
        }
      }),
      { numRuns: 40 },
    );
  });

  it('are tried above on networks that have supernodes and subtrees', () => {
    const far = symbolicFactor(randomSystem(400, 5, 1, 60).pattern).supernodes;
    expect(far.some(({ size, later }) => size > 3 && later.length > 0)).toBe(true);
    expect(far.some(({ size, later }) => size === 1 && later.length > 12)).toBe(true);
    expect(symbolicFactor(randomSystem(400, 5, 1, 4).pattern).subtrees.length).toBeGreaterThan(5);
  });

  it('of one pattern do not disturb each other', () => {
    const { pattern, values, b } = randomSystem(30, 4, 5);
    const symbolic = symbolicFactor(pattern);
    const [first, second] = [new SparseLU(symbolic), new SparseLU(symbolic)];
    first.values.set(values);
    second.values.set(randomValues(pattern, generator(6)));
    first.refactor();
    const before = solved(first, b, false);
    second.refactor();
    second.solve(b.slice());
    expect(solved(first, b, false)).toEqual(before);
  });
});

describe('a matrix that cannot be factored', () => {
  const pattern = patternOf(3, [
    [0, 1],
    [1, 2],
  ]);
  const refused = {
    'two equal rows': [1, 1, 1, 1, 0, 0, 1],
    'a zero row': [0, 0, 1, 2, 1, 1, 3],
    'nothing but zeros': [0, 0, 0, 0, 0, 0, 0],
    'a value that is not a number': [1, 1, 1, 2, Number.NaN, 1, 3],
    'an infinite value': [1, 1, 1, 2, 1, 1, Number.POSITIVE_INFINITY],
  };
  for (const [fault, values] of Object.entries(refused)) {
    it(`is refused for ${fault}, and the next good one is not`, () => {
      for (const loops of ['compiled', 'plain'] as const) {
        const lu = new SparseLU(symbolicFactor(pattern), loops);
        for (let time = 0; time < 2; time++) {
          lu.values.set(values);
          expect(lu.refactor()).toBe(false);
          expect(lu.refactor()).toBe(false);
          lu.values.set([2, 1, 1, 4, 1, 1, 2]);
          expect(lu.refactor()).toBe(true);
          expectClose(solved(lu, Float64Array.of(4, 12, 8), false), [1, 2, 3]);
        }
      }
      expect(pivotedSolve(pattern, Float64Array.from(values), Float64Array.of(1, 2, 3))).toBeUndefined();
    });
  }

  it('leaves the other system of a pair alone', () => {
    for (const loops of ['compiled', 'plain'] as const) {
      const pair = new SparseLUPair(symbolicFactor(pattern), loops);
      const good = [2, 1, 1, 4, 1, 1, 2];
      for (let time = 0; time < 2; time++) {
        for (const [e, value] of good.entries()) pair.values.set([value, 0], 2 * e);
        expect(pair.refactor()).toBe(false);
        expect(pair.refactor()).toBe(false);
        expect([pair.regular(0), pair.regular(1)]).toEqual([true, false]);
        const b = Float64Array.of(4, 0, 12, 0, 8, 0);
        pair.solve(b);
        expectClose(
          b.filter((_, i) => i % 2 === 0),
          [1, 2, 3],
        );
        for (const [e, value] of good.entries()) pair.values[2 * e + 1] = value;
        expect(pair.refactor()).toBe(true);
      }
    }
  });

  it('for want of a diagonal pivot only is solved by pivoting', () => {
    const values = Float64Array.of(0, 1, 1, 0, 1, 1, 1);
    const lu = new SparseLU(symbolicFactor(pattern));
    lu.values.set(values);
    expect(lu.refactor()).toBe(false);
    expectClose(pivotedSolve(pattern, values, Float64Array.of(2, 4, 5))!, [1, 2, 3]);
  });

  it('without a heavy diagonal is solved by pivoting whenever dense elimination can', () => {
    fc.assert(
      fc.property(shape, ({ n, degree, seed, reach }) => {
        const { pattern, b } = randomSystem(n, degree, seed, reach);
        const random = generator(seed);
        const values = Float64Array.from(pattern.column, () => (random() < 0.3 ? 0 : random() - 0.5));
        for (const transposed of [false, true]) {
          const { x, smallestPivot } = denseSolve(dense(pattern, values, transposed), b);
          const found = pivotedSolve(pattern, values, b, transposed);
          if (smallestPivot > 1e-6) expectClose(found!, x, 1e-6);
          if (smallestPivot === 0) expect(found).toBeUndefined();
        }
      }),
      { numRuns: 300 },
    );
  });

  it('but by rounding shows it in the smallest pivot', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 40 }), fc.integer(), (n, seed) => {
        const random = generator(seed);
        const pairs = Array.from({ length: n - 1 }, (_, i): [number, number] => [i, i + 1]);
        const pattern = patternOf(n, pairs);
        const lu = new SparseLU(symbolicFactor(pattern));
        for (const [i, j] of pairs) {
          const siemens = 0.01 + random();
          for (const [row, column, sign] of [
            [i, i, 1],
            [j, j, 1],
            [i, j, -1],
            [j, i, -1],
          ] as const)
            lu.values[entryAt(pattern, row, column)]! += sign * siemens;
        }
        // a ladder that is tied to nothing: every row sums to zero
        if (lu.refactor()) expect(lu.smallestPivotRatio).toBeLessThan(1e-12);
        expect(pivotedSolve(pattern, lu.values, new Float64Array(n).fill(1))).toBeUndefined();
      }),
    );
  });

  it('by a tiny pivot shows it in the residual', () => {
    const values = Float64Array.of(1e-20, 1, 1, 1, 0, 0, 1);
    const lu = new SparseLU(symbolicFactor(pattern, Int32Array.of(0, 1, 2)));
    lu.values.set(values);
    expect(lu.refactor()).toBe(true);
    const b = Float64Array.of(1, 2, 1);
    expect(residual(pattern, values, solved(lu, b, false), b)).toBeGreaterThan(1e-3);
    expect(lu.smallestPivotRatio).toBeLessThan(1e-19);
    expectClose(pivotedSolve(pattern, values, b)!, [1, 1, 1]);
  });
});
