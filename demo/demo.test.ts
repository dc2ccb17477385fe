import { describe, expect, it } from 'vitest';
import { CircuitSolver, netlistOf } from '../src/circuit/index.ts';
import { faultHypotheses, faultsOfMode } from '../src/faults/index.ts';
import { type Machine, partNamed, pointNet, type Reading } from '../src/machine/index.ts';
import { conditionOf, REST, type Setting, tideGauge } from './machine/index.ts';
import { MeteredUnit } from './metered-unit.ts';
import { withFault } from './plant.ts';
import { Chance } from './random.ts';
import { DEFAULT_SEED, demoMachine } from './readings.ts';
import { SCENARIOS, type Scenario } from './scenarios.ts';
import { drawnUnit } from './unit.ts';

const machine = tideGauge();

function of(unit: string, readings: readonly Reading[]): readonly Reading[] {
  return readings.filter((r) => r.unit === unit);
}

/** The south unit, sound. */
const SOUTH = drawnUnit(machine, new Chance(DEFAULT_SEED, 'south', 'parts'));

function faulty(scenario: Scenario, described = machine): MeteredUnit {
  const unit = scenario.faults.reduce(withFault, SOUTH);
  return new MeteredUnit({ ...unit, conditions: described.conditions }, described);
}

function scenarioNamed(name: string): Scenario {
  return SCENARIOS.find((s) => s.name === name)!;
}

/** What the recorder prints for a sum: four bits, each added with the carry that the bit before gave. */
function printed(scenario: Scenario, count: number, datum: number): number {
  const settings = ([1, 2, 4, 8] as const).flatMap((bit) =>
    [false, true].map((held): Setting => ({ ...REST, name: `${bit} ${held}`, count, datum, bit, held })),
  );
  const unit = faulty(scenario, { ...machine, conditions: settings.map(conditionOf) });
  let held = false;
  let sum = 0;
  for (const bit of [1, 2, 4, 8]) {
    const condition: string = `${bit} ${held}`;
    if (unit.volts(condition, 'OUT', 22) < -3) sum += bit;
    held = unit.volts(condition, 'CARRY', 22) < -3;
  }
  return sum;
}

function volts(m: Machine, unit: string, condition: string, point: string): number {
  return m.readings.findLast((r) => r.unit === unit && r.condition === condition && r.point === point)!.value;
}

describe('the readings', () => {
  it('holds an evening on the faulty unit and some two hundred readings of the healthy one', () => {
    const { readings } = demoMachine();
    const recent = readings.filter((r) => r.takenAt > '2024' && r.quantity === 'V');
    expect(of('south', recent)).toHaveLength(30);
    expect(Math.abs(of('north', recent).length - 200)).toBeLessThan(40);
  });

  it('holds what the healthy unit does while it runs, and in scenarios that need it the faulty one, too', () => {
    for (const scenario of SCENARIOS) {
      const waves = demoMachine({ scenario }).readings.filter((r) => r.quantity !== 'V');
      expect(of('north', waves).length).toBeGreaterThan(60);
      expect(of('south', waves).length > 0).toBe(scenario.second !== undefined);
    }
  });

  it('of an earlier year are the same in every scenario: the south unit was sound then', () => {
    const [some, ...others] = SCENARIOS.map((scenario) =>
      demoMachine({ scenario }).readings.filter((r) => r.takenAt < '2020'),
    );
    expect(of('south', some!).length).toBeGreaterThan(20);
    for (const other of others) expect(other).toEqual(some);
  });
});

describe('the seed', () => {
  it('gives the same readings again, and another seed gives others', () => {
    expect(demoMachine({ seed: 7 })).toEqual(demoMachine({ seed: 7 }));
    const one = demoMachine({ seed: 7 }).readings.map((r) => r.value);
    const other = demoMachine({ seed: 8 }).readings.map((r) => r.value);
    expect(one.filter((v, i) => v !== other[i]).length).toBeGreaterThan(one.length / 2);
  });

  it('gives the same healthy unit in every scenario', () => {
    const [a, b] = SCENARIOS.slice(0, 2).map((scenario) => demoMachine({ scenario }));
    expect(volts(a!, 'north', 'counter 0', '-12V')).toBe(volts(b!, 'north', 'counter 0', '-12V'));
  });
});

describe('a drawn unit', () => {
  const unit = drawnUnit(machine, new Chance(3));

  it('has every resistor near its value, those of carbon a little high on the whole', () => {
    const drifts = machine.parts.flatMap((part, i) =>
      part.kind === 'resistor' && part.tolerance >= 10 ? [unit.parts[i]!.value! / part.value!] : [],
    );
    for (const drift of drifts) {
      expect(drift).toBeGreaterThan(0.88);
      expect(drift).toBeLessThan(1.2);
    }
    expect(drifts.reduce((sum, d) => sum + d, 0) / drifts.length).toBeGreaterThan(1.01);
  });

  it('has gains of one type that differ two to one and more', () => {
    const gains = machine.parts
      .filter((part) => part.type === 'QWP11')
      .map((part) => unit.types.get(part.name)!.hfeTyp!);
    expect(Math.max(...gains) / Math.min(...gains)).toBeGreaterThan(2);
  });
});

describe('a planted fault', () => {
  it.each([
    ['a shorted transistor', 'CTR/Q1', 'short-ce', 'CTR.Q1.b', 'BIT1'],
    ['an open collector joint', 'CTR/Q14', 'open-joint:c', 'NINEN', 'NINE'],
  ])('%s shows at its collector', (_, part, mode, __, net) => {
    const sound = new MeteredUnit(machine, machine);
    const faulty = new MeteredUnit(withFault(machine, { part, mode }), machine);
    const condition = net === 'BIT1' ? 'counter 9' : 'counter 0';
    expect(Math.abs(faulty.volts(condition, net, 20) - sound.volts(condition, net, 20))).toBeGreaterThan(5);
  });

  it('parts a lifted pin from its net', () => {
    const faulty = new MeteredUnit(withFault(machine, { part: 'CTR/Q14', mode: 'open-joint:b' }), machine);
    const net = faulty.reading('counter 9', 'CTR.Q14.b', 10e6, 20);
    const pin = faulty.reading('counter 9', 'CTR/Q14.b', 10e6, 20);
    expect(net).toBeGreaterThan(0.5);
    expect(Math.abs(net - pin)).toBeGreaterThan(0.3);
  });

  it('parts a board from the others where its contact has gone', () => {
    const planted = { part: 'ADD/J1', mode: 'open-joint:11' };
    const faulty = new MeteredUnit(withFault(machine, planted), machine);
    const solver = new CircuitSolver(netlistOf(machine));
    const [fault] = faultsOfMode(solver.netlist, partNamed(machine, planted.part)!, planted.mode);
    for (const condition of machine.conditions.filter((c) => ['counter 3', '5+3 bit 1'].includes(c.name))) {
      solver.setParts(undefined, 20);
      const { volts } = solver.solve(condition, { edit: fault!.edit });
      // The program's own edit, and a unit whose board has another net there.
      for (const point of ['CTR/J1.8', 'ADD/J1.11', 'SUM'])
        expect(
          volts[solver.netlist.pinNets.get(point) ?? solver.netlist.netIndex.get(point)!],
          point,
        ).toBeCloseTo(
          faulty.volts(
            condition.name,
            pointNet(machine, point) === 'BIT1' && point.startsWith('ADD')
              ? 'ADD/J1.11~'
              : pointNet(machine, point)!,
            20,
          ),
          3,
        );
    }
  });

  it('of a kind that nobody knows how to plant is refused', () => {
    expect(() => withFault(machine, { part: 'CTR/Q1', mode: 'melted' })).toThrow('melted');
    expect(() => withFault(machine, { part: 'CTR/Q1', mode: 'short-cx' })).toThrow('cx');
    expect(() => withFault(machine, { part: 'CTR/Q99', mode: 'short-ce' })).toThrow('CTR/Q99');
  });
});

describe('the scenarios', () => {
  const modes = new Set(faultHypotheses(netlistOf(machine)).map((h) => `${h.part}:${h.mode}`));

  it('are a single fault each, but for one double and one with nothing wrong', () => {
    const counts = SCENARIOS.map((s) => s.faults.length).sort();
    expect(counts).toEqual([0, ...new Array(SCENARIOS.length - 2).fill(1), 2]);
    expect(new Set(SCENARIOS.map((s) => s.name)).size).toBe(SCENARIOS.length);
  });

  it('have faults that the program knows', () => {
    for (const { faults } of SCENARIOS)
      for (const { part, mode } of faults) expect(modes).toContain(`${part}:${mode}`);
  });

  it.each(SCENARIOS.filter((s) => s.second === undefined).map((s) => [s.name, s] as const))(
    '%s: shows at some point of the evening',
    (_, scenario) => {
      const unit = faulty(scenario);
      const sound = faulty({ ...scenario, faults: [] });
      const moves = scenario.evening.flatMap(([condition, points]) =>
        points
          .split(' ')
          .map((point) =>
            Math.abs(unit.reading(condition, point, 10e6, 22) - sound.reading(condition, point, 10e6, 22)),
          ),
      );
      const most = Math.max(...moves);
      if (scenario.faults.length === 0) expect(most).toBe(0);
      // The first stage of the line amplifier is behind a coupling capacitor: the sockets feel it by the supply only.
      else expect(most).toBeGreaterThan(scenario.name === 'deaf to the float' ? 0.05 : 1);
    },
  );

  it.each([
    ['one wrong total', 0, 0, 0],
    ['one wrong total', 5, 3, 8],
    ['fourteen too many', 0, 0, 14],
    ['fourteen too many', 5, 3, 8],
    ['fours get lost', 5, 3, 4],
    ['fours get lost', 8, 3, 11],
  ])('%s: %i + %i is printed as %i', (name, count, datum, sum) => {
    expect(printed(scenarioNamed(name), count, datum)).toBe(sum);
  });

  it('deaf to the float: the first stage of the amplifier is driven into saturation', () => {
    const unit = faulty(scenarioNamed('deaf to the float'));
    expect(unit.volts('counter 0', 'LNE.Q1.e', 22) - unit.volts('counter 0', 'LNE.Q1.c', 22)).toBeLessThan(
      0.3,
    );
  });

  it('hangs after an hour: the level detector stays tripped with nothing on the line', () => {
    expect(faulty(scenarioNamed('hangs after an hour')).volts('counter 0', 'PULSE', 22)).toBeLessThan(-5);
  });
});
