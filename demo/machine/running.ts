/**
 * The states that run: a board or two on bench supplies, fed by a generator, so that nothing runs in it that is not looked at. What
 * the other boards would feed is clipped on, stiffly: a board that is out and one whose lines are held are the same to those that are in.
 */
import { type Condition, type DriveWave, type Hint, parseWave, voltsAt } from '../../src/machine/index.ts';
import { REST, storedBits } from './conditions.ts';

/** One running state: the boards that are in, what feeds them, and what is said of it. */
export interface RunningSetting {
  readonly name: string;
  readonly boards: readonly string[];
  /** A key or a switch, volts through a contact; or a line, volts or a wave, stiffly unless it says otherwise. */
  readonly feeds: readonly Feed[];
  /** Nets that are held at some volts before time 0. */
  readonly begin: readonly Hint[];
  /** Seconds that are looked at. */
  readonly watch: { readonly from: number; readonly to: number };
  readonly steps: string;
  readonly note: string;
}

interface Feed {
  readonly net: string;
  readonly wave: number | string;
  readonly ohms?: number;
}

const MARK = -6.2;
const CONTACT = 1;
/** The line to the float and its contact, ohms. */
const LINE = 1200;
/** The line with its contact open, volts: what the bleeder leaves of 80. */
const LINE_OPEN = -78;

const SUPPLIES: readonly Feed[] = [
  { net: '-12V', wave: -12 },
  { net: '-6V', wave: -6.1 },
  { net: '+6V', wave: 6 },
  { net: '-24F', wave: -24 },
];
const ON_BENCH =
  'supply off and discharged, PWR out, bench supplies of -12, -6.1, +6 and -24 V on its socket';
const HELD_COUNTER: readonly Feed[] = [1, 2, 4, 8].map((w) => ({ net: `BIT${w}`, wave: 0 }));
const HELD_CLOCK: readonly Feed[] = [
  ...['P2', 'T1', 'T2', 'T4', 'T8'].map((net) => ({ net, wave: 0 })),
  { net: 'CLR', wave: -12 },
  { net: 'STOP', wave: 0, ohms: CONTACT },
];

function datum(digit: number): readonly Feed[] {
  return [1, 2, 4, 8]
    .filter((w) => (digit & w) === 0)
    .map((w) => ({ net: `DAT${w}`, wave: 0, ohms: CONTACT }));
}

/** Bit time `weight` of one digit, in bits of 100 us from 50 us on. */
function bitTime(weight: number): Feed {
  const word = [1, 2, 4, 8].map((w) => (w === weight ? 1 : 0)).join('');
  return { net: `T${weight}`, wave: `bits ${word}0 bit=100u delay=50u low=${MARK} high=0 edge=1u negative` };
}

const FLIP_FLOPS: Readonly<Record<string, readonly string[]>> = {
  CLK: ['PH', 'K1', 'K2'],
  CTR: ['BIT1', 'BIT2', 'BIT4', 'BIT8'],
  ADD: ['HELD'],
};

/** Both sides of each flip-flop of the boards that are in. */
function stored(boards: readonly string[], count = 0): readonly Hint[] {
  return storedBits({ ...REST, name: '', phase: 1, count })
    .filter(([net]) => boards.some((board) => FLIP_FLOPS[board]?.includes(net)))
    .flatMap(([net, mark]) => [
      { net, volts: mark ? MARK : 0 },
      { net: `${net}N`, volts: mark ? 0 : MARK },
    ]);
}

function setting(
  name: string,
  boards: readonly string[],
  feeds: readonly Feed[],
  watch: readonly [from: number, to: number],
  words: {
    readonly steps: string;
    readonly note: string;
    readonly also?: readonly Hint[];
    readonly count?: number;
  },
): RunningSetting {
  const all = [...SUPPLIES, ...feeds];
  return {
    name,
    boards,
    feeds: all,
    begin: [...stored(boards, words.count), ...(words.also ?? [])],
    watch: { from: watch[0], to: watch[1] },
    steps: `${ON_BENCH}; ${words.steps}`,
    note: words.note,
  };
}

export const RUNNING: readonly RunningSetting[] = [
  setting(
    'clock running',
    ['CLK', 'ADD'],
    [...HELD_COUNTER, ...datum(0), { net: 'CLR', wave: -12 }],
    [1e-3, 7e-3],
    {
      steps:
        'CTR and LNE out, BIT1 BIT2 BIT4 BIT8 clipped to 0 V and CLR to -12 V; datum 0, all switches closed; STOP up; scope on CK, falling',
      note: 'CK some 320 times a second, P1 and P2 by turns, half as often',
      also: [{ net: 'OSC', volts: MARK }],
    },
  ),
  setting(
    'counting from three',
    ['CTR', 'ADD'],
    [
      ...datum(0),
      ...HELD_CLOCK,
      {
        net: 'CNT',
        wave: `pulses low=${MARK} high=0 width=100u period=200u delay=100u count=7 edge=1u negative`,
      },
    ],
    [0, 1.7e-3],
    {
      steps:
        'CLK and LNE out, P2 T1 T2 T4 T8 clipped to 0 V and CLR to -12 V; touch CLR with 0 V; three single pulses on CNT, then seven of 100 us to -6.2 V, 200 us apart, from the generator; scope on the first of the seven',
      note: 'lamps: 1 and 2 before, none after: 4, 5, 6, 7, 8, 9 and nought',
      count: 3,
    },
  ),
  setting(
    'adding 5 and 3',
    ['ADD'],
    [
      { net: 'BIT1', wave: MARK },
      { net: 'BIT2', wave: 0 },
      { net: 'BIT4', wave: MARK },
      { net: 'BIT8', wave: 0 },
      ...datum(3),
      { net: 'CLR', wave: -12 },
      { net: 'STOP', wave: 0, ohms: CONTACT },
      ...[1, 2, 4, 8].map(bitTime),
      {
        net: 'P2',
        wave: `pulses low=${MARK} high=0 width=30u period=100u delay=110u count=4 edge=1u negative`,
      },
    ],
    [0, 500e-6],
    {
      steps:
        'CLK, CTR and LNE out; BIT1 and BIT4 clipped to -6.2 V, BIT2 and BIT8 to 0 V, CLR to -12 V; datum 3, only switches 1 and 2 open; touch HELD with 0 V; bit times of 100 us on T1 T2 T4 T8 and P2 late in each from the word generator; scope on T1',
      note: 'CARRY at mark up to T8, OUT at mark in T8: 5+3 is 8',
    },
  ),
  setting(
    'float pulse',
    ['LNE'],
    [
      ...datum(0),
      ...HELD_CLOCK,
      { net: 'CNT', wave: 0 },
      {
        net: 'LINE',
        wave: `pulses low=${LINE_OPEN} high=0 width=50m period=200m delay=1m count=1 edge=0.2m exponential`,
        ohms: LINE,
      },
    ],
    [0, 5e-3],
    {
      steps:
        'CLK, CTR and ADD out, CNT clipped to 0 V; the line set on LINE: a relay that lays 1.2 kohm from -78 V to 0 V, slowly as a line does; 80 V at the terminals, one hand; scope on LINE, rising',
      note: 'one pulse of about a millisecond on PULSE each time that the relay makes',
    },
  ),
];

function waveOf(text: string): DriveWave {
  const wave = parseWave(text);
  if (!wave.ok || wave.value.kind === 'capture') throw new Error(`no wave: ${text}`);
  return wave.value;
}

/** The condition of the machine folder that a running setting is. */
export function runningConditionOf(s: RunningSetting): Condition {
  return {
    name: s.name,
    drives: s.feeds.map(({ net, wave, ohms = 0 }) => {
      if (typeof wave === 'number') return { net, volts: wave, ohms };
      const moving = waveOf(wave);
      return { net, volts: voltsAt(moving, 0), ohms, wave: moving };
    }),
    hints: s.begin,
    watch: s.watch,
    steps: s.steps,
    note: s.note,
  };
}
