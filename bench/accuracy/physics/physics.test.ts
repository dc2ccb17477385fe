import { describe, expect, it } from 'vitest';
import type { Machine } from '../../../src/machine/model.ts';
import { Kit } from '../boards/kit.ts';
import { type Family, flipFlop } from '../boards/stages.ts';
import { chance } from '../random.ts';
import { type Fault, network, parameterTable, Solver } from './index.ts';
import { matrixOf } from './matrix.ts';

const rails = [
  { net: '-12V', volts: -12, tolerance: 5 },
  { net: '+6V', volts: 6, tolerance: 5 },
];
function kit(): Kit {
  return new Kit('T', { summary: 'test', rails, pins: 'none' });
}

/** The machine's nets in its first condition, with all parameters at zero spread but means kept or cleared. */
function solved(machine: Machine, faults: readonly Fault[] = [], condition = 0, nominal = true) {
  const table = parameterTable(machine);
  const circuit = network(machine, table, faults);
  const theta = Float64Array.from(table.parameters, (p) => p.mean);
  if (nominal)
    table.parameters.forEach((p, k) => {
      if (p.name.endsWith(' ohms') || p.name === 'inside temperature' || p.name.endsWith(' warmth'))
        theta[k] = 0;
    });
  circuit.set(theta, 25);
  const solver = new Solver(circuit);
  const point = solver.operatingPoint(machine.conditions[condition]!, theta)!;
  const volts = (net: string) => point.volts[circuit.nodeOfPoint(net)]!;
  const read = (net: string) =>
    solver.metered(point, machine.conditions[condition]!, theta, [circuit.nodeOfPoint(net)])[0]!;
  return { point, volts, read };
}

describe('the sparse matrix', () => {
  it('solves random systems and their transposes to rounding', () => {
    const random = chance('matrix');
    for (let trial = 0; trial < 20; trial++) {
      const n = 5 + random.below(40);
      const pairs = Array.from(
        { length: 3 * n },
        () => [random.below(n), random.below(n)] as [number, number],
      );
      const a = matrixOf(n, pairs);
      const dense = Array.from({ length: n }, () => new Float64Array(n));
      const put = (r: number, c: number, x: number) => {
        a.values[a.position(r, c)] = x;
        dense[r]![c] = x;
      };
      for (const [r, c] of pairs)
        if (r !== c) {
          put(r, c, random.normal());
          put(c, r, random.normal());
        }
      for (let k = 0; k < n; k++) put(k, k, 20 + random.uniform());
      expect(a.factor()).toBe(0);
      const x = Float64Array.from({ length: n }, () => random.normal());
      const b = dense.map((row) => row.reduce((sum, v, k) => sum + v * x[k]!, 0));
      const bt = dense.map((_, c) => dense.reduce((sum, row, r) => sum + row[c]! * x[r]!, 0));
      const y = Float64Array.from(b);
      a.solve(y);
      const yt = Float64Array.from(bt);
      a.solveTransposed(yt);
      for (let k = 0; k < n; k++) {
        expect(y[k]).toBeCloseTo(x[k]!, 10);
        expect(yt[k]).toBeCloseTo(x[k]!, 10);
      }
    }
  });
});

describe('the true physics', () => {
  it('divides in proportion, and a meter of 10 Mohm pulls a high-ohm divider down by its share', () => {
    const k = kit();
    k.r('-12V', 'N', 1e6);
    k.r('N', '0V', 2e6);
    k.condition('on', []);
    const { machine } = k.finish('tuning', 'test', []);
    const { volts, read } = solved(machine);
    expect(volts('N')).toBeCloseTo(-8, 5);
    // 2 Mohm beside 10 Mohm is 1.6667 Mohm: -12 x 1.6667 / 2.6667.
    expect(read('N')).toBeCloseTo(-7.5, 4);
  });

  it('gives a transistor its type number gain and base-emitter drop at the stated current', () => {
    // PG21: gain 55, 0.24 V at 5 mA. Emitter follower with a stiff base; base current by a series resistor.
    const k = kit();
    k.r('IN', 'B', 1000, 0.0001);
    k.q('PG21', 'E', 'B', '-12V');
    k.r('+6V', 'E', 1200, 0.0001);
    k.condition('on', [], { drives: [{ net: 'IN', volts: -0.33, ohms: 0 }] });
    const { machine } = k.finish('tuning', 'test', []);
    const { volts } = solved(machine);
    const emitter = (6 - volts('E')) / 1200;
    const base = (volts('B') - volts('IN')) / 1000;
    expect(emitter).toBeGreaterThan(0.0047);
    expect(emitter).toBeLessThan(0.0053);
    // Base width: 12 V of collector at an Early voltage of 60 V raise the gain by a fifth; the leakage
    // (3 uA saturating and ohmic at 6 V, some 4.5 uA here) takes its share of the base current.
    expect((emitter - base) / (base + 4.5e-6)).toBeGreaterThan(55);
    expect((emitter - base) / (base + 4.5e-6)).toBeLessThan(70);
    expect(volts('E') - volts('B')).toBeCloseTo(0.24, 1);
  });

  it('lets the collector current of a fixed base current rise with voltage as an Early voltage of 60 V says', () => {
    const k = kit();
    k.r('-12V', 'B', 120e3, 0.0001);
    k.q('PG21', '0V', 'B', 'C');
    k.condition('low', [], { drives: [{ net: 'C', volts: -3, ohms: 10 }] });
    k.condition('high', [], { drives: [{ net: 'C', volts: -9, ohms: 10 }] });
    const { machine } = k.finish('tuning', 'test', []);
    const current = (condition: number, drive: number) =>
      (solved(machine, [], condition).volts('C') - drive) / 10;
    const ratio = current(1, -9) / current(0, -3);
    // (1 + 8.8/60) / (1 + 2.8/60) = 1.096, and the ohmic leakage times the gain a little more.
    expect(ratio).toBeGreaterThan(1.09);
    expect(ratio).toBeLessThan(1.14);
  });

  it('saturates an overdriven inverter within 0.2 V and cuts it off at the supply', () => {
    const k = kit();
    k.r('IN', 'B', 15e3);
    k.r('B', '+6V', 100e3);
    k.r('-12V', 'C', 2200);
    k.q('PG21', '0V', 'B', 'C');
    k.condition('on', [], { drives: [{ net: 'IN', volts: -9, ohms: 0 }] });
    k.condition('off', [], { drives: [{ net: 'IN', volts: -0.1, ohms: 0 }] });
    const { machine } = k.finish('tuning', 'test', []);
    expect(solved(machine, [], 0).volts('C')).toBeGreaterThan(-0.2);
    expect(solved(machine, [], 1).volts('C')).toBeLessThan(-11.9);
    // An open base joint leaves the stage off, and the pin apart from its net.
    const joint = solved(machine, [{ part: 'T/Q1', mode: 'open-joint:b', severity: 1 }], 0);
    expect(joint.volts('C')).toBeLessThan(-11);
    expect(joint.volts('T/Q1.b')).not.toBeCloseTo(joint.volts('B'), 1);
    const short = solved(machine, [{ part: 'T/Q1', mode: 'short-ce', severity: 2 }], 1);
    expect(short.volts('C')).toBeCloseTo((-12 * 2) / 2202, 2);
  });

  it('drops the stated voltage across a diode and a zener at their stated currents', () => {
    const k = kit();
    k.d('DG10', 'A', '0V');
    k.r('+6V', 'A', (6 - 0.34) / 0.002, 0.0001);
    k.z('ZS7', '-12V', 'Z', 6.2);
    k.r('Z', '0V', 5.8 / 0.005, 0.0001);
    k.condition('on', []);
    const { machine } = k.finish('tuning', 'test', []);
    const { volts } = solved(machine);
    expect(volts('A')).toBeCloseTo(0.34, 2);
    expect(volts('Z') + 12).toBeCloseTo(6.2, 2);
  });

  it('holds either state of a flip-flop as hinted, and balances every net in both', () => {
    const f: Family = {
      sign: -1,
      transistor: 'PG21',
      diode: 'DG10',
      supply: '-12V',
      volts: -12,
      bias: '+6V',
      rc: 2200,
      rb: 15e3,
      rk: 100e3,
    };
    const k = kit();
    flipFlop(k, f, 'F');
    k.condition('set', ['F']);
    k.condition('reset', []);
    const { machine } = k.finish('tuning', 'test', []);
    for (const [condition, sign] of [
      [0, -1],
      [1, 1],
    ] as const) {
      const { point, volts } = solved(machine, [], condition);
      expect(point.stable).toBe(true);
      expect(point.imbalance).toBeLessThanOrEqual(1);
      expect(sign * (volts('F-Q') - volts('F-N'))).toBeGreaterThan(8);
    }
    // With a base shorted only one state is left, whatever the hint.
    const fault = { part: 'T/Q1', mode: 'short-be', severity: 1 };
    for (const condition of [0, 1]) expect(solved(machine, [fault], condition).volts('F-Q')).toBeLessThan(-8);
  });
});
