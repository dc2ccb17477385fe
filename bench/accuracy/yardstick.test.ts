import { describe, expect, it } from 'vitest';
import { Kit } from './boards/kit.ts';
import { type Family, nor } from './boards/stages.ts';
import { benchOf, machineWith, symptom, trialOf } from './trial.ts';
import { yardstickOf } from './yardstick.ts';

const FAMILY: Family = {
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

/** Two inverters in a row: small enough to solve every fault in a second or two. */
function pair() {
  const kit = new Kit('T', {
    summary: 'test',
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    pins: 'all',
  });
  const input = kit.input('IN', -0.1, -9);
  nor(kit, FAMILY, 'Y', [nor(kit, FAMILY, 'X', [input])]);
  kit.condition('low', []);
  kit.condition('high', [input]);
  return benchOf(kit.finish('tuning', 'test', ['Y']));
}

describe('the exact posterior', () => {
  const bench = pair();
  const yardstick = yardstickOf(bench);

  it('adds up to one and agrees with the planting prior before any reading', () => {
    const trial = trialOf(bench, 1, 1);
    const { suspects } = yardstick.posterior(trial, 'none', []);
    expect(suspects.reduce((sum, s) => sum + s.probability, 0)).toBeCloseTo(1, 9);
    const of = (key: string) => suspects.find((s) => `${s.parts[0]}:${s.modes[0]}` === key)!.probability;
    // Of modes that everybody would see, shares stand as they are planted: 0.20 to 0.12.
    expect(of('T/Q2:short-ce') / of('T/Q2:short-bc')).toBeCloseTo(0.2 / 0.12, 1);
  });

  it.each(['all', 'none'] as const)(
    'puts the planted part first on all readings, healthy unit: %s',
    (twin) => {
      for (let number = 1; number <= 8; number++) {
        const trial = trialOf(bench, number, 1);
        const { suspects } = yardstick.posterior(trial, twin, trial.faultyReadings);
        const sum = suspects
          .filter((s) => s.parts[0] === trial.planted[0]!.part)
          .reduce((a, s) => a + s.probability, 0);
        expect(sum, JSON.stringify(trial.planted)).toBeGreaterThan(0.3);
      }
    },
  );

  it('gives less to the planted part from the symptom alone than from all readings, in the mean', () => {
    const given = (few: boolean) => {
      let sum = 0;
      for (let number = 1; number <= 8; number++) {
        const trial = trialOf(bench, number, 1);
        const { suspects } = yardstick.posterior(trial, 'all', few ? [symptom(trial)] : trial.faultyReadings);
        for (const s of suspects) if (s.parts[0] === trial.planted[0]!.part) sum += s.probability;
      }
      return sum / 8;
    };
    expect(given(true)).toBeLessThan(given(false) - 0.1);
  });

  it('asks for no reading that has been taken', () => {
    const trial = trialOf(bench, 2, 1);
    const first = symptom(trial);
    const next = yardstick.posterior(trial, 'all', [first]).next();
    if (next !== undefined)
      expect(`${next.condition} ${next.point}`).not.toBe(`${first.condition} ${first.point}`);
  });
});

describe('a trial', () => {
  it('is the same for the same number, and its readings stand at the points of the board', () => {
    const bench = pair();
    const [a, b] = [trialOf(bench, 5, 1), trialOf(bench, 5, 1)];
    expect(a.planted).toEqual(b.planted);
    expect(a.faultyReadings).toEqual(b.faultyReadings);
    expect(trialOf(bench, 6, 1).faultyReadings).not.toEqual(a.faultyReadings);
    const { machine } = bench.board;
    expect(machineWith(machine, a.faultyReadings).parts).toBe(machine.parts);
    expect(a.faultyReadings).toHaveLength(machine.points.length * machine.conditions.length);
  });

  it('plants two faults of which neither hides the other, and none where none are wanted', () => {
    const bench = pair();
    const two = trialOf(bench, 1, 2);
    expect(new Set(two.planted.map((f) => f.part)).size).toBe(2);
    expect(trialOf(bench, 1, 0).planted).toEqual([]);
  });
});
