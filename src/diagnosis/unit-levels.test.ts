import { describe, expect, it } from 'vitest';
import { departures, expectations } from './expectation.ts';
import { Reckoning } from './reckoning.ts';
import { trialMachine, trialReadings, trialTable, withReadings } from './trial-machine.ts';
import { soundBaseline, unitLevels } from './unit-levels.ts';

const MACHINE = trialMachine();
const EAST = trialReadings(MACHINE, { unit: 'east', seed: 3 });
const WEST = trialReadings(MACHINE, {
  unit: 'west',
  seed: 8,
  faults: ['A/Q1:short-ce'],
  points: ['OR', 'C1', 'A/Q2.b'],
});
const BOTH = withReadings(MACHINE, EAST, WEST);

describe('what each point of a unit should read', () => {
  it('is, where the unit was read, what its departure is reckoned from', () => {
    const baseline = soundBaseline(BOTH, 'west');
    const found = departures(BOTH, 'west');
    expect(found).toHaveLength(6);
    MACHINE.conditions.forEach((condition, c) => {
      const { levels } = unitLevels(BOTH, baseline, c);
      expect(levels.filter(({ z }) => z !== undefined)).toHaveLength(3);
      for (const one of found.filter((d) => d.condition === condition.name)) {
        const level = levels.find(({ point }) => point === one.point)!;
        expect(level.z).toBeCloseTo(one.z, 9);
        expect(level.reading).toBe(one.value);
      }
    });
  });

  it('is said of every point, with the drawing’s own level beside it', () => {
    const { levels, stateLost, noPoint } = unitLevels(BOTH, soundBaseline(BOTH, 'west'), 0);
    expect(stateLost).toBe(false);
    expect(noPoint).toBeUndefined();
    const drawn = expectations(MACHINE, { condition: 'low' }).expectations;
    expect(levels.map(({ point }) => point).sort()).toEqual(drawn.map(({ point }) => point).sort());
    for (const level of levels) {
      const { value } = drawn.find(({ point }) => point === level.point)!;
      // The table's meter of 10 Mohm is in the one and not in the other.
      expect(Math.abs(level.drawing! - value)).toBeLessThan(0.02);
    }
  });

  it('is surer when a sound unit has been read', () => {
    const spreads = (machine: typeof MACHINE): number[] =>
      unitLevels(machine, soundBaseline(machine, 'west'), 1).levels.map(({ sound }) => sound!.sigma);
    const without = spreads(MACHINE);
    spreads(withReadings(MACHINE, EAST)).forEach((sigma, i) => {
      expect(sigma).toBeLessThan(without[i]! * 1.001);
    });
  });

  it('is the same from a reckoning as without a fault table', () => {
    const reckoning = new Reckoning(BOTH, trialTable(BOTH), 'west');
    const [a, b] = [reckoning.weighing.baseline, soundBaseline(BOTH, 'west')].map((one) =>
      unitLevels(BOTH, one, 0),
    );
    expect(a).toEqual(b);
  });
});
