import { describe, expect, it } from 'vitest';
import type { Machine, Part } from './model.ts';
import { folder, SOUND } from './test-folder.ts';
import { writeMachine } from './write.ts';

describe('a folder written back', () => {
  const extra = `board,ref,shelf,kind,type,value,tolerance,pins,note
ADD,R1,A 7,resistor,,10k,,1=-12V 2=OR,first
ADD,R2,A 8,resistor,,4K7,5,1=OR 2=0V,

ADD,X1,A 9,wire,,,,1=OR 2=0V,not known yet
ADD,R2,B 1,resistor,,1k,,1=OR 2=0V,twice
`;
  const document = folder({ 'parts.csv': extra, 'conditions.csv': undefined, 'readings.csv': undefined });
  const { machine, source } = document;
  const written = (change: Partial<Machine>): string | undefined =>
    writeMachine({ source, machine: { ...machine!, ...change } }).get('parts.csv');

  it('keeps unknown columns, their order, blank rows and rows that could not be read', () => {
    const changed = machine!.parts.map((part) => (part.ref === 'R1' ? { ...part, value: 12_000 } : part));
    expect(written({ parts: changed })).toBe(extra.replace('10k', '12k'));
  });

  it('puts a new part at the end, with nothing in unknown columns', () => {
    const { parts } = machine!;
    const added: Part = { ...parts[0]!, ref: 'R3', name: 'ADD/R3', note: 'new, "spare"' };
    expect(written({ parts: [...parts, added] })).toBe(
      `${extra}ADD,R3,,resistor,,10k,,1=-12V 2=OR,"new, ""spare"""\n`,
    );
  });

  it('leaves a part out that was taken away', () => {
    expect(written({ parts: machine!.parts.slice(1) })).toBe(extra.replace(/ADD,R1.*\n/, ''));
  });

  it('adds a column that has become needed', () => {
    const parts = machine!.parts.map(
      (part): Part =>
        part.ref === 'R1'
          ? {
              ...part,
              kind: 'trimmer',
              setting: 0.5,
              pins: ['1', '2', 'w'].map((pin) => ({ pin, net: 'OR' })),
            }
          : part,
    );
    expect(written({ parts })).toBe(`board,ref,shelf,kind,type,value,tolerance,pins,note,setting
ADD,R1,A 7,trimmer,,10k,10,1=OR 2=OR w=OR,first,0.5
ADD,R2,A 8,resistor,,4K7,5,1=OR 2=0V,,

ADD,X1,A 9,wire,,,,1=OR 2=0V,not known yet,
ADD,R2,B 1,resistor,,1k,,1=OR 2=0V,twice
`);
  });

  it('keeps unknown fields of machine.json', () => {
    const json = {
      ...JSON.parse(SOUND['machine.json']!),
      maker: 'unknown',
      rails: [
        { net: '-12V', volts: -12, regulator: 'Q9' },
        { net: '+6V', volts: 6 },
      ],
    };
    const document = folder({ 'machine.json': JSON.stringify(json) });
    const [first, ...rest] = document.machine!.rails;
    const back = writeMachine({
      ...document,
      machine: { ...document.machine!, rails: [{ ...first!, volts: -11.5 }, ...rest] },
    });
    expect(JSON.parse(back.get('machine.json')!)).toMatchObject({
      maker: 'unknown',
      rails: [
        { net: '-12V', volts: -11.5, regulator: 'Q9' },
        { net: '+6V', volts: 6 },
      ],
    });
  });

  it('appends a reading and leaves the other files to the letter', () => {
    const document = folder();
    const { machine } = document;
    const reading = { ...machine!.readings[0]!, value: -0.15, takenAt: '1968-05-15' };
    const back = writeMachine({
      ...document,
      machine: { ...machine!, readings: [...machine!.readings, reading] },
    });
    expect(Object.fromEntries(back)).toEqual({
      ...SOUND,
      'readings.csv': `${SOUND['readings.csv']}east,low,OUT,V,-0.15,,1968-05-15,21,meter A,\n`,
    });
  });

  it('turns a changed table with decimal commas to decimal points', () => {
    const document = folder({
      'readings.csv': 'unit;note;condition;point;quantity;value\r\neast;1,5;low;OUT;V;-0,12\r\n',
    });
    const { machine } = document;
    const reading = { ...machine!.readings[0]!, value: -0.25 };
    const back = writeMachine({
      ...document,
      machine: { ...machine!, readings: [...machine!.readings, reading] },
    });
    expect(back.get('readings.csv')).toBe(
      'unit,note,condition,point,quantity,value\r\neast,"1,5",low,OUT,V,-0.12\r\neast,"1,5",low,OUT,V,-0.25\r\n',
    );
  });

  it('leaves out files that were refused, so that they are not overwritten', () => {
    const document = folder({ 'readings.csv': 'nonsense\n' });
    const readings = folder().machine!.readings;
    const back = writeMachine({ ...document, machine: { ...document.machine!, name: 'renamed', readings } });
    expect([...back.keys()].sort()).toEqual(['conditions.csv', 'machine.json', 'parts.csv']);
  });

  it('keeps a type that says what the built-in one does', () => {
    const row = 'GE-DIODE,diode,,ge,0.3,1m,5u,100,no type number: common practice; point contact,box 3';
    const types = `type,kind,polarity,material,vj,ij,icbo,rs,source,drawer\n${row}\nZD1,diode,,ge,0.3,1m,5u,100,own,\n`;
    const document = folder({ 'types.csv': types });
    const changed = new Map(document.machine!.types);
    changed.set('ZD1', { ...changed.get('ZD1')!, rs: 50 });
    const back = writeMachine({ ...document, machine: { ...document.machine!, types: changed } });
    expect(back.get('types.csv')).toBe(types.replace('100,own', '50,own'));
  });

  it('keeps a state that only its steps declare, log, photographs, placements and captures to the letter', () => {
    const papers = {
      'states.csv': 'condition,steps,note,shelf\nlow,"clear, hold the 5 key",,\nidle,let go,,B\n',
      'boards.csv': 'board,caution\nADD,reservoir beside it\n',
      'log.csv': 'id,unit,date,kind,text,replaces\n1,west,1968-05-14,symptom,no carry,\n',
      'photographs.csv': 'file,board,side,turn\nadd.jpg,ADD,copper,90\n',
      'placements.csv': 'board,side,mark,x,y\nADD,copper,ADD/Q1.b,0.25,0.5\n',
      'captures.csv': 'file,unit,condition,understanding\nadd.csv,west,low,"{""separator"":"";""}"\n',
      'capture-channels.csv': 'file,channel,point,factor,shelf\nadd.csv,CH1,ADD/Q1.b,10,B\n',
    };
    const document = folder(papers);
    expect(document.findings).toEqual([]);
    expect(document.machine!.conditions.map(({ name, steps }) => [name, steps])).toEqual([
      ['low', 'clear, hold the 5 key'],
      ['high', undefined],
      ['idle', 'let go'],
    ]);
    expect(Object.fromEntries(writeMachine(document))).toEqual({ ...SOUND, ...papers });
    const renamed = writeMachine({ ...document, machine: { ...document.machine!, name: 'renamed' } });
    expect(Object.fromEntries(renamed)).toMatchObject({
      ...papers,
      'conditions.csv': SOUND['conditions.csv'],
    });
  });

  it('does not pin down points that follow the wiring', () => {
    const document = folder();
    const { machine } = document;
    const parts = machine!.parts.filter(({ ref }) => ref !== 'D2');
    expect(writeMachine({ ...document, machine: { ...machine!, parts } }).has('points.csv')).toBe(false);
  });
});
