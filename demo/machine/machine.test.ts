import { describe, expect, it } from 'vitest';
import { CircuitSolver, netlistOf } from '../../src/circuit/index.ts';
import { boardsOf, isRunning, machineFiles, pinsByNet, readMachine } from '../../src/machine/index.ts';
import { cautionAt } from '../../src/workbench/index.ts';
import { MeteredUnit } from '../metered-unit.ts';
import { Chance } from '../random.ts';
import { drawnUnit } from '../unit.ts';
import { conditionOf, REST, SETTINGS, type Setting, storedBits, tideGauge } from './index.ts';
import { presses } from './steps.ts';

const machine = tideGauge();
const COUNTER_0: Setting = { ...REST, name: 'counter 0' };

type At = (net: string) => number;

/** Volts by net in a setting of the description, found from cold. */
function described(setting: Setting, celsius = 25): At {
  const solver = new CircuitSolver(netlistOf(machine));
  solver.setParts(undefined, celsius);
  const { converged, stateHeld, stable, volts } = solver.solve(conditionOf(setting));
  expect({ converged, stateHeld, stable }).toEqual({ converged: true, stateHeld: true, stable: true });
  return (net) => volts[solver.netlist.netIndex.get(net)!]!;
}

/** Volts by net in a setting of a unit that is not quite as described. */
function inUnit(unit: MeteredUnit, setting: Setting, celsius = 25): At {
  return (net) => unit.volts(setting.name, net, celsius);
}

function strayed(factor: number): At {
  const rails = machine.rails.map((r) => ({ ...r, volts: r.volts * factor }));
  return inUnit(new MeteredUnit({ ...machine, rails }, machine), COUNTER_0);
}

/** Negative logic: true is mark. A level in the gap between 1 and 5 volts is neither, and fails. */
function logic(volts: number): boolean | string {
  if (volts > -0.6 && volts < 0.6) return false;
  return volts < -5.2 && volts > -13 ? true : `${volts.toFixed(2)} V`;
}

/** What the logic must show, worked out from the setting alone. */
function truth(s: Setting): Record<string, boolean> {
  const stored = Object.fromEntries(
    storedBits(s).flatMap(([net, mark]) => [
      [net, mark],
      [`${net}N`, !mark],
    ]),
  );
  const a = (s.count & s.bit) !== 0;
  const b = (s.datum & s.bit) !== 0;
  const ones = Number(a) + Number(b) + Number(s.held);
  const sum = ones % 2 === 1;
  const carry = ones >= 2;
  const p1 = s.step && s.phase === 1;
  const p2 = s.step && s.phase === 2;
  const pulse = s.test;
  return {
    ...stored,
    OSC: s.step,
    OSCN: true,
    CK: s.step,
    P1: p1,
    P1N: !p1,
    P2: p2,
    P2N: !p2,
    T1: s.bit === 1,
    T2: s.bit === 2,
    T4: s.bit === 4,
    T8: s.bit === 8,
    CLR: !s.clear,
    A: a,
    AN: !a,
    B: b,
    BN: !b,
    SUM: sum,
    SUMN: !sum,
    CARRY: carry,
    CARRYN: !carry,
    OUT: sum,
    NINE: s.count === 9,
    NINEN: s.count !== 9,
    PULSE: pulse,
    PULSEN: !pulse,
    CNT: pulse && !s.hold,
  };
}

function expectLogic(at: At, setting: Setting): void {
  const expected = truth(setting);
  const found = Object.fromEntries(Object.keys(expected).map((net) => [net, logic(at(net))]));
  expect({ setting: setting.name, ...found }).toEqual({ setting: setting.name, ...expected });
}

describe('the description', () => {
  it('has 60 to 100 transistors among 250 to 450 parts on five boards', () => {
    expect(boardsOf(machine)).toEqual(['PWR', 'CLK', 'CTR', 'ADD', 'LNE']);
    expect(machine.parts.length).toBeGreaterThanOrEqual(250);
    expect(machine.parts.length).toBeLessThanOrEqual(450);
    const transistors = machine.parts.filter((p) => p.kind === 'transistor').length;
    expect(transistors).toBeGreaterThanOrEqual(60);
    expect(transistors).toBeLessThanOrEqual(100);
    const [running, standing] = [true, false].map((runs) =>
      machine.conditions.filter((condition) => isRunning(condition) === runs),
    );
    expect(standing!.length).toBeGreaterThanOrEqual(8);
    expect(standing!.length).toBeLessThanOrEqual(12);
    expect(running!.length).toBeGreaterThanOrEqual(4);
  });

  it('crosses from board to board only through edge connectors', () => {
    const breaches = [...pinsByNet(machine)].flatMap(([net, pins]) => {
      const boards = new Set(pins.map(({ part }) => part.board));
      if (boards.size < 2) return [];
      return [...boards]
        .filter((board) => !pins.some(({ part }) => part.board === board && part.kind === 'connector'))
        .map((board) => `${net} on ${board}`);
    });
    expect(breaches).toEqual([]);
  });

  it('is a machine folder without a finding, and comes back from it as it was', () => {
    const texts = machineFiles(machine);
    const bytes = new Map([...texts].map(([file, text]) => [file, new TextEncoder().encode(text)]));
    const document = readMachine(bytes);
    expect(document.findings.filter((f) => f.severity === 'error')).toEqual([]);
    const { types, ...rest } = document.machine!;
    const { types: own, ...expected } = machine;
    expect(rest).toEqual(expected);
    for (const [name, type] of own) expect(types.get(name)).toEqual(type);
  });

  it('carries a caution at every point of more than 20 V or before a fuse', () => {
    const bare = machine.points.filter((p) =>
      /^(-80V|LINE|LNE\.FS1|LNE\.T1\.1a|-24V|-24F|PWR\.S1|PWR\.FS1)$/.test(p.point),
    );
    expect(bare).toHaveLength(8);
    for (const { point } of bare) expect(cautionAt(machine, point), point).not.toBe('');
  });
});

describe('the logic', () => {
  it.each(SETTINGS.map((s) => [s.name, s] as const))('is right throughout in %s', (_, setting) => {
    for (const celsius of [10, 25, 40]) expectLogic(described(setting, celsius), setting);
  });

  it('is right in sound units of any seed, from a cold shed to a hot one', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const unit = new MeteredUnit(drawnUnit(machine, new Chance(seed)), machine);
      for (const setting of SETTINGS) expectLogic(inUnit(unit, setting, 5 + 2.5 * seed), setting);
    }
  });

  it('adds the digits, whatever the carries between the bits', () => {
    const solver = new Stepper();
    for (let count = 0; count <= 9; count++)
      for (let datum = count % 3; datum <= 9; datum += 3) {
        let held = false;
        let sum = 0;
        for (const bit of [1, 2, 4, 8] as const) {
          const at = solver.at({ count, datum, bit, held });
          if (at('SUM') < -3) sum += bit;
          held = at('CARRY') < -3;
        }
        expect(`${count}+${datum} = ${sum + (held ? 16 : 0)}`).toBe(`${count}+${datum} = ${count + datum}`);
      }
  });

  it('counts to nine and back to nought, by what the steering lets through', () => {
    const solver = new Stepper();
    for (let count = 0; count <= 9; count++) {
      const next = steppedDecade(solver.at({ count }));
      expect(next).toBe((count + 1) % 10);
    }
  });

  it('goes through the bit times in order', () => {
    const solver = new Stepper();
    const order = [1, 2, 4, 8] as const;
    order.forEach((bit, i) => {
      const at = solver.at({ bit });
      const k1 = toggled(at, 'K1');
      const fell = at('K1') < -3 && !k1;
      const k2 = fell ? toggled(at, 'K2') : at('K2') < -3;
      expect((k2 ? 4 : 1) * (k1 ? 2 : 1)).toBe(order[(i + 1) % 4]);
    });
  });

  it('takes the carry over at the end of P2 and not otherwise', () => {
    const solver = new Stepper();
    for (const held of [false, true])
      for (const datum of [0, 1])
        for (const count of [0, 1]) {
          const at = solver.at({ count, datum, held });
          expect(toggled(at, 'HELD')).toBe(count + datum + Number(held) >= 2);
        }
  });
});

/** The machine in settings of its own making, all from one solver. */
class Stepper {
  readonly #solver = new CircuitSolver(netlistOf(machine));

  at(change: Partial<Setting>): At {
    const condition = conditionOf({ ...REST, name: 'made up', ...change });
    const point = this.#solver.solve(condition, { accuracy: 'table' });
    expect(point.converged && point.stateHeld).toBe(true);
    return (net) => point.volts[this.#solver.netlist.netIndex.get(net)!]!;
  }
}

/** State of a flip-flop after its clock's edge: a side that is at space and whose steering net is too is cut off. */
function toggled(at: At, bit: string): boolean {
  if (at(bit) < -3) return !(at(`${bit}.rst`) > -1);
  return at(`${bit}.set`) > -1;
}

function steppedDecade(at: At): number {
  const mark = (bit: string): boolean => at(bit) < -3;
  const one = toggled(at, 'BIT1');
  const oneFell = mark('BIT1') && !one;
  const two = oneFell ? toggled(at, 'BIT2') : mark('BIT2');
  const eight = oneFell ? toggled(at, 'BIT8') : mark('BIT8');
  const twoFell = mark('BIT2') && !two;
  const four = twoFell ? toggled(at, 'BIT4') : mark('BIT4');
  return Number(one) + 2 * Number(two) + 4 * Number(four) + 8 * Number(eight);
}

describe('the steps in words', () => {
  it.each(SETTINGS.map((s) => [s.name, s] as const))(
    '%s: the presses of STEP end at its bit time, phase and held carry',
    (_, setting) => {
      const carry = (weight: number, held: boolean): boolean =>
        Number((setting.count & weight) !== 0) + Number((setting.datum & weight) !== 0) + Number(held) > 1;
      let { phase, bit, held } = { phase: 2, bit: 1, held: false };
      for (let press = 0; press < presses(setting); press++) {
        if (phase === 2) held = carry(bit, held);
        else bit *= 2;
        phase = 3 - phase;
      }
      expect({ phase, bit, held }).toEqual({ phase: setting.phase, bit: setting.bit, held: setting.held });
    },
  );

  it('name what is driven, and nothing else', () => {
    for (const setting of SETTINGS) {
      const { drives, steps } = conditionOf(setting);
      const driven = new Set(drives.map(({ net }) => net));
      expect(steps).toContain('STOP down');
      expect(/hold STEP/.test(steps!)).toBe(driven.has('STEP'));
      expect(/hold CLEAR/.test(steps!)).toBe(driven.has('CLRKEY'));
      expect(/float contact closed/.test(steps!)).toBe(driven.has('LINE'));
      expect(/on TEST/.test(steps!)).toBe(driven.has('TEST'));
      expect(/close HOLD/.test(steps!)).toBe(driven.has('HOLD'));
      const open: readonly string[] = steps!.match(/switches (.*) open/)?.[1]?.match(/\d/g) ?? [];
      for (const weight of ['1', '2', '4', '8'])
        expect(open.includes(weight)).toBe(!driven.has(`DAT${weight}`));
    }
  });
});

describe('the flow', () => {
  it('has every point but the common supplies in one stage, on a board that it is on', () => {
    const put = machine.flow.flatMap(({ outputs }) => outputs);
    expect(new Set(put).size).toBe(put.length);
    const nets = machine.points.map(({ point }) => point).filter((point) => !point.includes('/'));
    expect(nets.filter((net) => !put.includes(net)).sort()).toEqual(['+6V', '-12V', '-24F', '-6V']);
    for (const { board, outputs } of machine.flow)
      for (const net of outputs)
        expect(
          pinsByNet(machine)
            .get(net)!
            .some(({ part }) => part.board === board),
        ).toBe(true);
  });
});

describe('the analogue boards', () => {
  it('regulates -12 V, -6 V and +6 V while the raw rails stray by a tenth', () => {
    for (const factor of [0.9, 1, 1.1]) {
      const at = strayed(factor);
      expect(Math.abs(at('-12V') + 12)).toBeLessThan(0.25);
      expect(Math.abs(at('-6V') + 6.1)).toBeLessThan(0.25);
      expect(Math.abs(at('+6V') - 6)).toBeLessThan(0.25);
    }
  });

  it('leaves the pass transistor several volts with mains a tenth low', () => {
    const at = strayed(0.9);
    expect(at('PWR.Q1.e') - at('-24F')).toBeGreaterThan(4);
  });

  it('biases both amplifier stages in the middle of their range, in all units', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const at = inUnit(new MeteredUnit(drawnUnit(machine, new Chance(seed)), machine), COUNTER_0);
      for (const q of ['LNE.Q1', 'LNE.Q2']) {
        expect(at(`${q}.e`) - at(`${q}.c`)).toBeGreaterThan(2);
        expect(at(`${q}.c`) - at('LNE.V')).toBeGreaterThan(2);
      }
    }
  });

  it('keeps every transistor and diode of the logic within its ratings', () => {
    for (const setting of SETTINGS) {
      const at = described(setting);
      for (const part of machine.parts) {
        const type = machine.types.get(part.type);
        const volts = Object.fromEntries(part.pins.map((p) => [p.pin, at(p.net)]));
        if (part.kind === 'transistor') {
          const sign = type!.polarity === 'npn' ? 1 : -1;
          expect(sign * (volts.c! - volts.e!)).toBeLessThan(type!.vceo!);
          expect(sign * (volts.e! - volts.b!)).toBeLessThan(type!.vebo!);
        } else if (part.kind === 'diode') expect(volts.k! - volts.a!).toBeLessThan(type!.vcbo!);
      }
    }
  });
});
