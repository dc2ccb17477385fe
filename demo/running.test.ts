import { beforeAll, describe, expect, it } from 'vitest';
import { CircuitSolver, netlistOf, transient } from '../src/circuit/index.ts';
import { isRunning, type Reading } from '../src/machine/index.ts';
import { comparison, type Trace } from '../src/waveform/index.ts';
import { RUNNING, type RunningSetting, runningConditionOf, tideGauge } from './machine/index.ts';
import { MeteredUnit } from './metered-unit.ts';
import { withFault } from './plant.ts';
import { Chance } from './random.ts';
import { DEFAULT_SEED, demoMachine, SOUTH_RUN, soundUnit } from './readings.ts';
import { type Looks, scopedReadings, settingNamed } from './running-readings.ts';
import { type Waveforms, waveformsOf } from './running-unit.ts';
import { SCENARIOS } from './scenarios.ts';
import { sampled, scopeOf } from './scope.ts';
import { drawnUnit, withOwnStorage } from './unit.ts';

const machine = tideGauge();
const RUNNING_ONLY = SCENARIOS.filter((s) => s.second !== undefined);

/** A sound unit that is neither of the two. */
function drawn(seed: number) {
  return withOwnStorage(drawnUnit(machine, new Chance(seed)), new Chance(seed, 'storage'));
}

function at({ instants, of }: Waveforms, net: string, t: number): number {
  const k = instants.findIndex((instant) => instant >= t);
  return of(net)![k < 0 ? instants.length - 1 : k]!;
}

/** How often a net goes from mark to space, from a millisecond on. */
function rises({ instants, of }: Waveforms, net: string): number {
  let [count, mark] = [0, false];
  of(net)!.forEach((v, k) => {
    if (instants[k]! < 1e-3) return;
    if (v < -5) mark = true;
    else if (v > -1 && mark) [count, mark] = [count + 1, false];
  });
  return count;
}

describe('the running states', () => {
  it('run, and name in words the boards that are out and the lines that are clipped', () => {
    for (const setting of RUNNING) {
      const condition = runningConditionOf(setting);
      expect(isRunning(condition)).toBe(true);
      for (const board of ['PWR', 'CLK', 'CTR', 'ADD', 'LNE']) {
        const out = new RegExp(`\\b${board}\\b[^;]* out\\b`).test(condition.steps!);
        expect({ setting: setting.name, board, out }).toEqual({
          ...{ setting: setting.name, board },
          out: !setting.boards.includes(board),
        });
      }
    }
  });

  it('feed every line by which a board that is out would reach one that is in', () => {
    for (const { name, boards, feeds } of RUNNING) {
      const fed = new Set(['0V', ...feeds.map(({ net }) => net), ...machine.rails.map(({ net }) => net)]);
      const nets = (isIn: boolean) =>
        machine.parts
          .filter(({ board, kind }) => boards.includes(board) === isIn && kind !== 'connector')
          .flatMap(({ pins }) => pins.map(({ net }) => net));
      const inside = new Set(nets(true));
      const open = [...new Set(nets(false))].filter((net) => inside.has(net) && !fed.has(net));
      expect(`${name}: ${open.join(' ')}`).toBe(`${name}: `);
    }
  });

  it.each(RUNNING.map((s) => [s.name, s] as const))(
    '%s: the machine as it is described, all boards in it, does the same as the boards that are in by themselves',
    (_, setting) => {
      const { drives, hints, watch } = runningConditionOf(setting);
      const solver = new CircuitSolver(netlistOf(machine));
      solver.setParts(undefined, 20);
      const alone = waveformsOf(machine, setting, 20);
      const seen = pointsOf(setting);
      const whole = transient(solver, {
        drives: drives.map(({ net, volts, ohms, wave }) => {
          if (wave?.kind === 'capture') throw new Error(net);
          return { net, ohms, wave: wave ?? { kind: 'constant', volts } };
        }),
        released: hints,
        from: 0,
        to: watch!.to,
        probes: seen.map((net) => solver.netlist.netIndex.get(net)!),
      });
      expect(whole.converged).toBe(true);
      const trace = (instants: Float64Array, volts: Float64Array): Trace => {
        return { name: '', unit: 'V', timebase: { stamps: instants }, values: Float32Array.from(volts) };
      };
      seen.forEach((net, i) => {
        const found = comparison(
          trace(alone.instants, alone.of(net)!),
          trace(whole.instants, whole.volts[i]!),
          {
            amplitudeTolerance: 0.15,
            timingTolerance: (watch!.to - watch!.from) / 200,
            window: watch!,
          },
        );
        expect({ net, ...found }).toMatchObject({ net, count: 0 });
      });
    },
  );
});

function pointsOf({ name }: RunningSetting): readonly string[] {
  const seen: Record<string, string> = {
    'clock running': 'OSC OSCN CK PH P1 P2 K1 T1',
    'counting from three': 'BIT1 BIT2 BIT4 BIT8 BIT8N NINE TENS',
    'adding 5 and 3': 'A B SUM CARRY HELD OUT',
    'float pulse': 'LNE.T1.2a LNE.Q1.c LNE.Q2.c READ SLICE PULSE',
  };
  return seen[name]!.split(' ');
}

describe('a sound unit', () => {
  const units = [1, 2, 3, 4, 5, 6].map((seed) => ({ celsius: 4 + 5 * seed, unit: drawn(seed) }));

  it('clocks P1 and P2 by turns', () => {
    for (const { unit, celsius } of units) {
      const waves = waveformsOf(unit, settingNamed('clock running'), celsius);
      expect(rises(waves, 'CK')).toBeGreaterThanOrEqual(2);
      expect(rises(waves, 'P1') + rises(waves, 'P2')).toBe(rises(waves, 'CK'));
      expect(Math.abs(rises(waves, 'P1') - rises(waves, 'P2'))).toBeLessThanOrEqual(1);
      // Never both at once.
      waves.of('P1')!.forEach((v, k) => {
        expect(Math.max(v, waves.of('P2')![k]!)).toBeGreaterThan(-2);
      });
    }
  });

  it('counts from three to nought', () => {
    for (const { unit, celsius } of units) {
      const waves = waveformsOf(unit, settingNamed('counting from three'), celsius);
      const shown = [0, 1, 2, 3, 4, 5, 6, 7].map((pulse) =>
        [1, 2, 4, 8].reduce(
          (sum, w) => sum + (at(waves, `BIT${w}`, (90 + 200 * pulse) * 1e-6) < -3 ? w : 0),
          0,
        ),
      );
      expect(shown).toEqual([3, 4, 5, 6, 7, 8, 9, 0]);
    }
  });

  it('adds 5 and 3', () => {
    for (const { unit, celsius } of units) {
      const waves = waveformsOf(unit, settingNamed('adding 5 and 3'), celsius);
      const bits = [1, 2, 4, 8].map((_, k) => at(waves, 'OUT', (105 + 100 * k) * 1e-6) < -3);
      expect(bits).toEqual([false, false, false, true]);
    }
  });

  it('makes one pulse of the closing of the float contact', () => {
    for (const { unit, celsius } of units)
      expect(rises(waveformsOf(unit, settingNamed('float pulse'), celsius), 'PULSE')).toBe(1);
  });
});

/** Readings of the south unit by state, point and quantity. */
function read(faults: (typeof SCENARIOS)[number]['faults'], looks: Looks): Map<string, number> {
  const unit = faults.reduce(withFault, soundUnit(machine, 'south', DEFAULT_SEED));
  return keyed(scopedReadings(unit, SOUTH_RUN, looks, DEFAULT_SEED));
}

function keyed(readings: readonly Reading[]): Map<string, number> {
  return new Map(readings.map((r) => [`${r.condition} ${r.point} ${r.quantity}`, r.value]));
}

describe.each(RUNNING_ONLY.map((s) => [s.name, s] as const))('%s', (_, scenario) => {
  it('moves no level that stands still, at any point in any state, by what a meter would show', () => {
    const sound = soundUnit(machine, 'south', DEFAULT_SEED);
    const [a, b] = [sound, scenario.faults.reduce(withFault, sound)].map(
      (unit) => new MeteredUnit(unit, machine),
    );
    const nets = machine.points.map(({ point }) => point).filter((point) => !point.includes('/'));
    const moves = machine.conditions
      .filter((c) => !isRunning(c))
      .flatMap(({ name }) => nets.map((net) => Math.abs(a!.volts(name, net, 22) - b!.volts(name, net, 22))));
    // Half a digit of a display of 20 V.
    expect(Math.max(...moves)).toBeLessThan(5e-3);
  });

  it('shows in a reading of the second evening, far outside of what sound units differ by', () => {
    const looks = scenario.second!;
    const found = read(scenario.faults, looks);
    const sound = read([], looks);
    const others = [11, 12, 13, 14, 15].map((seed) =>
      keyed(scopedReadings(drawn(seed), { ...SOUTH_RUN, ambient: 12 + 2 * (seed - 11) }, looks, seed)),
    );
    const telling = [...sound.keys()].filter((key) => {
      const values = [sound, ...others].map((one) => one.get(key)!).filter((v) => v !== undefined);
      const [low, high] = [Math.min(...values), Math.max(...values)];
      const value = found.get(key);
      if (value === undefined) return false;
      // Three times as far out as all of them are apart.
      const margin = 3 * (high - low) + (key.endsWith('moves') ? 0.5 : 0.01 * Math.abs(high));
      return value < low - margin || value > high + margin;
    });
    expect(telling.length).toBeGreaterThan(0);
    // And sound units agree with each other.
    for (const key of sound.keys())
      if (key.endsWith('moves')) expect(`${key} ${sound.get(key)}`).toMatch(/1$/);
  });

  it('reads at rest as a sound unit does: the first evening tells nothing', () => {
    const values = (faults: typeof scenario.faults) =>
      demoMachine({ scenario: { ...scenario, faults, second: [] } })
        .readings.filter((r) => r.unit === 'south' && r.takenAt > '2024')
        .map((r) => r.value);
    const [with_, without] = [values(scenario.faults), values([])];
    expect(with_.length).toBeGreaterThan(20);
    with_.forEach((value, i) => {
      expect(Math.abs(value - without[i]!)).toBeLessThan(0.011);
    });
  });
});

describe('the symptoms', () => {
  const waves = (name: string, state: string) => {
    const { faults } = SCENARIOS.find((s) => s.name === name)!;
    const unit = faults.reduce(withFault, soundUnit(machine, 'south', DEFAULT_SEED));
    return waveformsOf(unit, settingNamed(state), 20);
  };
  const counted = (w: Waveforms) =>
    [0, 1, 2, 3, 4, 5, 6, 7].map((pulse) =>
      [1, 2, 4, 8].reduce((sum, b) => sum + (at(w, `BIT${b}`, (90 + 200 * pulse) * 1e-6) < -3 ? b : 0), 0),
    );

  it.each([
    ['two and three by turns', [3, 2, 3, 2, 3, 2, 3, 2]],
    ['no eight', [3, 4, 5, 6, 7, 0, 1, 2]],
  ])('%s: the counter goes so', (name, digits) => {
    expect(counted(waves(name, 'counting from three'))).toEqual(digits);
  });

  it('clock stands: nothing moves', () => {
    const w = waves('clock stands', 'clock running');
    for (const net of ['CK', 'P1', 'P2']) expect(rises(w, net)).toBe(0);
  });

  it('clock too fast: by more than half', () => {
    const period = (scenario: string) =>
      read(SCENARIOS.find((s) => s.name === scenario)!.faults, [['clock running', 'CK=period']]).get(
        'clock running CK period',
      )!;
    expect(period('one wrong total') / period('clock too fast')).toBeGreaterThan(1.5);
  });

  it('deaf at good levels: the pulse ends before the second stage', () => {
    const w = waves('deaf at good levels', 'float pulse');
    const swing = (net: string) => Math.max(...w.of(net)!) - Math.min(...w.of(net)!);
    expect(swing('LNE.Q1.c')).toBeGreaterThan(3);
    expect(swing('LNE.Q2.c')).toBeLessThan(0.1);
    expect(rises(w, 'PULSE')).toBe(0);
  });
});

describe('a scope', () => {
  let waves: Waveforms;
  beforeAll(() => {
    waves = waveformsOf(machine, settingNamed('adding 5 and 3'), 20);
  });

  it('shows volts and instants within its error, in steps of a screen of 256', () => {
    for (const seed of [1, 2, 3]) {
      const scope = scopeOf('travelling scope', new Chance(seed));
      const { trace, screen } = sampled(
        scope,
        waves,
        'CARRY',
        { from: 0, to: 5e-4, count: 1000 },
        new Chance(seed, 2),
      );
      expect(Math.abs(scope.gain - 1)).toBeLessThan(0.08);
      expect(Math.abs(scope.rate - 1)).toBeLessThan(0.016);
      expect(trace.values).toHaveLength(1000);
      const steps = new Set(Array.from(trace.values, (v) => Math.round((v * 256) / screen)));
      for (const v of trace.values)
        expect(Math.abs(v - Math.round((v * 256) / screen) * (screen / 256))).toBeLessThan(1e-5);
      expect(steps.size).toBeGreaterThan(5);
      expect(trace.values[300]! / at(waves, 'CARRY', 1.5e-4)).toBeCloseTo(scope.gain, 1);
    }
  });
});
