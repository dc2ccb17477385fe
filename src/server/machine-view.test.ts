import { describe, expect, it } from 'vitest';
import { type Machine, readMachine } from '../machine/index.ts';
import type { MachineEntry } from '../records/index.ts';
import { familiesOf, machineView } from './machine-view.ts';

const READY = { state: 'ready', done: 0, total: 0, message: '' } as const;
const ENTRY: MachineEntry = {
  id: 7,
  name: 'till',
  summary: '',
  revision: 3,
  wiring: 3,
  units: [],
  boards: 2,
  parts: 4,
  readings: 0,
  changedAt: '',
};

const FILES = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'till',
    reference: '0V',
    rails: [
      { net: '+12V', volts: 12 },
      { net: '-24V', volts: -24 },
      { net: '+170V', volts: 170 },
    ],
    units: [
      { id: 'a', health: 'healthy' },
      { id: 'b', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,value,pins
KEY,R1,resistor,10k,1=+12V 2=ROW
KEY,R2,resistor,10k,1=ROW 2=0V
KEY,R3,resistor,10k,1=ROW 2=SUM
DSP,R1,resistor,100k,1=+170V 2=ANODE
DSP,R2,resistor,100k,1=ANODE 2=0V
BUS,J1,connector,,1=SUM 2=FAR
`,
  'flow.csv': 'board,stage,inputs,outputs,breaks,note\nBUS,BUFFER,SUM,FAR,,\n',
  'conditions.csv': 'condition,net,role,volts,ohms\nidle,ROW,drive,5,100\n',
  'boards.csv': 'board,caution,note\nDSP,170 V on the edge,\n',
  'points.csv':
    'point,minutes,note\nANODE,2,\nSUM,1,\nDSP/R1.1,2,\nROW,1,\nFAR,1,\n0V,1,"the bolt, live parts beside it"\n',
  'readings.csv': 'unit,condition,point,quantity,value\na,idle,ANODE,V,84\nb,idle,ROW,V,170\n',
};

function document(files: Readonly<Record<string, string>>) {
  const bytes = Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)] as const);
  const { machine, findings } = readMachine(new Map(bytes));
  return { entry: ENTRY, machine, findings, errors: 0 };
}
const VIEW = machineView(document(FILES), READY);
const point = (name: string) => VIEW.points.find((one) => one.point === name)!;

describe('supply families', () => {
  const rails = (...volts: number[]): Pick<Machine, 'rails'> => ({
    rails: volts.map((one) => ({ net: String(one), volts: one, tolerance: 5 })),
  });

  it('part where a rail is far larger than all smaller ones, and each has an axis from its lowest to its highest, over 0', () => {
    expect(familiesOf(rails(12, -24, -80)).map(({ from, to }) => [from, to])).toEqual([
      [-24, 12],
      [-80, 0],
    ]);
    expect(familiesOf(rails(-6, -12, 6))).toHaveLength(1);
  });

  it('are one, over nothing, where there is no rail', () => {
    expect(familiesOf(rails())).toEqual([{ from: 0, to: 0, rails: [] }]);
  });
});

describe('points', () => {
  it('stand in signal order: by board as the parts name them, then by stage, then as the machine lists them', () => {
    expect(VIEW.points.map((one) => [one.board, one.group, one.point])).toEqual([
      ['KEY', 'KEY', 'SUM'],
      ['KEY', 'KEY', 'ROW'],
      ['KEY', 'KEY', '0V'],
      ['DSP', 'DSP', 'ANODE'],
      ['DSP', 'DSP', 'DSP/R1.1'],
      ['BUS', 'BUFFER', 'FAR'],
    ]);
  });

  it('stand under a stage only on its own board, and a stage called as another board is not taken for that board', () => {
    const flow = 'board,stage,inputs,outputs,breaks,note\nKEY,DSP,,ROW SUM,,\n';
    const points = 'point,minutes,note\nROW,1,\nSUM,1,\nBUS/J1.1,1,\nANODE,1,\n';
    const view = machineView(document({ ...FILES, 'flow.csv': flow, 'points.csv': points }), READY);
    expect(view.points.map((one) => [one.board, one.group, one.point])).toEqual([
      ['KEY', 'stage DSP', 'ROW'],
      ['KEY', 'stage DSP', 'SUM'],
      ['DSP', 'DSP', 'ANODE'],
      ['BUS', 'BUS', 'BUS/J1.1'],
    ]);
  });

  it('belong to the family whose axis holds what a sound unit shows there', () => {
    expect(point('ANODE').family).toBe(1);
    expect(point('DSP/R1.1').family).toBe(1);
    // A faulty unit's reading moves no point to another axis.
    expect(point('ROW').family).toBe(0);
  });

  it('ask for their caution to be confirmed where a life may hang on it', () => {
    expect(point('DSP/R1.1')).toMatchObject({ gated: true, caution: expect.stringContaining('170 V') });
    expect(point('0V')).toMatchObject({ gated: true, caution: 'the bolt, live parts beside it' });
    expect(point('SUM')).toMatchObject({ gated: false, caution: '' });
  });
});

describe('boards', () => {
  it('have their caution, and say whether they are traced', () => {
    expect(VIEW.boards.map(({ name, traced, caution }) => [name, traced, caution])).toEqual([
      ['KEY', true, ''],
      ['DSP', true, '170 V on the edge'],
      ['BUS', false, ''],
    ]);
  });
});

describe('a machine whose head cannot be read', () => {
  it('is shown with its findings and nothing else', () => {
    const view = machineView(document({ ...FILES, 'machine.json': '{' }), READY);
    expect(view).toMatchObject({ name: 'till', points: [], boards: [], states: [] });
    expect(view.findings[0]).toMatchObject({ file: 'machine.json', severity: 'error' });
  });
});
