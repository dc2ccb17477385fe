import { describe, expect, it } from 'vitest';
import { BUILT_IN_TYPES, type Machine, type Part } from '../machine/index.ts';
import { expectationsOf, soundLevels, whatIf } from './levels.ts';

function resistor(ref: string, value: number, one: string, two: string): Part {
  return {
    board: 'DIV',
    ref,
    name: `DIV/${ref}`,
    kind: 'resistor',
    type: '',
    value,
    tolerance: 5,
    pins: [
      { pin: '1', net: one },
      { pin: '2', net: two },
    ],
    note: '',
  };
}

/** 9 V over 1 k and 2 k, the tap driven in one of the two states. */
const DIVIDER: Machine = {
  name: 'divider',
  summary: '',
  reference: '0V',
  ambient: 20,
  rails: [{ net: '-9V', volts: -9, tolerance: 2 }],
  units: [{ id: 'one', health: 'faulty' }],
  instruments: [],
  parts: [resistor('R1', 1000, '-9V', 'TAP'), resistor('R2', 2000, 'TAP', '0V')],
  types: BUILT_IN_TYPES,
  conditions: [
    { name: 'idle', drives: [], hints: [] },
    { name: 'held', drives: [{ net: 'TAP', volts: -1, ohms: 0 }], hints: [] },
  ],
  points: [
    { point: 'TAP', minutes: 1, note: '' },
    { point: '-9V', minutes: 1, note: '' },
    { point: 'DIV/R2.1', minutes: 2, note: '' },
  ],
  readings: [],
  flow: [],
};

describe('levels', () => {
  it('of a sound divider are those of the textbook, in every condition or the one asked for', () => {
    const { levels, noPoint, stateLost } = soundLevels(DIVIDER);
    const tap = (condition: string) =>
      levels.find((level) => level.condition === condition && level.point === 'TAP')!.value;
    expect(tap('idle')).toBeCloseTo(-6, 3);
    expect(tap('held')).toBeCloseTo(-1, 6);
    expect([noPoint, stateLost]).toEqual([[], []]);
    const idle = soundLevels(DIVIDER, { condition: 'idle' }).levels;
    expect(idle).toEqual(levels.filter((level) => level.condition === 'idle'));
  });

  it('are not given for a condition that is not there', () => {
    expect(() => soundLevels(DIVIDER, { condition: 'idel' })).toThrow('did you mean idle?');
  });
});

describe('what a fault would change', () => {
  const found = whatIf(DIVIDER, 'DIV/R2:open');

  it('is its levels beside the sound ones, point by point', () => {
    const sound = soundLevels(DIVIDER).levels;
    const faulty = expectationsOf(DIVIDER, { fault: 'DIV/R2:open' }).levels;
    expect(found.levels).toHaveLength(sound.length);
    for (const level of found.levels) {
      const same = (one: { condition: string; point: string }) =>
        one.condition === level.condition && one.point === level.point;
      const [before, after] = [sound.find(same)!, faulty.find(same)!];
      expect(level).toMatchObject({ sound: before.value, fault: after.value });
      expect(level.off).toBeCloseTo(Math.abs(after.value - before.value) / before.sigma, 9);
    }
  });

  it('comes with the largest change first', () => {
    expect(found.levels[0]).toMatchObject({ condition: 'idle' });
    expect(found.levels[0]!.fault).toBeCloseTo(-9, 2);
    const off = found.levels.map((level) => level.off);
    expect(off).toEqual([...off].sort((a, b) => b - a));
  });
});
