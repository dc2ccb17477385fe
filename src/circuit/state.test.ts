import { describe, expect, it, test } from 'vitest';
import type { Condition, Machine } from '../machine/index.ts';
import { type Edit, netlistOf } from './index.ts';
import { CircuitSolver, type OperatingPoint } from './operating-point.ts';
import { sampleCondition, sampleMachine } from './sample-machine.ts';

const RAILS = { '-12V': -12, '+6V': 6, '-6V': -6 };
const ON = -0.1;
const OFF = -6;

/** An inverter of saturated PNP logic, caught at -6 V; true is -6 V. More inputs make it a NOR. */
function inverter(out: string, ...inputs: string[]): string[] {
  return [
    ...inputs.map((input, k) => `R${out}${k} 10k 1=${input} 2=b${out}`),
    `R${out}k 47k 1=b${out} 2=+6V`,
    `R${out}c 2.2k 1=${out} 2=-12V`,
    `Q${out} GP e=0V b=b${out} c=${out}`,
    `D${out} GD a=-6V k=${out}`,
  ].map((line) => line.replace(/^([A-Z])(\S+)/, '$1_$2'));
}
function flipFlop(name: string): string[] {
  return [...inverter(name, `${name}n`), ...inverter(`${name}n`, name)];
}
function pair(name: string, on: boolean): Record<string, number> {
  return { [name]: on ? ON : OFF, [`${name}n`]: on ? OFF : ON };
}

class Bench {
  readonly solver: CircuitSolver;
  constructor(machine: Machine) {
    this.solver = new CircuitSolver(netlistOf(machine));
  }
  solve(condition: Condition, options: { edit?: Edit; start?: Float64Array } = {}): OperatingPoint {
    const point = this.solver.solve(condition, options);
    expect(point.converged, condition.name).toBe(true);
    expect(point.stable, condition.name).toBe(true);
    return point;
  }
  net(name: string): number {
    return this.solver.netlist.netIndex.get(name)!;
  }
  /** Whether a net of saturated logic is at its on level; it must be at one of the two. */
  on(point: OperatingPoint, net: string): boolean {
    const volts = point.volts[this.net(net)]!;
    expect(volts > -0.4 || volts < -2.5, `${net} at ${volts}`).toBe(true);
    return volts > -0.4;
  }
  conductance(part: string): number {
    return this.solver.netlist.elementsOf.get(part)!.conductances[0]!;
  }
  transistor(part: string): number {
    return this.solver.netlist.elementsOf.get(part)!.transistor;
  }
}

describe('a flip-flop', () => {
  const bench = new Bench(sampleMachine(RAILS, flipFlop('A')));
  const states = [true, false].map((on) => sampleCondition(`A ${on}`, {}, pair('A', on)));

  test('stands in the state of its hints', () => {
    states.forEach((condition, k) => {
      const point = bench.solve(condition);
      expect(bench.on(point, 'A')).toBe(k === 0);
      expect(bench.on(point, 'An')).toBe(k === 1);
      expect(point.stateHeld).toBe(true);
    });
  });
  test('follows one hint, and hints that are off by volts', () => {
    for (const on of [true, false]) {
      const one = bench.solve(sampleCondition('one', {}, { A: on ? 0 : -5 }));
      expect(bench.on(one, 'A')).toBe(on);
      expect(one.stateHeld).toBe(true);
      const vague = bench.solve(sampleCondition('vague', {}, { A: on ? -1 : -9, An: on ? -9 : -1 }));
      expect(bench.on(vague, 'A')).toBe(on);
      expect(vague.stateHeld).toBe(true);
    }
  });
  test('follows its hints from a start in the other state, too', () => {
    const [first, second] = states.map((c) => bench.solve(c).volts);
    expect(bench.on(bench.solve(states[0]!, { start: second! }), 'A')).toBe(true);
    expect(bench.on(bench.solve(states[1]!, { start: first! }), 'A')).toBe(false);
  });
  test('that is hinted to have both halves on is said not to hold that', () => {
    const point = bench.solve(sampleCondition('both', {}, { A: ON, An: ON }));
    expect(bench.on(point, 'A')).not.toBe(bench.on(point, 'An'));
    expect(point.stateHeld).toBe(false);
  });
  test('without hints falls to one side', () => {
    const point = bench.solve(sampleCondition('free'));
    expect(bench.on(point, 'A')).not.toBe(bench.on(point, 'An'));
  });
  test('loses the state that a fault destroys, from a cold start and from the sound point', () => {
    const sound = states.map((c) => bench.solve(c).volts);
    const open = (part: string): Edit => ({
      conductance: [{ element: bench.conductance(`B/${part}`), siemens: 0 }],
    });
    const baseOpen: Edit = { open: [{ transistor: bench.transistor('B/Q_A'), terminal: 0, siemens: 0 }] };
    // With its base resistor or base open the transistor of A is off for good: A stays away from ground.
    for (const edit of [open('R_A0'), baseOpen])
      states.forEach((condition, k) => {
        for (const start of [undefined, sound[k]!]) {
          const point = bench.solve(condition, start ? { edit, start } : { edit });
          expect(bench.on(point, 'A')).toBe(false);
          expect(point.stateHeld).toBe(k === 1);
        }
      });
  });
  test('that a fault leaves with both states keeps both', () => {
    const edit: Edit = { gain: [{ transistor: bench.transistor('B/Q_A'), factor: 0.6 }] };
    states.forEach((condition, k) => {
      const point = bench.solve(condition, { edit, start: bench.solve(condition).volts });
      expect(bench.on(point, 'A')).toBe(k === 0);
      expect(point.stateHeld).toBe(true);
    });
  });
});

test('a ring of three, each fed by the other two, stands in any of its three states', () => {
  const names = ['A', 'B', 'C'];
  const bench = new Bench(
    sampleMachine(
      RAILS,
      names.flatMap((n) => inverter(n, ...names.filter((x) => x !== n))),
    ),
  );
  for (const off of names) {
    const hints = Object.fromEntries(names.map((n) => [n, n === off ? OFF : ON]));
    const point = bench.solve(sampleCondition(off, {}, hints));
    expect(names.map((n) => bench.on(point, n))).toEqual(names.map((n) => n !== off));
    expect(point.stateHeld).toBe(true);
    // One hint is enough.
    expect(bench.on(bench.solve(sampleCondition(off, {}, { [off]: OFF })), off)).toBe(false);
  }
  const free = bench.solve(sampleCondition('free'));
  expect(names.filter((n) => !bench.on(free, n))).toHaveLength(1);
});

test('a Schmitt trigger stands on either side between its two trip points, and on one side beyond them', () => {
  const bench = new Bench(
    sampleMachine({ '+12V': 12 }, [
      'R1 28k 1=C1 2=B2',
      'R2 25k 1=B2 2=0V',
      'R3 3.9k 1=+12V 2=C1',
      'R4 3.9k 1=+12V 2=C2',
      'R5 2.2k 1=E 2=0V',
      'R6 100 1=IN 2=B1',
      'Q1 SN e=E b=B1 c=C1',
      'Q2 SN e=E b=B2 c=C2',
    ]),
  );
  const at = (volts: number, c2: number): OperatingPoint =>
    bench.solve(sampleCondition('in', { IN: volts }, { C2: c2 }));
  const high = (point: OperatingPoint): boolean => point.volts[bench.net('C2')]! > 8;
  for (const volts of [3.4, 3.6, 4, 4.3, 4.6]) {
    expect(high(at(volts, 12))).toBe(true);
    expect(at(volts, 12).stateHeld).toBe(true);
    expect(high(at(volts, 4.3))).toBe(false);
    expect(at(volts, 4.3).stateHeld).toBe(true);
  }
  expect(high(at(6, 4.3))).toBe(true);
  expect(at(6, 4.3).stateHeld).toBe(false);
  expect(high(at(1, 12))).toBe(false);
  expect(at(1, 12).stateHeld).toBe(false);
});

describe('a master and a slave', () => {
  // While the clock is at -6 V the gates between them are closed (their outputs at ground let the slave alone).
  const gates = [
    ...inverter('G', 'M', 'CLK'),
    ...inverter('Gn', 'Mn', 'CLK'),
    ...flipFlop('M'),
    ...inverter('S', 'Sn', 'G'),
    ...inverter('Sn', 'S', 'Gn'),
  ];
  const bench = new Bench(sampleMachine(RAILS, gates));
  const condition = (clock: number, m: boolean, s: boolean): Condition =>
    sampleCondition(`${clock} ${m} ${s}`, { CLK: clock }, { ...pair('M', m), ...pair('S', s) });
  it('keep all four states apart while the gates are closed', () => {
    for (const m of [true, false])
      for (const s of [true, false]) {
        const point = bench.solve(condition(OFF, m, s));
        expect([bench.on(point, 'M'), bench.on(point, 'S')]).toEqual([m, s]);
        expect(point.stateHeld).toBe(true);
      }
  });
  it('agree while they are open, and a hint that says otherwise is not held', () => {
    for (const m of [true, false])
      for (const s of [true, false]) {
        const point = bench.solve(condition(0, m, s));
        expect(bench.on(point, 'M')).toBe(m);
        // G is the NOR of M and ground: true (-6 V) while M is on, and puts S on.
        expect(bench.on(point, 'S')).toBe(m);
        expect(point.stateHeld).toBe(m === s);
      }
  });
});

describe('a counter of four flip-flops', () => {
  const bits = ['A', 'B', 'C', 'D'];
  const parts = [
    ...bits.flatMap(flipFlop),
    // A decoder of nine, and the trigger capacitors between the stages.
    ...inverter('N9', 'An', 'B', 'C', 'Dn'),
    ...bits.slice(1).map((b, k) => `C${k + 1} 1n 1=b${b} 2=${bits[k]}n`),
  ];
  const bench = new Bench(sampleMachine(RAILS, parts));
  const value = (point: OperatingPoint): number =>
    bits.reduce((sum, b, k) => sum + (bench.on(point, b) ? 0 : 1 << k), 0);
  const counts = [...Array(16).keys()].map((n) =>
    sampleCondition(
      String(n),
      {},
      Object.assign({}, ...bits.map((b, k) => pair(b, ((n >> k) & 1) === 0))) as Record<string, number>,
    ),
  );
  it('stands at any count from 0 to 15', () => {
    counts.forEach((condition, n) => {
      const point = bench.solve(condition);
      expect(value(point)).toBe(n);
      expect(point.stateHeld).toBe(true);
    });
  });
  it('reads the same from a start at any other count', () => {
    const cold = counts.map((c) => bench.solve(c).volts);
    counts.forEach((condition, n) => {
      const warm = bench.solve(condition, { start: cold[(n + 5) % 16]! });
      expect(value(warm)).toBe(n);
      warm.volts.forEach((v, i) => {
        expect(Math.abs(v - cold[n]![i]!)).toBeLessThan(1e-6);
      });
    });
  });
  it('holds the bits that are hinted when the others are not', () => {
    const point = bench.solve(sampleCondition('two', {}, { ...pair('B', false), ...pair('D', true) }));
    expect(value(point) & 0b1010).toBe(0b0010);
    expect(point.stateHeld).toBe(true);
  });
  it('without hints leaves the balance points of all four', () => {
    const point = bench.solve(sampleCondition('free'));
    for (const b of bits) expect(bench.on(point, b)).not.toBe(bench.on(point, `${b}n`));
  });
  it('that has lost one bit to a fault keeps the other three', () => {
    const edit: Edit = {
      conductance: [{ element: bench.conductance('B/R_B0'), siemens: 0 }],
    };
    counts.forEach((condition, n) => {
      const point = bench.solve(condition, { edit, start: bench.solve(condition).volts });
      expect(value(point)).toBe(n | 0b0010);
      expect(point.stateHeld).toBe((n & 0b0010) !== 0);
    });
  });
});

test('an island without a source has no voltage, and does not spoil a start for a condition that feeds it', () => {
  const machine = sampleMachine(RAILS, [...flipFlop('A'), 'R1 1k 1=X 2=Y', 'D1 GD a=Y k=Z']);
  const bench = new Bench(machine);
  const apart = bench.solve(sampleCondition('apart', {}, pair('A', true)));
  for (const net of ['X', 'Y', 'Z']) expect(apart.volts[bench.net(net)]).toBeNaN();
  const through = bench.solve(sampleCondition('through', { X: [-3, 1000] }, pair('A', true)));
  expect(through.volts[bench.net('Y')]).toBeCloseTo(-3, 3);
  const fed = bench.solve(sampleCondition('fed', { X: -3 }, pair('A', true)), { start: apart.volts });
  expect(fed.aid).toBe('none');
  expect(fed.volts[bench.net('Y')]).toBeCloseTo(-3, 3);
  expect(fed.volts[bench.net('A')]).toBeCloseTo(apart.volts[bench.net('A')]!, 9);
});
