import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BlackBox, BlackBoxNetwork, type Observations } from './black-box.ts';

const GATES: readonly ((v: readonly number[]) => number)[] = [
  (v) => v[0]! & v[1]!,
  (v) => v[0]! | v[1]!,
  (v) => v[0]! ^ v[1]!,
  (v) => 1 - (v[0]! & v[1]!),
];
const INPUTS = 3;
/** Networks of up to five gates on three inputs, later gates fed by any earlier net, seen at the inputs and at some nets. */
const circuit = fc
  .array(
    fc.record({
      gate: fc.nat(3),
      a: fc.nat(100),
      b: fc.nat(100),
      failure: fc.double({ min: 0.01, max: 0.6, noNaN: true }),
    }),
    { minLength: 1, maxLength: 5 },
  )
  .chain((gates) => {
    const boxes = gates.map(
      (g, i): BlackBox => ({
        name: `G${i}`,
        inputs: [`n${g.a % (INPUTS + i)}`, `n${g.b % (INPUTS + i)}`],
        output: `n${INPUTS + i}`,
        value: GATES[g.gate]!,
        failure: g.failure,
      }),
    );
    const nets = Array.from({ length: INPUTS + boxes.length }, (_, i) => `n${i}`);
    const observed = fc
      .array(fc.option(fc.nat(1), { nil: undefined }), { minLength: nets.length, maxLength: nets.length })
      .map(
        (values): Observations =>
          Object.fromEntries(nets.flatMap((net, i) => (values[i] === undefined ? [] : [[net, values[i]!]]))),
      );
    return fc.record({
      boxes: fc.constant(boxes),
      nets: fc.constant(nets),
      cases: fc.array(observed, { minLength: 1, maxLength: 3 }),
    });
  });

/** Every assignment of all nets that the working gates and the case allow. */
function assignments(
  boxes: readonly BlackBox[],
  nets: readonly string[],
  failed: number,
  seen: Observations,
): Map<string, number>[] {
  const list: Map<string, number>[] = [];
  for (let bits = 0; bits < 1 << nets.length; bits++) {
    const value = new Map(nets.map((n, i) => [n, (bits >> i) & 1]));
    if (Object.entries(seen).some(([n, v]) => value.get(n) !== v)) continue;
    const works = boxes.every(
      (b, i) => failed & (1 << i) || b.value(b.inputs.map((n) => value.get(n)!)) === value.get(b.output),
    );
    if (works) list.push(value);
  }
  return list;
}

describe('a network of black boxes', () => {
  it('has the diagnoses and probabilities that trying every set and every assignment gives', () => {
    fc.assert(
      fc.property(circuit, ({ boxes, nets, cases }) => {
        const possible = (mask: number): boolean =>
          cases.every((c) => assignments(boxes, nets, mask, c).length > 0);
        const prior = (mask: number): number =>
          boxes.reduce((p, b, i) => p * (mask & (1 << i) ? b.failure : 1 - b.failure), 1);
        const all = [...Array(1 << boxes.length).keys()].filter(possible);
        const smallest = all.filter((m) => !all.some((k) => k !== m && (k & m) === k));
        const total = all.reduce((sum, m) => sum + prior(m), 0);
        const alone = smallest.reduce((sum, m) => sum + prior(m), 0);
        const name = (m: number): string =>
          boxes
            .filter((_, i) => m & (1 << i))
            .map((b) => b.name)
            .join(' ');
        const network = new BlackBoxNetwork(boxes, cases, [0, 1]);
        const { diagnoses, failed } = network.reckoning();
        expect(diagnoses.map((d) => d.failed.join(' ')).sort()).toEqual(smallest.map(name).sort());
        for (const m of smallest) {
          const d = diagnoses.find((x) => x.failed.join(' ') === name(m))!;
          expect(d.probability).toBeCloseTo(prior(m) / alone, 10);
          expect(d.amongAll).toBeCloseTo(prior(m) / total, 10);
        }
        boxes.forEach((b, i) => {
          const own = all.filter((m) => m & (1 << i)).reduce((sum, m) => sum + prior(m), 0);
          expect(failed.get(b.name)).toBeCloseTo(own / total, 10);
        });
        for (const net of nets) {
          const { bits, predicted } = network.probe(net);
          diagnoses.forEach((d, k) => {
            const mask = boxes.reduce((m, b, i) => (d.failed.includes(b.name) ? m | (1 << i) : m), 0);
            const values = new Set(assignments(boxes, nets, mask, cases[0]!).map((a) => a.get(net)));
            expect(predicted[k]).toBe(values.size === 1 ? [...values][0] : undefined);
          });
          expect(bits).toBeGreaterThanOrEqual(0);
          expect(bits).toBeLessThanOrEqual(1 + 1e-12);
        }
      }),
      { numRuns: 150 },
    );
  });

  it('gains nothing by a probe of which no diagnosis says anything', () => {
    const box: BlackBox = { name: 'A', inputs: ['x'], output: 'y', value: ([x]) => x!, failure: 0.1 };
    for (const values of [[0, 1], undefined]) {
      const network = new BlackBoxNetwork([box], [{ x: 0 }], values);
      expect(network.probe('z')).toEqual({ bits: 0, predicted: [undefined] });
      expect(network.probe('y')).toEqual({ bits: 0, predicted: [0] });
    }
  });

  it('spreads an unpredicted bit evenly: half a chance of fooling', () => {
    // Either of two inverters in a row has failed; between them one diagnosis says 1, the other 1 as well, after both nothing new.
    const inverter = (name: string, inputs: string, output: string): BlackBox => ({
      name,
      inputs: [inputs],
      output,
      value: ([x]) => 1 - x!,
      failure: 0.1,
    });
    const boxes = [inverter('A', 'x', 'm'), inverter('B', 'm', 'y'), inverter('C', 'x', 'z')];
    const network = new BlackBoxNetwork(boxes, [{ x: 0, y: 1 }, { x: 0 }], [0, 1]);
    expect(network.reckoning().diagnoses.map((d) => d.failed)).toEqual([['A'], ['B']]);
    expect(network.probe('m').bits).toBeCloseTo(1, 12);
    // In the second case A, if failed, need not repeat itself.
    expect(network.probe('m', 1).predicted).toEqual([undefined, 1]);
    const mixed = (p: number): number => -p * Math.log2(p) - (1 - p) * Math.log2(1 - p);
    expect(network.probe('m', 1).bits).toBeCloseTo(mixed(0.25) - 0.5, 12);
  });

  it('of numbers finds what follows backwards, and that nothing does', () => {
    const times: BlackBox = {
      name: 'M',
      inputs: ['a', 'b'],
      output: 'p',
      value: ([a, b]) => a! * b!,
      inputFrom: (p, known, wanted) =>
        known[1 - wanted] === 0 ? (p === 0 ? undefined : Number.NaN) : p / known[1 - wanted]!,
      failure: 0.1,
    };
    const minimal = (seen: Observations): (readonly string[])[] =>
      new BlackBoxNetwork([times], [seen]).reckoning().diagnoses.map((d) => d.failed);
    expect(new BlackBoxNetwork([times], [{ a: 3, p: 21 }]).probe('b').predicted).toEqual([7]);
    expect(new BlackBoxNetwork([times], [{ a: 0, p: 0 }]).probe('b').predicted).toEqual([undefined]);
    expect(minimal({ a: 0, p: 0 })).toEqual([[]]);
    expect(minimal({ a: 0, p: 5 })).toEqual([['M']]);
  });

  it('of some dozens of components is reckoned', () => {
    // Two chains of eighteen that meet in one adder.
    const step = (name: string, inputs: string, output: string): BlackBox => ({
      name,
      inputs: [inputs],
      output,
      value: ([x]) => x! + 1,
      inputFrom: (y) => y - 1,
      failure: 0.01,
    });
    const boxes = ['a', 'b'].flatMap((c) =>
      Array.from({ length: 18 }, (_, i) => step(`${c.toUpperCase()}${i}`, `${c}${i}`, `${c}${i + 1}`)),
    );
    boxes.push({
      name: 'S',
      inputs: ['a18', 'b18'],
      output: 's',
      value: ([x, y]) => x! + y!,
      inputFrom: (s, known, wanted) => s - known[1 - wanted]!,
      failure: 0.01,
    });
    const network = new BlackBoxNetwork(boxes, [{ a0: 0, b0: 0, s: 37, b9: 9 }]);
    const { diagnoses } = network.reckoning();
    // b9 clears the first half of one chain.
    expect(diagnoses.length).toBe(18 + 9 + 1);
    for (const d of diagnoses) expect(d.probability).toBeCloseTo(1 / 28, 12);
    expect(network.probe('a9').bits).toBeGreaterThan(network.probe('a1').bits);
  });

  it('refuses two components of one name or output, and a probability that is none', () => {
    const box: BlackBox = { name: 'A', inputs: [], output: 'y', value: () => 1, failure: 0.1 };
    expect(() => new BlackBoxNetwork([box, { ...box, output: 'z' }], [])).toThrow('name A');
    expect(() => new BlackBoxNetwork([box, { ...box, name: 'B' }], [])).toThrow('output y');
    for (const failure of [0, 1, -0.1, Number.NaN])
      expect(() => new BlackBoxNetwork([{ ...box, failure }], [])).toThrow(RangeError);
  });
});
