/**
 * Published examples of diagnosis, with their components as black boxes.
 *
 * @source diagnosis_examples.md sections 1 to 4: J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) 97-130;
 *   R. Reiter, Artificial Intelligence 32 (1987) 57-95; c17 of the ISCAS 85 benchmark (F. Brglez, H. Fujiwara, 1985)
 */
import { describe, expect, test } from 'vitest';
import { type BlackBox, BlackBoxNetwork } from '../../src/diagnosis/index.ts';

const P = 0.01;

/** Names of each minimal diagnosis, joined, in alphabetical order. */
function minimal(network: BlackBoxNetwork): string[] {
  return network
    .reckoning()
    .diagnoses.map((d) => [...d.failed].sort().join(' '))
    .sort();
}

describe('three multipliers and two adders', () => {
  const box = (name: string, inputs: readonly string[], output: string, times: boolean): BlackBox => ({
    name,
    inputs,
    output,
    value: ([a, b]) => (times ? a! * b! : a! + b!),
    inputFrom: (out, known, wanted) => (times ? out / known[1 - wanted]! : out - known[1 - wanted]!),
    failure: P,
  });
  const boxes = [
    box('M1', ['A', 'C'], 'X', true),
    box('M2', ['B', 'D'], 'Y', true),
    box('M3', ['C', 'E'], 'Z', true),
    box('A1', ['X', 'Y'], 'F', false),
    box('A2', ['Y', 'Z'], 'G', false),
  ];
  const seen = { A: 3, B: 2, C: 2, D: 3, E: 3, F: 10, G: 12 };
  const network = new BlackBoxNetwork(boxes, [seen]);

  test('have the four minimal diagnoses from the two minimal conflicts, with their probabilities', () => {
    const { diagnoses, conflicts } = network.reckoning();
    expect(conflicts.map((c) => [...c].sort().join(' ')).sort()).toEqual(['A1 A2 M1 M3', 'A1 M1 M2']);
    const probabilities = new Map(diagnoses.map((d) => [[...d.failed].sort().join(' '), d.probability]));
    expect([...probabilities.keys()].sort()).toEqual(['A1', 'A2 M2', 'M1', 'M2 M3']);
    for (const single of ['A1', 'M1']) expect(probabilities.get(single)).toBeCloseTo(0.495, 4);
    for (const double of ['A2 M2', 'M2 M3']) expect(probabilities.get(double)).toBeCloseTo(0.005, 4);
    expect(diagnoses.slice(0, 2).map((d) => d.failed.length)).toEqual([1, 1]);
  });

  test('have 27 diagnoses among the 32 sets of components, all of which count', () => {
    const sets = network.reckoning().diagnoses.map((d) => d.failed);
    let count = 0;
    let all = 0;
    for (let mask = 0; mask < 32; mask++) {
      const failed = boxes.filter((_, i) => mask & (1 << i)).map((b) => b.name);
      if (!sets.some((s) => s.every((name) => failed.includes(name)))) continue;
      count++;
      all += P ** failed.length * (1 - P) ** (5 - failed.length);
    }
    expect(count).toBe(27);
    for (const d of network.reckoning().diagnoses)
      expect(d.amongAll).toBeCloseTo((P ** d.failed.length * (1 - P) ** (5 - d.failed.length)) / all, 12);
  });

  test('have their probes in the published order, X first', () => {
    const at = (net: string): Map<number | undefined, number> => {
      const { predicted } = network.probe(net);
      const shares = new Map<number | undefined, number>();
      network.reckoning().diagnoses.forEach((d, i) => {
        shares.set(predicted[i], (shares.get(predicted[i]) ?? 0) + d.probability);
      });
      return shares;
    };
    const published = [
      ['X', 0.99993, { 4: 0.495, 6: 0.505 }],
      ['Y', 0.08079, { 6: 0.99, 4: 0.01 }],
      ['Z', 0.04541, { 6: 0.995, 8: 0.005 }],
    ] as const;
    for (const [net, bits, values] of published) {
      expect(network.probe(net).bits, net).toBeCloseTo(bits, 5);
      expect(at(net).size).toBe(2);
      for (const [value, p] of Object.entries(values)) expect(at(net).get(Number(value))).toBeCloseTo(p, 3);
    }
  });

  test('leave what the published probe of X leaves', () => {
    expect(minimal(new BlackBoxNetwork(boxes, [{ ...seen, X: 4 }]))).toEqual(['M1']);
    const { diagnoses } = new BlackBoxNetwork(boxes, [{ ...seen, X: 6 }]).reckoning();
    expect(diagnoses.map((d) => [...d.failed].sort().join(' '))).toContain('A1');
    expect(diagnoses[0]!.failed).toEqual(['A1']);
    expect(diagnoses.map((d) => d.probability.toFixed(4))).toEqual(['0.9802', '0.0099', '0.0099']);
  });
});

type Gate = 'xor' | 'and' | 'or' | 'nand' | 'buffer';
const GATES: Readonly<Record<Gate, (v: readonly number[]) => number>> = {
  xor: (v) => v.reduce((a, b) => a ^ b),
  and: (v) => v.reduce((a, b) => a & b),
  or: (v) => v.reduce((a, b) => a | b),
  nand: (v) => 1 - v.reduce((a, b) => a & b),
  buffer: (v) => v[0]!,
};
function gate(name: string, kind: Gate, inputs: string, output = name, failure = P): BlackBox {
  return { name, inputs: inputs.split(' '), output, value: GATES[kind], failure };
}

test('the full adder has the published conflicts and diagnoses', () => {
  const boxes = [
    gate('X1', 'xor', 'in1 in2', 'half'),
    gate('X2', 'xor', 'half in3', 'sum'),
    gate('A1', 'and', 'in1 in2', 'both'),
    gate('A2', 'and', 'in3 half', 'through'),
    gate('O1', 'or', 'both through', 'carry'),
  ];
  const network = new BlackBoxNetwork(boxes, [{ in1: 1, in2: 0, in3: 1, sum: 1, carry: 0 }], [0, 1]);
  expect(minimal(network)).toEqual(['A2 X2', 'O1 X2', 'X1']);
  const { conflicts, diagnoses } = network.reckoning();
  expect(conflicts.map((c) => [...c].sort().join(' ')).sort()).toEqual(['A2 O1 X1', 'X1 X2']);
  expect(diagnoses[0]!.failed).toEqual(['X1']);
});

describe('c17', () => {
  // iscas85/c17.bench; gates named by their output.
  const boxes = [
    gate('10', 'nand', '1 3'),
    gate('11', 'nand', '3 6'),
    gate('16', 'nand', '2 11'),
    gate('19', 'nand', '11 7'),
    gate('22', 'nand', '10 16'),
    gate('23', 'nand', '16 19'),
  ];
  const seen = (inputs: string, outputs: string): Record<string, number> =>
    Object.fromEntries(
      ['1', '2', '3', '6', '7', '22', '23'].map((net, i) => [net, Number(`${inputs}${outputs}`[i])]),
    );
  const cases = {
    a: seen('10101', '01'),
    b: seen('01001', '00'),
    c: seen('00011', '11'),
    d: seen('11111', '00'),
  };
  const bad: readonly (readonly [names: string, diagnoses: readonly string[]])[] = [
    ['a', ['10', '22']],
    ['b', ['11', '16 19', '16 23', '22 23']],
    ['c', ['10', '16', '22']],
    ['d', ['10', '22']],
    ['ac', ['10', '22']],
    ['ab', ['10 11', '11 22', '22 23', '10 16 19', '10 16 23', '16 19 22']],
    ['abc', ['10 11', '11 22', '22 23', '10 16 19', '10 16 23', '16 19 22']],
    ['bd', ['10 11', '11 22', '22 23', '10 16 19', '10 16 23', '16 19 22']],
  ];
  test.each(bad)('has the minimal diagnoses of case %s, and no others', (names, diagnoses) => {
    const network = new BlackBoxNetwork(
      boxes,
      [...names].map((n) => cases[n as keyof typeof cases]),
      [0, 1],
    );
    expect(minimal(network)).toEqual([...diagnoses].sort());
  });
  test('may be well where it shows what it should', () => {
    const good = [seen('10101', '11'), seen('01001', '11'), seen('00011', '01'), seen('11111', '10')];
    const { diagnoses, failed } = new BlackBoxNetwork(boxes, good, [0, 1]).reckoning();
    expect(diagnoses).toEqual([{ failed: [], probability: 1, amongAll: (1 - P) ** 6 }]);
    for (const p of failed.values()) expect(p).toBeCloseTo(P, 12);
  });
});

describe('one bad stage in a chain', () => {
  const chain = (shares: readonly number[]): BlackBoxNetwork =>
    new BlackBoxNetwork(
      // Odds of failing in proportion to the shares, so that the single faults have these probabilities.
      shares.map((s, i) => gate(`S${i + 1}`, 'buffer', `N${i}`, `N${i + 1}`, (0.01 * s) / (1 + 0.01 * s))),
      [{ N0: 1, [`N${shares.length}`]: 0 }],
      [0, 1],
    );
  test('of eight equal ones is found by half-split probing', () => {
    const network = chain(Array.from({ length: 8 }, () => 1 / 8));
    const bits = [1, 2, 3, 4, 5, 6, 7].map((k) => network.probe(`N${k}`).bits.toFixed(6));
    expect(bits).toEqual([
      '0.543564',
      '0.811278',
      '0.954434',
      '1.000000',
      '0.954434',
      '0.811278',
      '0.543564',
    ]);
  });
  test('of five unequal ones brings the bits worked by hand, and most a minute after the first', () => {
    const network = chain([0.4, 0.2, 0.2, 0.1, 0.1]);
    expect(network.reckoning().diagnoses.map((d) => d.probability.toFixed(9))).toEqual([
      '0.400000000',
      '0.200000000',
      '0.200000000',
      '0.100000000',
      '0.100000000',
    ]);
    const bits = [1, 2, 3, 4].map((k) => network.probe(`N${k}`).bits);
    expect(bits.map((b) => b.toFixed(6))).toEqual(['0.970951', '0.970951', '0.721928', '0.468996']);
    const minutes = [1, 5, 1, 1];
    const gain = bits.map((b, i) => b / minutes[i]!);
    expect(gain.indexOf(Math.max(...gain))).toBe(0);
  });
});
