import { expect, test } from 'vitest';
import type { Machine, Reading } from '../machine/index.ts';
import { sampleCircuit } from './sample-circuit.ts';
import { twinDepartures } from './twin-departures.ts';

const reading = (unit: string, quantity: string, value: number, more: Partial<Reading> = {}): Reading => {
  return {
    unit,
    condition: 'running',
    point: 'N',
    quantity,
    value,
    takenAt: '',
    instrument: '',
    note: '',
    ...more,
  };
};
function z(...readings: Reading[]): number | undefined {
  const machine: Machine = {
    ...sampleCircuit([]),
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
    readings,
  };
  return twinDepartures(machine, 'west')[0]?.z;
}

test('a level is off by its spread between two sound units, a time by that of its resistor and capacitor', () => {
  const exact = { uncertainty: 0 };
  expect(z(reading('east', 'low', -6, exact), reading('west', 'low', -3, exact))).toBeCloseTo(
    3 / Math.hypot(0.36, 0.1),
    6,
  );
  expect(z(reading('east', 'width', 1e-3, exact), reading('west', 'width', 1.18e-3, exact))).toBeCloseTo(
    1,
    6,
  );
  expect(
    z(reading('east', 'delay:CP', 1e-3, exact), reading('west', 'delay:CP', 1.18e-3, exact)),
  ).toBeCloseTo(1, 6);
  expect(z(reading('east', 'rise', 1e-6, exact), reading('west', 'rise', 1.4e-6, exact))).toBeCloseTo(1, 6);
  expect(Math.sqrt((2 * (0.1 ** 2 + 0.2 ** 2)) / 3)).toBeCloseTo(0.18, 2);
});

test('the uncertainty of either reading makes it less', () => {
  const off = z(
    reading('east', 'width', 1e-3, { uncertainty: 1e-3 }),
    reading('west', 'width', 2e-3, { uncertainty: 0 }),
  );
  expect(off).toBeLessThan(1);
});

test('a point that stands still where the twin moves is off without limit', () => {
  expect(z(reading('east', 'moves', 1), reading('west', 'moves', 0))).toBe(Number.NEGATIVE_INFINITY);
  expect(z(reading('east', 'moves', 0), reading('west', 'moves', 0))).toBe(0);
});

test('static volts, and what the twin was not read for, are not judged', () => {
  expect(z(reading('east', 'V', -6), reading('west', 'V', 0))).toBeUndefined();
  expect(z(reading('west', 'low', 0))).toBeUndefined();
});

test('the latest reading counts', () => {
  const late = { takenAt: '2024-05-02' };
  const early = { takenAt: '2024-05-01' };
  expect(
    z(reading('east', 'high', 0), reading('west', 'high', 0, late), reading('west', 'high', -6, early)),
  ).toBe(0);
});
