import { describe, expect, it } from 'vitest';
import type { NextReading } from '../diagnosis/index.ts';
import type { Machine } from '../machine/index.ts';
import { sparingCautions } from './asking-order.ts';

const MACHINE: Machine = {
  name: 'gate counter',
  summary: '',
  reference: '0V',
  ambient: 20,
  rails: [{ net: '-90V', volts: -90, tolerance: 5 }],
  units: [],
  instruments: [],
  parts: [],
  types: new Map(),
  conditions: [],
  points: [{ point: 'HOT', minutes: 1, note: '', caution: 'beside the mains switch' }],
  readings: [],
  flow: [],
};

function reading(point: string, bits: number, minutes = 1): NextReading {
  return { condition: 'idle', point, quantity: 'V', bits, minutes, caution: '', would: [] };
}
const asked = (...readings: NextReading[]) => sparingCautions(MACHINE, readings).map(({ point }) => point);

describe('the order in which to read', () => {
  it('puts a point without a caution before one with it that is hardly better', () => {
    expect(asked(reading('HOT', 0.5), reading('A', 0.45), reading('B', 0.42))).toEqual(['A', 'B', 'HOT']);
    expect(asked(reading('-90V', 0.5), reading('A', 0.45))).toEqual(['A', '-90V']);
  });

  it('keeps a point with a caution first where nothing else is nearly as good for its minutes', () => {
    expect(asked(reading('HOT', 0.5), reading('A', 0.35))).toEqual(['HOT', 'A']);
    expect(asked(reading('HOT', 0.5), reading('A', 0.5, 2))).toEqual(['HOT', 'A']);
  });

  it('leaves the order alone where no point has a caution, and loses none', () => {
    const given = [reading('A', 0.2), reading('B', 0.4), reading('C', 0.1)];
    expect(sparingCautions(MACHINE, given)).toBe(given);
    expect(asked(reading('HOT', 0.5), reading('-90V', 0.45), reading('B', 0.4), reading('A', 0.1))).toEqual([
      'B',
      'HOT',
      '-90V',
      'A',
    ]);
  });
});
