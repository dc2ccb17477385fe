import { describe, expect, it } from 'vitest';
import type { Health, Machine, Part } from '../machine/index.ts';
import { BUILT_IN_TYPES } from '../machine/index.ts';
import { chosenCondition, chosenFault, chosenUnit } from './choice.ts';

function part(
  board: string,
  ref: string,
  kind: Part['kind'],
  pins: Record<string, string>,
  rest: Partial<Part> = {},
): Part {
  return {
    board,
    ref,
    name: `${board}/${ref}`,
    kind,
    type: '',
    tolerance: 10,
    pins: Object.entries(pins).map(([pin, net]) => ({ pin, net })),
    note: '',
    ...rest,
  };
}

function machine(units: Record<string, Health>): Machine {
  return {
    name: 'weighbridge',
    summary: '',
    reference: '0V',
    ambient: 20,
    rails: [{ net: '-9V', volts: -9, tolerance: 5 }],
    units: Object.entries(units).map(([id, health]) => ({ id, health })),
    instruments: [],
    parts: [
      part('SUM', 'R1', 'resistor', { 1: '-9V', 2: 'OUT' }, { value: 1500 }),
      part('SUM', 'R2', 'resistor', { 1: 'OUT', 2: '0V' }, { value: 2700 }),
      part('TAL', 'R1', 'resistor', { 1: 'OUT', 2: 'OUT' }, { value: 820 }),
      part('PNL', 'V1', 'other', { a: 'OUT', k: '0V' }),
      part('BUS', 'J1', 'connector', { 1: 'OUT' }),
    ],
    types: BUILT_IN_TYPES,
    conditions: ['empty', 'full'].map((name) => ({ name, drives: [], hints: [] })),
    points: [],
    readings: [],
    flow: [],
  };
}

const TWO = machine({ east: 'healthy', west: 'faulty' });

describe('the unit', () => {
  it('is the only faulty one when none is named', () => {
    expect(chosenUnit(TWO, undefined)).toMatchObject({ unit: { id: 'west' }, taken: true });
    expect(chosenUnit(TWO, 'east')).toMatchObject({ unit: { id: 'east' }, taken: false });
  });

  it.each<[Record<string, Health>, string]>([
    [{ east: 'healthy' }, 'name the unit with --unit, since none is called faulty; units: east (healthy)'],
    [
      { east: 'faulty', west: 'faulty' },
      'name the unit with --unit, since 2 are called faulty; units: east (faulty), west (faulty)',
    ],
  ])('must be named among %j', (units, message) => {
    expect(() => chosenUnit(machine(units), undefined)).toThrow(message);
  });

  it('that is not there is refused, with the one that was likely meant', () => {
    expect(() => chosenUnit(TWO, 'wset')).toThrow(
      'no unit "wset"; units: east (healthy), west (faulty); did you mean west?',
    );
  });
});

describe('the condition', () => {
  it('may be left open', () => {
    expect(chosenCondition(TWO, undefined)).toBeUndefined();
    expect(chosenCondition(TWO, 'full')).toBe('full');
  });

  it('that is not there is refused, with those there are', () => {
    expect(() => chosenCondition(TWO, 'ful')).toThrow(
      'no condition "ful"; conditions: "empty", "full"; did you mean full?',
    );
  });
});

describe('the fault', () => {
  it('is a part and a mode, which may hold a colon itself', () => {
    expect(chosenFault(TWO, 'SUM/R1:high')).toEqual({ part: 'SUM/R1', mode: 'high' });
    expect(chosenFault(TWO, 'SUM/R1:open-joint:2')).toEqual({ part: 'SUM/R1', mode: 'open-joint:2' });
  });

  it.each([
    ['SUM/R1', 'bad-fault', '"SUM/R1" is no fault; write PART:MODE, such as ADD/Q3:short-ce'],
    [':short', 'bad-fault', 'write PART:MODE'],
    ['R1:open', 'unknown-part', 'no part "R1"; parts are named with their board: SUM/R1, TAL/R1'],
    ['SUM/R3:open', 'unknown-part', 'did you mean SUM/R1 or SUM/R2?'],
    ['SUM/C77:open', 'unknown-part', 'no part "SUM/C77"; SUM has R1, R2'],
    ['XYZ/C77:open', 'unknown-part', 'no part "XYZ/C77"; boards: SUM, TAL, PNL, BUS'],
    ['BUS/stage:stage', 'unknown-part', 'BUS/stage is not traced: there is no circuit to compute'],
    [
      'SUM/R1:opne',
      'unknown-mode',
      'SUM/R1 is of kind resistor and has no mode "opne"; modes: high, open, short, open-joint:1, open-joint:2; did you mean open?',
    ],
    ['PNL/V1:open', 'unknown-mode', 'PNL/V1 is of kind other and has no mode'],
    ['TAL/R1:open', 'no-effect', 'open of TAL/R1 changes nothing in this circuit'],
  ])('%s is refused as %s', (text, code, message) => {
    expect(() => chosenFault(TWO, text)).toThrow(
      expect.objectContaining({ code, message: expect.stringContaining(message) }),
    );
  });
});
