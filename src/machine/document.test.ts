import { describe, expect, it } from 'vitest';
import { folder, SOUND } from './test-folder.ts';

const tables = (changes: Record<string, string>) =>
  folder({ 'conditions.csv': undefined, 'readings.csv': undefined, ...changes }).machine!;

describe('a machine folder that is read', () => {
  it('gives what its files say', () => {
    const { machine } = folder();
    expect(machine).toMatchObject({ name: 'lamp counter', reference: '0V', ambient: 21 });
    expect(machine!.parts[3]).toEqual({
      board: 'ADD',
      ref: 'R2',
      name: 'ADD/R2',
      kind: 'resistor',
      type: '',
      value: 4700,
      tolerance: 5,
      pins: [
        { pin: '1', net: 'OR' },
        { pin: '2', net: 'BASE' },
      ],
      note: '',
    });
    expect(machine!.conditions).toEqual([
      {
        name: 'low',
        drives: [
          { net: 'IN1', volts: -6, ohms: 1000 },
          { net: 'IN2', volts: -6, ohms: 0 },
        ],
        hints: [],
      },
      {
        name: 'high',
        drives: [
          { net: 'IN1', volts: 0, ohms: 0 },
          { net: 'IN2', volts: -6, ohms: 0 },
        ],
        hints: [{ net: 'OUT', volts: -11.5 }],
      },
    ]);
    expect(machine!.readings[1]).toEqual({
      unit: 'west',
      condition: 'high',
      point: 'ADD/Q1.c',
      quantity: 'V',
      value: -11.8,
      uncertainty: 0.05,
      takenAt: '1968-05-14T09:30',
      ambient: undefined,
      instrument: '',
      note: '',
    });
  });

  // The tolerances of resistors, capacitors and zeners are the format's.
  it('takes the usual tolerance of a kind where none is given', () => {
    const rows = [
      'R1,resistor,,1k,1=A 2=0V',
      'RV1,trimmer,,1k,1=A 2=0V w=A',
      'C1,capacitor,,1n,1=A 2=0V',
      'L1,inductor,,1m,1=A 2=0V',
      'T1,transformer,,10,1a=A 1b=0V',
      'D1,diode,GE-DIODE,,a=A k=0V',
      'Z1,zener,ZENER,6.2,a=A k=0V',
      'H1,lamp,,200,1=A 2=0V',
      'F1,fuse,,1,1=A 2=0V',
    ];
    const machine = tables({
      'parts.csv': `board,ref,kind,type,value,pins\n${rows.map((row) => `X,${row}`).join('\n')}`,
    });
    expect(machine.parts.map(({ tolerance }) => tolerance)).toEqual([10, 20, 20, 20, 20, 0, 5, 20, 0]);
  });

  it('reads each kind of value in its own way', () => {
    const rows = [
      'T1,transformer,,12 340,1a=A 1b=0V 2a=B 2b=0V',
      'S1,switch,,Closed,1=A 2=B',
      'S2,switch,,open,1=A 2=B',
      'Z1,zener,ZENER,6V2,a=A k=0V',
      'C1,capacitor,,2n2,1=A 2=0V',
      'R1,resistor,,R47,1=A 2=0V',
      'C2,capacitor,,100 µF,1=A 2=0V',
    ];
    const machine = tables({
      'parts.csv': `board,ref,kind,type,value,pins\n${rows.map((row) => `X,${row}`).join('\n')}`,
    });
    expect(machine.parts.map(({ value, windings, closed }) => value ?? windings ?? closed)).toEqual([
      [12, 340],
      true,
      false,
      6.2,
      2.2e-9,
      0.47,
      100e-6,
    ]);
  });

  it('takes the usual emission coefficient, leakage and drop of a type where none is given', () => {
    const { types } = tables({
      'types.csv':
        'type,kind,polarity,material,vj,ij\nZQ1,transistor,pnp,ge,,\nZD1,diode,,ge,,\nZD2,diode,,si,0.6,1m\n2N404,transistor,pnp,ge,0.2,1m\n',
    });
    expect(types.get('ZQ1')).toMatchObject({ n: 1, vj: 0.25, ij: 0.005, rs: 0 });
    expect(types.get('ZD1')).toMatchObject({ n: 1.8 });
    expect(types.get('ZD2')).toMatchObject({ n: 1.9, vj: 0.6, ij: 0.001 });
    // A row of the folder replaces the built-in one as a whole.
    expect(types.get('2N404')).toMatchObject({ vj: 0.2, hfeMin: undefined });
  });

  it('needs little in machine.json', () => {
    const { machine, findings } = folder({
      'machine.json':
        '{ "format": 1, "name": "x", "reference": "0V", "rails": [{ "net": "-12V", "volts": -12 }, { "net": "+6V", "volts": 6 }], "units": [{ "id": "east" }, { "id": "west" }], "instruments": [{ "id": "meter A" }] }',
    });
    expect(findings).toEqual([]);
    expect(machine).toMatchObject({
      ambient: 22,
      summary: '',
      rails: [{ tolerance: 5 }, { tolerance: 5 }],
      units: [{ health: 'unknown' }, { health: 'unknown' }],
      instruments: [{ ohms: 1e7, gain: 0.5, random: 0.3, volts: 0.005 }],
    });
  });

  it('is no machine without a reference, but its tables are checked all the same', () => {
    const { machine, findings } = folder({
      'machine.json': undefined,
      'parts.csv': SOUND['parts.csv']!.replace('resistor', 'resistr'),
    });
    expect(machine).toBeUndefined();
    expect(findings.map(({ file }) => file)).toEqual(['machine.json', 'parts.csv']);
  });

  it('may have a row of unknown kind: its nets count, and the rest is read', () => {
    const { machine } = folder({ 'parts.csv': SOUND['parts.csv']!.replace('R1,resistor', 'R1,wire') });
    expect(machine!.parts.map(({ kind }) => kind)).toEqual([
      'diode',
      'diode',
      'other',
      'resistor',
      'resistor',
      'transistor',
      'resistor',
      'capacitor',
    ]);
  });

  it('writes a date and time with a T between, however they were parted', () => {
    const readings = SOUND['readings.csv']!.replace('14T09', '14 09');
    expect(folder({ 'readings.csv': readings }).machine!.readings[1]!.takenAt).toBe('1968-05-14T09:30');
  });
});
