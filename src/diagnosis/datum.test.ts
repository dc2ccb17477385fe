import { describe, expect, it } from 'vitest';
import { netlistOf } from '../circuit/index.ts';
import type { Reading } from '../machine/index.ts';
import { readingSigma, readingsOf } from './datum.ts';
import { netOfPoint, sitesOf } from './site.ts';
import { trialMachine, withReadings } from './trial-machine.ts';

const machine = trialMachine();
const netlist = netlistOf(machine);
function reading(rest: Partial<Reading>): Reading {
  return {
    unit: 'west',
    condition: 'low',
    point: 'C1',
    quantity: 'V',
    value: -0.1,
    takenAt: '',
    instrument: '',
    note: '',
    ...rest,
  };
}
function read(...list: readonly Partial<Reading>[]) {
  const m = withReadings(machine, list.map(reading));
  const { now, history } = readingsOf(m, 'west', sitesOf(m, netlist));
  return { now: now.map((d) => d.value), history: history.map((d) => d.value) };
}

describe('where a probe goes', () => {
  it('is a net, or a pin that reads as its net', () => {
    expect(netOfPoint(machine, 'A/Q1.c')).toEqual({ net: 'C1', pin: true });
    expect(netOfPoint(machine, 'C1')).toEqual({ net: 'C1', pin: false });
    expect(netOfPoint(machine, 'A/Q1.x')).toEqual({ net: 'A/Q1.x', pin: false });
    expect(netOfPoint(machine, 'A/Q99.c')).toEqual({ net: 'A/Q99.c', pin: false });
    expect(netOfPoint(machine, 'ADD.Q1.c')).toEqual({ net: 'ADD.Q1.c', pin: false });
  });
  it('has its cost and caution from the points, and two minutes where a reading names another place', () => {
    const m = {
      ...withReadings(machine, [reading({ point: 'A/R1.2' }), reading({ point: 'NOWHERE' })]),
      points: [{ point: 'C1', minutes: 4, note: 'hot' }],
    };
    const sites = sitesOf(m, netlist);
    expect(sites.get('C1')).toMatchObject({ minutes: 4, note: 'hot', pin: false });
    expect(sites.get('A/R1.2')).toMatchObject({ minutes: 2, pin: true, net: netlist.netIndex.get('OR') });
    expect(sites.get('NOWHERE')!.net).toBe(-1);
  });
});

describe('the readings that count', () => {
  it('are the latest of each point in each condition', () => {
    expect(read({ value: 1, takenAt: '2024-05-01' }, { value: 2, takenAt: '2024-05-02' }).now).toEqual([2]);
    expect(read({ value: 1, takenAt: '2024-05-02' }, { value: 2, takenAt: '2024-05-01' }).now).toEqual([1]);
    expect(read({ value: 1 }, { value: 2 }).now).toEqual([2]);
    expect(read({ value: 1, takenAt: '2024-05-02' }, { value: 2, takenAt: '2024-05-02' }).now).toEqual([2]);
    expect(read({ value: 1 }, { value: 2, condition: 'high' }, { value: 3, point: 'C2' }).now).toEqual([
      1, 2, 3,
    ]);
  });
  it('are the same in every time zone', () => {
    const zone = process.env.TZ;
    try {
      for (const tz of ['UTC', 'Asia/Tokyo', 'America/Los_Angeles']) {
        process.env.TZ = tz;
        const dated = { value: 1, takenAt: '2024-05-02' };
        expect(read(dated, { value: 2, takenAt: '2024-05-02T03:00' }).now, tz).toEqual([2]);
        expect(
          read({ value: 2, takenAt: '2024-05-02T03:00' }, { value: 3, takenAt: '2024-05-02T02:59Z' }).now,
        ).toEqual([2]);
        expect(
          read({ value: 2, takenAt: '2024-05-02T03:00+02:00' }, { value: 3, takenAt: '2024-05-02T02:00' })
            .now,
        ).toEqual([3]);
      }
    } finally {
      if (zone === undefined) delete process.env.TZ;
      else process.env.TZ = zone;
    }
  });
  it('are volts of the unit in conditions of the machine', () => {
    expect(read({ unit: 'east' }, { quantity: 'ohm' }, { condition: 'gone' }, { value: 7 }).now).toEqual([7]);
  });
  it('go on over a pause while the unit is not sound, until it was sound or repaired', () => {
    const visits = [
      { value: 1, takenAt: '2020-01-01' },
      { value: 2, takenAt: '2022-01-01', point: 'C2' },
      { value: 3, takenAt: '2024-01-01', point: 'B1' },
      { value: 4, takenAt: '2026-01-01', point: 'B2' },
    ];
    const at = (sound: readonly number[], repaired?: string) => {
      const m = withReadings(machine, visits.map(reading));
      const repairs =
        repaired === undefined ? [] : [{ unit: 'west', date: repaired, part: 'A/Q1', mode: '' }];
      const { now, history } = readingsOf(
        { ...m, repairs },
        'west',
        sitesOf(m, netlist),
        undefined,
        (visit) => visit.some((d) => sound.includes(d.value)),
      );
      return [now.map((d) => d.value), history.map((d) => d.value)];
    };
    expect(at([])).toEqual([[1, 2, 3, 4], []]);
    expect(at([1, 2])).toEqual([
      [3, 4],
      [1, 2],
    ]);
    expect(at([3])).toEqual([[4], [1, 2, 3]]);
    expect(at([], '2022-06-01')).toEqual([
      [3, 4],
      [1, 2],
    ]);
  });
  it('of the sound unit go back over the visits at which it was sound, to a repair or a failure', () => {
    const m = withReadings(
      machine,
      [
        { value: 1, takenAt: '2020-01-01' },
        { value: 2, takenAt: '2022-01-01', point: 'C2' },
        { value: 3, takenAt: '2024-01-01' },
        { value: 4, takenAt: '2026-01-01', point: 'B2' },
      ].map(reading),
    );
    const counted = (unsound: readonly number[], repaired?: string) => {
      const repairs =
        repaired === undefined ? [] : [{ unit: 'west', date: repaired, part: 'A/Q1', mode: '' }];
      return readingsOf(
        { ...m, repairs },
        'west',
        sitesOf(m, netlist),
        undefined,
        (visit) => !visit.some((d) => unsound.includes(d.value)),
        'twin',
      ).now.map((d) => d.value);
    };
    // Of the point that was read twice, the later reading.
    expect(counted([])).toEqual([2, 3, 4]);
    expect(counted([2])).toEqual([3, 4]);
    expect(counted([], '2024-06-01')).toEqual([4]);
  });
  it('leave those of earlier visits to the history', () => {
    const old = { value: 1, takenAt: '2023-01-01' };
    const lately = { value: 2, takenAt: '2024-05-01', point: 'C2' };
    expect(read(old, lately)).toEqual({ now: [2], history: [1] });
    expect(read(old, { ...old, value: 5, takenAt: '2023-01-03' }, lately)).toEqual({
      now: [2],
      history: [5],
    });
    // A week apart is one visit, and a reading without a date belongs to the present one.
    expect(read({ value: 1, takenAt: '2024-04-24' }, lately)).toEqual({ now: [1, 2], history: [] });
    expect(read({ value: 1 }, lately)).toEqual({ now: [1, 2], history: [] });
  });
});

describe('the uncertainty of a reading', () => {
  it('is its own, else its instrument’s, else one percent and ten millivolts', () => {
    expect(readingSigma(machine, reading({ uncertainty: 0.2, instrument: 'meter' }))).toBe(0.2);
    expect(readingSigma(machine, reading({ value: -10, instrument: 'meter' }))).toBeCloseTo(
      Math.hypot(0.02, 0.005),
      6,
    );
    expect(readingSigma(machine, reading({ value: -10 }))).toBeCloseTo(0.11, 12);
    expect(readingSigma(machine, reading({ value: -10, instrument: 'another' }))).toBeCloseTo(0.11, 12);
    expect(readingSigma(machine, reading({ uncertainty: 0 }))).toBeGreaterThan(0);
  });
});
