import { describe, expect, it } from 'vitest';
import {
  boardsOf,
  defaultPoints,
  instrumentNamed,
  netsOf,
  partNamed,
  pinNet,
  pinsByNet,
  pointNet,
  untracedBoards,
} from './nets.ts';
import { folder, withPart } from './test-folder.ts';

const machine = folder({
  ...withPart(
    'SUB,J1,connector,,,,1=OUT A.7=CARRY,\nDISPLAY,V1,other,,,,g=CARRY,\nDISPLAY,J1,connector,,,,1=CARRY,',
  ),
  'flow.csv': 'board,stage,inputs,outputs,breaks,note\nSUB,whole,OUT,CARRY,,\nLINE,loop,LIN,LOUT,LIN,\n',
}).machine!;

describe('the nets of a machine', () => {
  it('are the reference, the rails, those of pins and those of the signal flow, each once', () => {
    expect(netsOf(machine)).toEqual([
      '0V',
      '-12V',
      '+6V',
      'OR',
      'IN1',
      'IN2',
      'BASE',
      'OUT',
      'CARRY',
      'LIN',
      'LOUT',
    ]);
  });

  it('know the pins that are soldered to them', () => {
    const pins = pinsByNet(machine).get('BASE')!;
    expect(pins.map(({ part, pin }) => `${part.name}.${pin.pin}`)).toEqual([
      'ADD/R2.2',
      'ADD/R3.2',
      'ADD/Q1.b',
      'ADD/C1.2',
    ]);
  });

  it('are found by the name of a pin, also one with a point in it', () => {
    expect(pinNet(machine, 'ADD/Q1.c')).toBe('OUT');
    expect(pinNet(machine, 'SUB/J1.A.7')).toBe('CARRY');
    expect(pinNet(machine, 'ADD/Q1.x')).toBeUndefined();
    expect(pinNet(machine, 'ADD/Q7.c')).toBeUndefined();
    expect(pinNet(machine, 'OUT')).toBeUndefined();
  });

  it('are found by a point, which is a net or a pin', () => {
    expect(['OUT', 'ADD/Q1.b', 'LIN', 'NOWHERE'].map((point) => pointNet(machine, point))).toEqual([
      'OUT',
      'BASE',
      'LIN',
      undefined,
    ]);
  });
});

describe('the boards of a machine', () => {
  it('are those of parts and of the signal flow', () => {
    expect(boardsOf(machine)).toEqual(['ADD', 'SUB', 'DISPLAY', 'LINE']);
  });

  it('are untraced when they hold nothing but connectors, or are known from the signal flow alone', () => {
    expect(untracedBoards(machine)).toEqual(['SUB', 'LINE']);
  });
});

describe('the points of a folder without points.csv', () => {
  it('are every net but the reference at 1 minute and every transistor and diode pin at 1.2', () => {
    const points = defaultPoints(machine);
    expect(machine.points).toEqual(points);
    expect(points.filter(({ minutes }) => minutes === 1).map(({ point }) => point)).toEqual(
      netsOf(machine).slice(1),
    );
    expect(points.filter(({ minutes }) => minutes === 1.2).map(({ point }) => point)).toEqual([
      'ADD/D1.a',
      'ADD/D1.k',
      'ADD/D2.a',
      'ADD/D2.k',
      'ADD/Q1.e',
      'ADD/Q1.b',
      'ADD/Q1.c',
    ]);
  });

  it('are not added to a points.csv, however short it is', () => {
    expect(folder({ 'points.csv': 'point,minutes\n' }).machine!.points).toEqual([]);
  });

  it('cost the same where points.csv does not say', () => {
    const { machine } = folder({ 'points.csv': 'point,minutes\nOUT,\nADD/Q1.c,\nBASE,5\n' });
    expect(machine!.points.map(({ minutes }) => minutes)).toEqual([1, 1.2, 5]);
  });
});

it('a part and an instrument are found by their names', () => {
  expect(partNamed(machine, 'ADD/R2')).toMatchObject({ value: 4700, tolerance: 5 });
  expect(partNamed(machine, 'ADD/R9')).toBeUndefined();
  expect(instrumentNamed(machine, 'meter A')?.ohms).toBe(1e7);
  expect(instrumentNamed(machine, 'meter B')).toBeUndefined();
});
