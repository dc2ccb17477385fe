/** Networks of resistors alone: closed forms, and random ones against a dense solve by the package ml-matrix. */
import fc from 'fast-check';
import { Matrix, solve } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { CircuitSolver, netlistOf, type OperatingPoint } from '../../src/circuit/index.ts';
import { sampleCondition, sampleMachine } from '../../src/circuit/sample-machine.ts';
import type { Machine } from '../../src/machine/index.ts';

function reader(machine: Machine, k = 0): { volts: (net: string) => number; point: OperatingPoint } {
  const solver = new CircuitSolver(netlistOf(machine));
  const point = solver.solve(machine.conditions[k]!);
  return { point, volts: (net) => point.volts[solver.netlist.netIndex.get(net)!]! };
}

describe('ladders and bridges', () => {
  test('an R-2R ladder of eight bits gives the share of its code over 256, for every code', () => {
    // Closed form of the voltage-switched R-2R ladder: V code / 2^n.
    const bits = 8;
    const parts = ['R0 20k 1=0V 2=N0'];
    for (let k = 0; k < bits; k++) {
      parts.push(`R1${k} 20k 1=B${k} 2=N${k}`);
      if (k > 0) parts.push(`R2${k} 10k 1=N${k - 1} 2=N${k}`);
    }
    const codes = [...Array(256).keys()];
    const conditions = codes.map((code) =>
      sampleCondition(
        String(code),
        Object.fromEntries([...Array(bits).keys()].map((k) => [`B${k}`, (code >> k) & 1 ? -12 : 0])),
      ),
    );
    const machine = sampleMachine({}, parts, conditions);
    const solver = new CircuitSolver(netlistOf(machine));
    const out = solver.netlist.netIndex.get(`N${bits - 1}`)!;
    for (const code of codes)
      expect(solver.solve(conditions[code]!).volts[out]).toBeCloseTo((-12 * code) / 256, 8);
  });

  test('a ladder of equal resistors divides by the numbers of Fibonacci', () => {
    // Seen from its open end the ladder multiplies by every other number: 1, 2, 5, 13, 34, 89, ...
    const rungs = 10;
    const parts = [...Array(rungs).keys()].flatMap((k) => [
      `R1${k} 1k 1=${k === 0 ? 'IN' : `N${k - 1}`} 2=N${k}`,
      `R2${k} 1k 1=N${k} 2=0V`,
    ]);
    const { volts } = reader(sampleMachine({}, parts, [sampleCondition('rest', { IN: 10946 })]));
    const fibonacci = [1, 1];
    while (fibonacci.length < 2 * rungs + 1) fibonacci.push(fibonacci.at(-1)! + fibonacci.at(-2)!);
    for (let k = 0; k < rungs; k++)
      expect(volts(`N${k}`) / (10946 / fibonacci[2 * rungs]!)).toBeCloseTo(
        fibonacci[2 * (rungs - 1 - k)]!,
        6,
      );
  });

  test('a Wheatstone bridge is balanced when the ratios of its arms are equal', () => {
    // The sensitive case beside it: 12 V (R2/(R1+R2) - R4/(R3+R4)) without a detector.
    const bridge = (r4: string): Machine =>
      sampleMachine({ '+12V': 12 }, [
        'R1 1k 1=+12V 2=A',
        'R2 2.2k 1=A 2=0V',
        'R3 10k 1=+12V 2=B',
        `R4 ${r4} 1=B 2=0V`,
        'R5 5k 1=A 2=B',
      ]);
    const balanced = reader(bridge('22k'));
    expect(balanced.volts('A') - balanced.volts('B')).toBeCloseTo(0, 9);
    expect(balanced.volts('A')).toBeCloseTo(8.25, 9);
    const off = reader(bridge('23k'));
    const open = 12 * (23 / 33 - 2.2 / 3.2);
    const inside = 1000 / (1 / 1 + 1 / 2.2) + 1000 / (1 / 10 + 1 / 23);
    expect(off.volts('B') - off.volts('A')).toBeCloseTo((open * 5000) / (5000 + inside), 9);
  });

  test('a link of no ohms and a hundred megohms in one circuit spoil nothing', () => {
    const { volts, point } = reader(
      sampleMachine({ '+12V': 12 }, [
        'R1 0 1=+12V 2=A',
        'R2 100M 1=A 2=B',
        'R3 100M 1=B 2=0V',
        'R4 0 1=B 2=C',
        'R5 1 1=A 2=0V',
      ]),
    );
    expect(point.converged).toBe(true);
    expect(point.steps).toBeLessThan(5);
    // A value of zero ohms stands for a milliohm.
    expect(volts('A')).toBeCloseTo(12 / 1.001, 9);
    expect(volts('B')).toBeCloseTo(6 / 1.001, 4);
    expect(volts('C')).toBeCloseTo(volts('B'), 9);
  });
});

test('a random network of resistors and sources reads as a dense solve says', () => {
  const resistor = fc.tuple(fc.nat(99), fc.nat(99), fc.double({ min: 0, max: 6, noNaN: true }));
  const source = fc.tuple(
    fc.nat(99),
    fc.double({ min: -50, max: 50, noNaN: true }),
    fc.constantFrom(1, 600, 1e5),
  );
  const network = fc.record({
    size: fc.integer({ min: 1, max: 40 }),
    resistors: fc.array(resistor, { minLength: 1, maxLength: 120, size: 'max' }),
    sources: fc.uniqueArray(source, { minLength: 1, maxLength: 6, selector: ([n]) => n % 7 }),
  });
  fc.assert(
    fc.property(network, ({ size, resistors, sources }) => {
      // A wire from each net to the next keeps all of them on one island.
      const edges = [
        ...[...Array(size).keys()].map((k) => ({ a: k, b: k - 1, ohms: 4700 })),
        ...resistors.map(([a, b, decades]) => ({ a: a % size, b: b % size, ohms: 10 ** decades })),
      ];
      const name = (k: number): string => (k < 0 ? '0V' : `N${k}`);
      const feeds = [...new Map(sources.map(([k, volts, ohms]) => [k % size, { volts, ohms }])).entries()];
      const machine = sampleMachine(
        {},
        edges.map(({ a, b, ohms }, i) => `R${i} ${ohms} 1=${name(a)} 2=${name(b)}`),
        [sampleCondition('rest', Object.fromEntries(feeds.map(([k, f]) => [name(k), [f.volts, f.ohms]])))],
      );
      const { volts, point } = reader(machine);
      expect(point.converged).toBe(true);
      const conductance = Matrix.zeros(size, size);
      const current = Matrix.zeros(size, 1);
      const add = (i: number, j: number, g: number): void => {
        if (i >= 0 && j >= 0) conductance.set(i, j, conductance.get(i, j) + g);
      };
      for (const { a, b, ohms } of edges) {
        if (a === b) continue;
        add(a, a, 1 / ohms);
        add(b, b, 1 / ohms);
        add(a, b, -1 / ohms);
        add(b, a, -1 / ohms);
      }
      for (const [k, f] of feeds) {
        add(k, k, 1 / f.ohms);
        current.set(k, 0, current.get(k, 0) + f.volts / f.ohms);
      }
      const dense = solve(conductance, current);
      for (let k = 0; k < size; k++) expect(Math.abs(volts(name(k)) - dense.get(k, 0))).toBeLessThan(1e-6);
    }),
    { seed: 1847, numRuns: 150 },
  );
});
