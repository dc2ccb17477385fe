import { describe, expect, it } from 'vitest';
import { isRunning } from './running.ts';
import { folder, SOUND } from './test-folder.ts';
import { writeMachine } from './write.ts';

/** The sound folder with a condition in which IN1 is clocked. */
const CLOCKED: Readonly<Record<string, string>> = {
  ...SOUND,
  'conditions.csv': `condition,net,role,volts,ohms,wave
low,IN1,drive,-6,1k,
low,IN2,drive,-6,,
clocked,IN1,drive,,1k,pulses low=-6 high=0 width=20u period=100u edge=1u
clocked,IN2,drive,-6,,
`,
  'states.csv': 'condition,steps,watch\nclocked,clock on,0.2m..0.5m\n',
  'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at,ambient,instrument,note
east,low,OUT,V,-0.12,,,,,
east,clocked,OUT,high,-0.1,,,,,
east,clocked,OUT,delay:IN1,1.2u,20n,,,,
east,clocked,OUT,moves,1,,,,,
east,clocked,OUT,Hz,10k,5,,,,
`,
};
const with_ = (file: string, row: string): ReturnType<typeof folder> =>
  folder({ ...CLOCKED, [file]: `${CLOCKED[file]}${row}\n` });
const finding = ({ findings }: ReturnType<typeof folder>): string[] =>
  findings.map(({ severity, code, file, row, column }) =>
    [severity, code, file, row, column].filter((part) => part !== undefined).join(' '),
  );

describe('a running condition', () => {
  it('is one whose drive has a wave; at rest the drive stands where its wave begins', () => {
    const { machine, findings } = folder(CLOCKED);
    expect(findings).toEqual([]);
    const [low, clocked] = machine!.conditions;
    expect([isRunning(low!), isRunning(clocked!)]).toEqual([false, true]);
    expect(clocked!.drives[0]).toMatchObject({ net: 'IN1', volts: -6, ohms: 1000, wave: { kind: 'pulses' } });
    expect(clocked!.watch).toEqual({ from: 2e-4, to: 5e-4 });
    expect(machine!.readings.map(({ quantity }) => quantity).slice(1)).toEqual([
      'high',
      'delay:IN1',
      'moves',
      'Hz',
    ]);
  });

  it('is one that is watched though nothing moves its drives: an oscillator', () => {
    const { machine, findings } = folder({
      ...SOUND,
      'states.csv': 'condition,watch\nfree,5m\n',
      'readings.csv': undefined,
    });
    expect(findings).toEqual([]);
    expect(machine!.conditions.at(-1)).toEqual({
      name: 'free',
      drives: [],
      hints: [],
      watch: { from: 0, to: 5e-3 },
    });
    expect(isRunning(machine!.conditions.at(-1)!)).toBe(true);
  });

  it('is written back to the letter, and row by row where something changed', () => {
    const document = folder(CLOCKED);
    expect(Object.fromEntries(writeMachine(document))).toEqual(CLOCKED);
    const { machine } = document;
    const conditions = machine!.conditions.map((condition) =>
      condition.name === 'clocked' ? { ...condition, watch: { from: 0, to: 1e-3 } } : condition,
    );
    const back = writeMachine({ ...document, machine: { ...machine!, conditions } });
    expect(back.get('conditions.csv')).toBe(CLOCKED['conditions.csv']);
    expect(back.get('states.csv')).toBe('condition,steps,watch\nclocked,clock on,0.001\n');
  });

  // What is added, where the finding is, and what its message must say.
  it.each([
    [
      'conditions.csv',
      'fast,IN1,drive,,,square low=0',
      'error bad-wave conditions.csv 6 wave',
      'one of pulses',
    ],
    [
      'conditions.csv',
      'fast,IN1,drive,,,pulses low=0 high=1 width=2u',
      'error bad-wave conditions.csv 6 wave',
      'needs period=',
    ],
    [
      'conditions.csv',
      'fast,IN1,hint,-6,,pulses low=0 high=1 width=1 period=2',
      'error unused conditions.csv 6 wave',
      'make it a drive',
    ],
    ['conditions.csv', 'fast,IN1,drive,,,', 'error missing conditions.csv 6 volts', 'the voltage of the net'],
    [
      'conditions.csv',
      'fast,IN1,drive,,,capture a.csv CH1',
      'error missing conditions.csv 6 volts',
      'before the capture',
    ],
    [
      'conditions.csv',
      'fast,IN1,drive,-6,,capture a.csv CH1',
      'error bad-wave conditions.csv 6 wave',
      'captures.csv has no row',
    ],
    ['states.csv', 'low,,5m..2m', 'error out-of-range states.csv 3 watch', 'earlier instant first'],
    ['states.csv', 'low,,..2m', 'error out-of-range states.csv 3 watch', '2m..5m'],
    ['states.csv', 'low,,soon', 'error not-a-number states.csv 3 watch', 'soon'],
    [
      'readings.csv',
      'west,clocked,OUT,V,-6,,,,,',
      'error wrong-kind readings.csv 7 quantity',
      'write average',
    ],
    [
      'readings.csv',
      'west,low,OUT,rise,2u,,,,,',
      'error wrong-kind readings.csv 7 quantity',
      'a running one ("clocked")',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,rise,-2u,,,,,',
      'error out-of-range readings.csv 7 value',
      'not below 0',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,rise,2u,0.1V,,,,',
      'error not-a-number readings.csv 7 uncertainty',
      'V',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,Hz,100,0,,,,',
      'error out-of-range readings.csv 7 uncertainty',
      'of the period',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,moves,0.5,,,,,',
      'error out-of-range readings.csv 7 value',
      '1 where it moves',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,moves,1,1,,,,',
      'warning unused readings.csv 7 uncertainty',
      'not used',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,delay:INN1,2u,,,,,',
      'error unknown-point readings.csv 7 quantity',
      'did you mean',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,delay,2u,,,,,',
      'error unknown-word readings.csv 7 quantity',
      'delay:POINT',
    ],
    [
      'readings.csv',
      'west,clocked,OUT,high,-6100,,,,,',
      'warning implausible readings.csv 7 value',
      'millivolts',
    ],
  ])('with a slip in %s, %s, is told of it at its place', (file, row, place, message) => {
    const document = with_(file, row);
    expect(finding(document)).toContain(place);
    expect(document.findings.map((one) => one.message).join('\n')).toContain(message);
  });

  it('keeps what an older folder may hold: peak to peak and hertz in a state that stands still', () => {
    expect(finding(with_('readings.csv', 'west,low,OUT,Vpp,0.02,,,,,'))).toEqual([]);
    expect(finding(with_('readings.csv', 'west,low,OUT,Hz,50,,,,,'))).toEqual([]);
  });
});
