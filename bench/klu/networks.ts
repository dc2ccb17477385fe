/** Matrices to measure on: linearised networks of invented circuits, seeded, with values that move step by step. */
import { entryAt, type Pattern, patternOf } from '../../src/circuit/matrix/index.ts';
import type { Step } from './klu.ts';

export interface Network {
  readonly name: string;
  readonly pattern: Pattern;
  readonly steps: readonly Step[];
  /** Entries of the pattern that each element adds to. */
  readonly elements: readonly (readonly number[])[];
}

export function generator(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x9e3779b9) | 0;
    let mixed = Math.imul(state ^ (state >>> 16), 0x21f0aaad);
    mixed = Math.imul(mixed ^ (mixed >>> 15), 0x735a2d97);
    return ((mixed ^ (mixed >>> 15)) >>> 0) / 2 ** 32;
  };
}

/** One element's share of the matrix: entries (row, column) and their values for a given drive. */
interface Stamp {
  readonly rows: readonly number[];
  readonly columns: readonly number[];
  readonly values: (move: number) => readonly number[];
}

/**
 * Gates of a base resistor, input diodes and a transistor with an inner node at every terminal; inputs come
 * mostly from gates near by, now and then from anywhere (one in `far`).
 */
export function logicNetwork(gates: number, far: number, seed: number, count: number): Network {
  const random = generator(seed);
  const stamps: Stamp[] = [];
  let n = 0;
  const outputs: number[] = [];
  const conductance = (a: number, b: number, size: number) => stamps.push(twoPole(a, b, () => size));
  const ground = (a: number, size: number) => stamps.push({ rows: [a], columns: [a], values: () => [size] });
  for (let gate = 0; gate < gates; gate++) {
    const sum = n++;
    const base = n++;
    const inner = [n++, n++, n++];
    const output = n++;
    ground(sum, 1 / (5000 + 9000 * random()));
    ground(output, 1 / (800 + 2000 * random()));
    ground(base, 1 / (20000 + 30000 * random()));
    conductance(sum, base, 1 / (1000 + 3000 * random()));
    conductance(base, inner[0]!, 0.01);
    conductance(output, inner[1]!, 0.2);
    ground(inner[2]!, 1);
    const on = random() < 0.5 ? 1 : 1e-4;
    stamps.push({
      rows: inner,
      columns: inner,
      values: (move) => {
        const forward = 0.04 * on * (1 + move);
        const reverse = 0.002 * on * (1 - 0.5 * move);
        const input = forward / 60 + reverse / 4;
        const rows = [
          [input, -reverse / 4, -forward / 60],
          [forward - reverse, reverse * 1.25, -forward],
          [-forward - forward / 60 + reverse, -reverse, forward + forward / 60],
        ];
        for (let i = 0; i < 3; i++) rows[i]![i]! += 1e-9;
        return rows.flat();
      },
    });
    const inputs = 1 + Math.floor(3 * random());
    for (let input = 0; input < inputs && outputs.length > 0; input++) {
      const back = random() < 1 / far ? random() * outputs.length : -Math.log(1 - random()) * 4;
      const source = outputs[Math.max(0, outputs.length - 1 - Math.floor(back))]!;
      const size = random() < 0.4 ? 0.005 : 1e-8;
      stamps.push(twoPole(source, sum, (move) => size * (1 + move)));
    }
    outputs.push(output);
  }
  return network(`logic, ${gates} gates`, n, stamps, random, count);
}

/** Unknowns on a line of which each is joined to some near by (within `reach`), with unsymmetric values. */
export function randomNetwork(
  n: number,
  degree: number,
  reach: number,
  seed: number,
  count: number,
): Network {
  const random = generator(seed);
  const stamps: Stamp[] = [];
  for (let i = 0; i < n; i++) {
    stamps.push({ rows: [i], columns: [i], values: () => [1e-4 + 1e-3 * random()] });
    for (let k = 0; k < degree / 2; k++) {
      const j = Math.min(n - 1, Math.max(0, i + Math.round((2 * random() - 1) * reach)));
      if (j === i) continue;
      const size = 10 ** (-2 - 3 * random());
      const gain = random() < 0.3 ? random() : 0;
      stamps.push({
        rows: [i, j],
        columns: [i, j],
        values: (move) => {
          const g = size * (1 + move);
          return [g * (1 + gain), -g, -g * (1 + gain), g];
        },
      });
    }
  }
  return network(`random, reach ${reach}`, n, stamps, random, count);
}

function twoPole(a: number, b: number, size: (move: number) => number): Stamp {
  return {
    rows: [a, b],
    columns: [a, b],
    values: (move) => {
      const g = size(move);
      return [g, -g, -g, g];
    },
  };
}

function network(name: string, n: number, stamps: Stamp[], random: () => number, count: number): Network {
  const pairs = stamps.flatMap(({ rows, columns }) =>
    rows.flatMap((i) => columns.map((j): [number, number] => [i, j])),
  );
  const pattern = patternOf(n, pairs);
  const places = pairs.map(([i, j]) => entryAt(pattern, i, j));
  const steps = Array.from({ length: count }, (): Step => {
    const values = new Float64Array(pattern.column.length);
    let at = 0;
    for (const stamp of stamps) {
      for (const value of stamp.values(0.2 * random())) values[places[at++]!]! += value;
    }
    return { values, b: Float64Array.from({ length: n }, () => 0.01 * (random() - 0.5)) };
  });
  let first = 0;
  const elements = stamps.map(({ rows, columns }) => {
    const start = first;
    first += rows.length * columns.length;
    return places.slice(start, first);
  });
  return { name, pattern, steps, elements };
}
