import { describe, expect, it } from 'vitest';
import type { Finding } from './finding.ts';
import { folder, SOUND, withPart } from './test-folder.ts';

/** `file:row:column code severity` of each finding. */
function places(findings: readonly Finding[]): string[] {
  return findings.map(({ file, row, column, code, severity }) =>
    [severity, code, file, row, column].filter((part) => part !== undefined).join(' '),
  );
}

const json = (change: (json: Record<string, unknown>) => void): { 'machine.json': string } => {
  const machine = JSON.parse(SOUND['machine.json']!) as Record<string, unknown>;
  change(machine);
  return { 'machine.json': JSON.stringify(machine) };
};
const replaced = (file: string, from: string, to: string): Record<string, string> => {
  expect(SOUND[file]).toContain(from);
  return { [file]: SOUND[file]!.replace(from, to) };
};
const added = (file: string, row: string): Record<string, string> => ({ [file]: `${SOUND[file]}${row}\n` });

describe('a machine folder', () => {
  it('that is sound gives no finding', () => {
    expect(folder().findings).toEqual([]);
  });

  // What is changed, where the finding is, and what its message must say.
  it.each<[string, Record<string, string | undefined>, string, string]>([
    [
      'a state with the name of another one, misspelt',
      { 'states.csv': 'condition,steps\nhihg,hold the key\n' },
      'warning unknown-condition states.csv 2 condition',
      'did you mean high?',
    ],
    [
      'a state given twice',
      { 'states.csv': 'condition,steps\nhigh,hold\nhigh,let go\n' },
      'error duplicate states.csv 3 condition',
      'stands in row 2 already',
    ],
    [
      'a board with the name of another one, misspelt',
      { 'boards.csv': 'board,caution\nADDD,hot\n' },
      'warning unknown-board boards.csv 2 board',
      'did you mean ADD?',
    ],
    [
      'a log entry of an unknown kind',
      { 'log.csv': 'id,unit,kind,text\n1,west,sympton,no carry\n' },
      'error unknown-word log.csv 2 kind',
      'did you mean symptom?',
    ],
    [
      'a log entry with a date that is none',
      { 'log.csv': 'id,unit,date,kind,text\n1,west,yesterday,note,no carry\n' },
      'error bad-date log.csv 2 date',
      'no ISO 8601 date',
    ],
    [
      'a log entry of a unit that is not there',
      { 'log.csv': 'id,unit,kind,text\n1,wets,note,no carry\n' },
      'warning unknown-unit log.csv 2 unit',
      'did you mean west?',
    ],
    [
      'a log entry that replaces none',
      { 'log.csv': 'id,unit,kind,text,replaces\n1,west,note,no carry,7\n' },
      'warning unused log.csv 2 replaces',
      'no other entry "7"',
    ],
    [
      'a photograph in another folder',
      { 'photographs.csv': 'file,board\n../add.jpg,ADD\n' },
      'error bad-name photographs.csv 2 file',
      'is not the name of a file in photographs',
    ],
    [
      'a photograph of a board that is not there',
      { 'photographs.csv': 'file,board\nadd.jpg,ADX\n' },
      'warning unknown-board photographs.csv 2 board',
      'there is no board "ADX"',
    ],
    [
      'a mark outside the picture',
      { 'placements.csv': 'board,side,mark,x,y\nADD,copper,OUT,1.5,0\n' },
      'error out-of-range placements.csv 2 x',
      'a share of the unturned picture',
    ],
    [
      'a mark on the picture of a unit that is not there',
      { 'placements.csv': 'board,side,mark,x,y,unit\nADD,copper,OUT,0.5,0,wset\n' },
      'warning unknown-unit placements.csv 2 unit',
      'did you mean west?',
    ],
    [
      'a mark twice on the pictures of one unit',
      {
        'placements.csv':
          'board,side,mark,x,y,unit\nADD,copper,OUT,0.5,0,\nADD,copper,OUT,0.4,0,west\nADD,copper,OUT,0.3,0,west\n',
      },
      'error duplicate placements.csv 4 mark',
      'placed on this side in row 3 already',
    ],
    [
      'a capture in another folder',
      { 'captures.csv': 'file,unit\ncaptures/add.csv,west\n' },
      'error bad-name captures.csv 2 file',
      'is not the name of a file in captures',
    ],
    [
      'a capture of a condition that is not there',
      { 'captures.csv': 'file,unit,condition\nadd.csv,west,hgih\n' },
      'warning unknown-condition captures.csv 2 condition',
      'did you mean high?',
    ],
    [
      'a capture that is to be read as nobody can say',
      { 'captures.csv': 'file,understanding\nadd.csv,semicolons\n' },
      'error json-syntax captures.csv 2 understanding',
      'leave it empty',
    ],
    [
      'a channel of a capture that is not there',
      { 'captures.csv': 'file\nadd.csv\n', 'capture-channels.csv': 'file,channel,point\nadd.cvs,CH1,OUT\n' },
      'warning unused capture-channels.csv 2 file',
      'did you mean add.csv?',
    ],
    [
      'a channel on a point that is not there',
      { 'captures.csv': 'file\nadd.csv\n', 'capture-channels.csv': 'file,channel,point\nadd.csv,CH1,OUTT\n' },
      'warning unknown-point capture-channels.csv 2 point',
      'neither a net nor a pin',
    ],
    [
      'a channel that nothing is left of',
      { 'captures.csv': 'file\nadd.csv\n', 'capture-channels.csv': 'file,channel,factor\nadd.csv,CH1,0\n' },
      'error out-of-range capture-channels.csv 2 factor',
      'leaves nothing',
    ],
    [
      'a mark that is nothing',
      { 'placements.csv': 'board,side,mark,x,y\nADD,copper,OUTT,0.5,0\n' },
      'warning unknown-point placements.csv 2 mark',
      'neither a net, a pin nor a part',
    ],
    [
      'a part of unknown kind',
      withPart('ADD,X1,resistr,,1k,,1=OUT 2=0V,'),
      'error unknown-word parts.csv 10 kind',
      'did you mean resistor?',
    ],
    [
      'a part without a board',
      withPart(',R9,resistor,,1k,,1=OUT 2=0V,'),
      'error missing parts.csv 10 board',
      'empty; the name of the board',
    ],
    [
      'a reference with a slash',
      withPart('ADD,R/9,resistor,,1k,,1=OUT 2=0V,'),
      'error bad-name parts.csv 10 ref',
      'slash',
    ],
    [
      'a missing pin',
      withPart('ADD,Q9,transistor,2N1305,,,e=0V c=OUT,'),
      'error bad-pins parts.csv 10 pins',
      'pin b missing; a transistor needs e=NET b=NET c=NET',
    ],
    [
      'a strange pin',
      withPart('ADD,R9,resistor,,1k,,1=0V 2=OUT 3=OR,'),
      'error bad-pins parts.csv 10 pins',
      'has no pin "3"; its pins are 1=NET 2=NET',
    ],
    [
      'a pin given twice',
      withPart('ADD,R9,resistor,,1k,,1=0V 1=OR 2=OUT,'),
      'error bad-pins parts.csv 10 pins',
      'pin 1 is given twice',
    ],
    [
      'a pin without a net',
      withPart('ADD,R9,resistor,,1k,,1=0V 2=OUT OR,'),
      'error bad-pins parts.csv 10 pins',
      '"OR" is not pin=net',
    ],
    [
      'a winding with one end',
      withPart('ADD,T9,transformer,,12,,1a=0V,'),
      'error bad-pins parts.csv 10 pins',
      'pin 1b missing',
    ],
    [
      'a winding without a resistance',
      withPart('ADD,T9,transformer,,12,,1a=0V 1b=OUT 2a=OR 2b=BASE,'),
      'error bad-pins parts.csv 10 value',
      '1 resistances for 2 windings',
    ],
    [
      'a reference used twice',
      withPart('ADD,R4,resistor,,1k,,1=OUT 2=0V,'),
      'error duplicate parts.csv 10 ref',
      'ADD/R4 stands in row 8 already',
    ],
    [
      'a capacitor of 47 F',
      withPart('ADD,C9,capacitor,,47,,1=OUT 2=0V,'),
      'error out-of-range parts.csv 10 value',
      '47u or 47n or 47p meant?',
    ],
    [
      'a resistor of 0 ohms',
      withPart('ADD,R9,resistor,,0,,1=OUT 2=0V,'),
      'error out-of-range parts.csv 10 value',
      'a wire is one net',
    ],
    [
      'a negative resistor',
      withPart('ADD,R9,resistor,,-1k,,1=OUT 2=0V,'),
      'error out-of-range parts.csv 10 value',
      'no resistance of a resistor',
    ],
    [
      'a resistor without a value',
      withPart('ADD,R9,resistor,,,,1=OUT 2=0V,'),
      'error missing parts.csv 10 value',
      'a resistor needs the resistance in ohms',
    ],
    [
      'a capacitor without a value',
      withPart('ADD,C9,capacitor,,,,1=OUT 2=0V,'),
      'warning missing parts.csv 10 value',
      'not known',
    ],
    [
      'a value that is none',
      withPart('ADD,R9,resistor,,ten,,1=OUT 2=0V,'),
      'error not-a-number parts.csv 10 value',
      '"ten"',
    ],
    [
      'a value in a wrong unit',
      withPart('ADD,R9,resistor,,10 nF,,1=OUT 2=0V,'),
      'error not-a-number parts.csv 10 value',
      'nF',
    ],
    [
      'an unusual value',
      withPart('ADD,R9,resistor,,500M,,1=OUT 2=0V,'),
      'warning implausible parts.csv 10 value',
      '500 MΩ is unusual for a resistor',
    ],
    [
      'an unusually small value',
      withPart('ADD,R9,resistor,,10m,,1=OUT 2=0V,'),
      'warning implausible parts.csv 10 value',
      '10 mΩ is unusual for a resistor',
    ],
    [
      'a tolerance over 100 %',
      withPart('ADD,R9,resistor,,1k,200,1=OUT 2=0V,'),
      'error out-of-range parts.csv 10 tolerance',
      'from 0 to 100',
    ],
    [
      'a tolerance as a share',
      withPart('ADD,R9,resistor,,1k,0.05,1=OUT 2=0V,'),
      'warning implausible parts.csv 10 tolerance',
      'percent',
    ],
    [
      'a setting beyond the track',
      {
        'parts.csv':
          'board,ref,kind,type,value,tolerance,setting,pins\nA,RV1,trimmer,,1k,,1.5,1=0V 2=-12V w=+6V\n',
        'conditions.csv': undefined,
        'readings.csv': undefined,
      },
      'error out-of-range parts.csv 2 setting',
      'between 1 and w',
    ],
    [
      'a switch in no position',
      withPart('ADD,S9,switch,,half,,1=OUT 2=0V,'),
      'error unknown-word parts.csv 10 value',
      'open or closed',
    ],
    [
      'an unknown type',
      withPart('ADD,Q9,transistor,2N1035,,,e=0V b=BASE c=OUT,'),
      'error unknown-type parts.csv 10 type',
      'did you mean 2N1305?',
    ],
    [
      'no type',
      withPart('ADD,Q9,transistor,,,,e=0V b=BASE c=OUT,'),
      'error missing parts.csv 10 type',
      'GE-PNP, GE-NPN, SI-PNP, SI-NPN',
    ],
    [
      'a diode type on a transistor',
      withPart('ADD,Q9,transistor,1N34A,,,e=0V b=BASE c=OUT,'),
      'error wrong-kind parts.csv 10 type',
      'type 1N34A is a diode',
    ],
    [
      'a net with a single pin',
      withPart('ADD,R9,resistor,,1k,,1=OUT 2=BASW,'),
      'warning single-pin parts.csv 10 pins',
      'net BASW has a single pin, ADD/R9.2; did you mean BASE?',
    ],
    [
      'an undriven island',
      withPart('ADD,R9,resistor,,1k,,1=AWAY 2=FAR,\nADD,R10,resistor,,1k,,1=AWAY 2=FAR,'),
      'error undriven-island parts.csv 10 pins',
      'nothing feeds nets AWAY, FAR (ADD/R9.1 and others)',
    ],
    [
      'an island behind capacitors',
      withPart('ADD,C8,capacitor,,1n,,1=AWAY 2=OUT,\nADD,C9,capacitor,,1n,,1=AWAY 2=0V,'),
      'warning undriven-island parts.csv 10 pins',
      'only capacitors are on net AWAY',
    ],
    [
      'an island behind a part without a model',
      withPart('ADD,V1,other,,,,g=AWAY p=FAR,\nADD,R9,resistor,,1M,,1=AWAY 2=FAR,'),
      'warning undriven-island parts.csv 11 pins',
      'fed through ADD/V1',
    ],
    [
      'an island of connectors',
      withPart('ADD,J1,connector,,,,1=AWAY 2=FAR,\nSUB,J1,connector,,,,1=AWAY 2=FAR,'),
      'warning undriven-island parts.csv',
      '2 nets with nothing but connectors',
    ],
    [
      'an island behind a transformer',
      withPart('ADD,T1,transformer,,10 10,,1a=0V 1b=OUT 2a=AWAY 2b=FAR,\nADD,R9,resistor,,1k,,1=AWAY 2=FAR,'),
      'error undriven-island parts.csv 10 pins',
      'AWAY, FAR',
    ],
    [
      'a part joined on itself',
      withPart('ADD,R9,resistor,,1k,,1=OUT 2=OUT,'),
      'warning joined-pins parts.csv 10 pins',
      'all pins of ADD/R9 are on net OUT',
    ],
    [
      'a transistor as a diode',
      withPart('ADD,Q9,transistor,GE-PNP,,,e=0V b=OUT c=OUT,'),
      'warning joined-pins parts.csv 10 pins',
      'pins b and c of ADD/Q9',
    ],
    [
      'two drives on a net',
      added('conditions.csv', 'low,IN1,drive,0,'),
      'error two-drives conditions.csv 7 net',
      'in row 2',
    ],
    [
      'a drive on a rail',
      added('conditions.csv', 'low,-12V,drive,-10,'),
      'error driven-rail conditions.csv 7 net',
      'a rail of -12 V',
    ],
    [
      'a drive on the reference',
      added('conditions.csv', 'low,0V,drive,1,'),
      'error driven-rail conditions.csv 7 net',
      'the reference',
    ],
    [
      'a drive on no net',
      added('conditions.csv', 'low,IN3,drive,0,'),
      'error unknown-net conditions.csv 7 net',
      'did you mean IN1 or IN2?',
    ],
    [
      'a hint on no net',
      added('conditions.csv', 'low,OUTT,hint,0,'),
      'error unknown-net conditions.csv 7 net',
      'did you mean OUT?',
    ],
    [
      'an unknown role',
      added('conditions.csv', 'low,OR,push,0,'),
      'error unknown-word conditions.csv 7 role',
      'drive or hint',
    ],
    [
      'a drive of no voltage',
      added('conditions.csv', 'low,OR,drive,,'),
      'error missing conditions.csv 7 volts',
      'the voltage',
    ],
    [
      'a point that is no net',
      { 'points.csv': 'point,minutes,note\nOUTT,1,\n' },
      'error unknown-point points.csv 2 point',
      'did you mean OUT?',
    ],
    [
      'a point on no part',
      { 'points.csv': 'point,minutes,note\nADD/Q7.c,1,\n' },
      'error unknown-point points.csv 2 point',
      'did you mean ADD/Q1',
    ],
    [
      'a point on no pin',
      { 'points.csv': 'point,minutes,note\nADD/Q1.x,1,\n' },
      'error unknown-point points.csv 2 point',
      'its pins are e, b, c',
    ],
    [
      'a point given twice',
      { 'points.csv': 'point,minutes,note\nOUT,1,\nOUT,2,\n' },
      'warning duplicate points.csv 3 point',
      'row 2',
    ],
    [
      'a point that costs nothing',
      { 'points.csv': 'point,minutes,note\nOUT,0,\n' },
      'error out-of-range points.csv 2 minutes',
      'more than 0',
    ],
    [
      'a reading of an unknown unit',
      added('readings.csv', 'wset,low,OUT,V,0,,,,,'),
      'error unknown-unit readings.csv 4 unit',
      'did you mean west?',
    ],
    [
      'a reading in an unknown condition',
      added('readings.csv', 'west,lov,OUT,V,0,,,,,'),
      'error unknown-condition readings.csv 4 condition',
      'did you mean low?',
    ],
    [
      'a reading at an unknown point',
      added('readings.csv', 'west,low,ADD/Q1.d,V,0,,,,,'),
      'error unknown-point readings.csv 4 point',
      'has no pin "d"',
    ],
    [
      'a reading of an unknown quantity',
      added('readings.csv', 'west,low,OUT,mV,0,,,,,'),
      'error unknown-word readings.csv 4 quantity',
      'V, ohm, high, low, average, Vpp, width, period, Hz, rise, fall, delay:POINT, moves, s',
    ],
    [
      'a reading without a value',
      added('readings.csv', 'west,low,OUT,V,,,,,,'),
      'error missing readings.csv 4 value',
      'the value that was read',
    ],
    [
      'a reading without uncertainty',
      added('readings.csv', 'west,low,OUT,V,1,0,,,,'),
      'error out-of-range readings.csv 4 uncertainty',
      'leave it empty',
    ],
    [
      'a reading in a foreign date',
      added('readings.csv', 'west,low,OUT,V,1,,14.05.1968,,,'),
      'error bad-date readings.csv 4 taken_at',
      'write 1968-05-14',
    ],
    [
      'a reading on no day',
      added('readings.csv', 'west,low,OUT,V,1,,1969-02-29,,,'),
      'error bad-date readings.csv 4 taken_at',
      '1969-02-29',
    ],
    [
      'a reading in an oven',
      added('readings.csv', 'west,low,OUT,V,1,,,180,,'),
      'error out-of-range readings.csv 4 ambient',
      'room temperature',
    ],
    [
      'a reading with an unknown meter',
      added('readings.csv', 'west,low,OUT,V,1,,,,meter B,'),
      'warning unknown-instrument readings.csv 4 instrument',
      '10 Mohm',
    ],
    [
      'a reading in millivolts',
      added('readings.csv', 'west,low,OUT,V,-6100,,,,,'),
      'warning implausible readings.csv 4 value',
      'millivolts',
    ],
    [
      'a reading entered twice',
      added('readings.csv', 'east,low,OUT,V,-0.12,,1968-05-14,21,meter A,again'),
      'warning duplicate readings.csv 4 value',
      'row 2',
    ],
    [
      'a stage with the name of a part',
      { 'flow.csv': 'board,stage,inputs,outputs,breaks,note\nADD,Q1,IN1,OUT,,\n' },
      'error duplicate flow.csv 2 stage',
      'name of a part',
    ],
    [
      'a stage on a net without a pin',
      { 'flow.csv': 'board,stage,inputs,outputs,breaks,note\nADD,gate,IN1,OUTT,,\n' },
      'warning unknown-net flow.csv 2 outputs',
      'did you mean OUT?',
    ],
    [
      'a type of gains that fall',
      { 'types.csv': 'type,kind,polarity,material,hfe_min,hfe_max\nZQ1,transistor,pnp,ge,80,40\n' },
      'error out-of-range types.csv 2 hfe_typ',
      'rising order',
    ],
    [
      'a leakage in microamperes',
      { 'types.csv': 'type,kind,polarity,material,icbo\nZQ1,transistor,pnp,ge,6\n' },
      'error out-of-range types.csv 2 icbo',
      '5u for 5 µA',
    ],
    [
      'a transistor type without polarity',
      { 'types.csv': 'type,kind,polarity,material\nZQ1,transistor,,ge\n' },
      'error missing types.csv 2 polarity',
      'pnp, npn',
    ],
    [
      'a forward drop without its current',
      { 'types.csv': 'type,kind,material,vj\nZD1,diode,ge,0.3\n' },
      'error missing types.csv 2 ij',
      'go together',
    ],
    ['no machine.json', { 'machine.json': undefined }, 'error file-missing machine.json', 'reference net'],
    [
      'no parts.csv',
      { 'parts.csv': undefined, 'readings.csv': undefined, 'conditions.csv': undefined },
      'error file-missing parts.csv',
      'list the parts',
    ],
    [
      'a broken machine.json',
      { 'machine.json': '{\n  "format": 1,\n  "name": }\n' },
      'error json-syntax machine.json 3 11',
      'comma, quotation mark or bracket',
    ],
    [
      'no reference',
      json((m) => delete m.reference),
      'error missing machine.json reference',
      'measured against',
    ],
    [
      'a later format',
      json((m) => {
        m.format = 2;
      }),
      'error format machine.json format',
      'reads format 1',
    ],
    [
      'a voltage in quotes',
      json((m) => {
        m.rails = [
          { net: '-12V', volts: '-12' },
          { net: '+6V', volts: 6 },
        ];
      }),
      'error wrong-kind machine.json rails[0].volts',
      'number without quotes',
    ],
    [
      'a rail on the reference',
      json((m) => {
        (m.rails as unknown[]).push({ net: '0V', volts: 1 });
      }),
      'error driven-rail machine.json rails[2].net',
      '0 V by definition',
    ],
    [
      'a rail given twice',
      json((m) => {
        (m.rails as unknown[]).push({ net: '+6V', volts: 6 });
      }),
      'error duplicate machine.json rails[2].net',
      'rails[1] already',
    ],
    [
      'a rail without a pin',
      json((m) => {
        (m.rails as unknown[]).push({ net: '-6V', volts: -6 });
      }),
      'warning unknown-net machine.json rails[2].net',
      'did you mean +6V',
    ],
    [
      'an unknown health',
      json((m) => {
        m.units = [{ id: 'east', health: 'ill' }, { id: 'west' }];
      }),
      'error unknown-word machine.json units[0].health',
      'healthy, faulty or unknown',
    ],
    [
      'a unit given twice',
      json((m) => {
        (m.units as unknown[]).push({ id: 'east' });
      }),
      'error duplicate machine.json units[2].id',
      'units[0] already',
    ],
    [
      'an oven of a room',
      json((m) => {
        m.ambient = 220;
      }),
      'error out-of-range machine.json ambient',
      '-40 to 70',
    ],
    [
      'a list that is none',
      json((m) => {
        m.instruments = 'none';
      }),
      'error wrong-kind machine.json instruments',
      'square brackets',
    ],
  ])('with %s gives one finding there', (_, changes, place, says) => {
    const { findings } = folder(changes);
    const found = findings.filter((finding) => places([finding])[0] === place);
    expect(found.map(({ message }) => message).join('\n'), places(findings).join('\n')).toContain(says);
    // Nothing else is an error; doubts that follow from the fault may stand beside it.
    expect(places(findings.filter((f) => f.severity === 'error' && !found.includes(f)))).toEqual([]);
  });

  it('reports all faults at once, in every file', () => {
    const { findings } = folder({
      ...withPart(
        'ADD,X1,wire,,1k,,1=OUT 2=0V,\nADD,R4,resistor,,1k,,1=OUT 2=0V,\nADD,C9,capacitor,,47,,1=OUT 2=0V,',
      ),
      ...replaced('conditions.csv', 'high,IN1,drive,0,', 'high,IN2,drive,0,'),
      ...replaced('readings.csv', 'east,low', 'north,mid'),
      'points.csv': 'point,minutes\nNOWHERE,1\n',
    });
    expect(places(findings.filter(({ severity }) => severity === 'error'))).toEqual([
      'error unknown-word parts.csv 10 kind',
      'error duplicate parts.csv 11 ref',
      'error out-of-range parts.csv 12 value',
      'error two-drives conditions.csv 5 net',
      'error unknown-point points.csv 2 point',
      'error unknown-unit readings.csv 2 unit',
      'error unknown-condition readings.csv 2 condition',
    ]);
  });

  it('tells readings apart that differ little, and finds the one that is the same', () => {
    const values = ['1.00001', '1.00002', '1.00003', '1.00001', '1.00001'];
    const rows = values.map((value) => `west,low,OUT,V,${value},,,,,\n`).join('');
    const { findings } = folder({ 'readings.csv': `${SOUND['readings.csv']}${rows}` });
    expect(findings.map(({ row, message }) => `${row} ${message.slice(0, 31)}`)).toEqual([
      '7 the same reading as in row 4; d',
      '8 the same reading as in row 4; d',
    ]);
  });

  // ISO 8601 takes the Gregorian calendar: every fourth year, no full century but every fourth.
  it.each([
    ['2000-02-29', true],
    ['1900-02-29', false],
    ['1968-02-29', true],
    ['1969-04-31', false],
    ['1969-13-01', false],
    ['1969-00-01', false],
    ['1969-01-00', false],
    ['1969-06', true],
    ['1969', false],
    ['1969-07-20T20:17:40Z', true],
    ['1969-07-20T24:17', false],
    ['1969-07-20T20:61', false],
    ['1969-07-20 20:17+01:00', true],
    ['69-07-20', false],
  ])('takes %s for a date: %s', (date, sound) => {
    const { findings } = folder({ 'readings.csv': `${SOUND['readings.csv']}west,low,OUT,V,1,,${date},,,\n` });
    expect(findings.map(({ code }) => code)).toEqual(sound ? [] : ['bad-date']);
  });

  it('names entries of machine.json by their own places, also after a broken one', () => {
    const { findings } = folder(
      json((m) => {
        m.units = [{ id: 7 }, { id: 'east' }, { id: 'west' }, 'none', { id: 'east' }];
      }),
    );
    expect(places(findings)).toEqual([
      'error json-syntax machine.json units[3]',
      'error wrong-kind machine.json units[0].id',
      'error duplicate machine.json units[4].id',
    ]);
  });

  it('may give a bare name to a condition in which nothing is driven', () => {
    const { machine, findings } = folder({
      'conditions.csv': 'condition,net,role,volts,ohms\nlow,IN1,drive,-6,\nhigh,IN2,drive,-6,\nidle,,,,\n',
    });
    expect(findings).toEqual([]);
    expect(machine?.conditions[2]).toEqual({ name: 'idle', drives: [], hints: [] });
  });

  it('holds nothing against a table that was refused, so that one fault is not told a hundred times', () => {
    const { findings } = folder({ 'parts.csv': 'not a table\n' });
    expect(places(findings)).toEqual(['error header parts.csv 1']);
  });

  it('with untraced boards has nothing to say of their connectors and of what is between them', () => {
    const { findings } = folder(
      withPart('SUB,J1,connector,,,,1=OUT 2=A 3=B 4=BIT1 5=BIT2,\nMEM,J1,connector,,,,1=OUT 2=A,'),
    );
    expect(places(findings)).toEqual([]);
  });

  it('says which nets are not computed on a board that is traced', () => {
    const { findings } = folder(withPart('ADD,M1,other,,,,1=A 2=DIAL,\nADD,J1,connector,,,,1=A 2=DIAL,'));
    expect(places(findings)).toEqual(['warning undriven-island parts.csv']);
  });

  it('has a slip of the pen in a connector’s net on an untraced board', () => {
    const { findings } = folder(withPart('SUB,J1,connector,,,,1=OUT 2=BASEE,'));
    expect(places(findings)).toEqual(['warning single-pin parts.csv 10 pins']);
  });
});
