/** The log of both units: people, dates and what happened are invented. */
import type { LogEntry } from '../src/machine/index.ts';
import type { Scenario } from './scenarios.ts';

type Written = Pick<LogEntry, 'unit' | 'date' | 'kind' | 'text'> &
  Partial<Pick<LogEntry, 'points' | 'suspects' | 'replaces' | 'note'>>;

const BEFORE: readonly Written[] = [
  {
    unit: 'north',
    date: '2013-05-04',
    kind: 'note',
    text: 'Opened for the first time since the hut was closed. Reservoirs re-formed over two days through 4.7 kohm, rails set with the boards out, then board by board. Counts.',
    points: ['-24F', '-12V', '+6V', '-6V'],
    note: 'I. Marlock, B. Oss',
  },
  {
    unit: 'south',
    date: '2013-05-11',
    kind: 'note',
    text: 'The same with the south one. Counts and adds after its edge contacts were wiped with alcohol.',
    points: ['-24F', '-12V', '+6V', '-6V'],
    note: 'I. Marlock, B. Oss',
  },
  {
    unit: 'south',
    date: '2016-02-20',
    kind: 'symptom',
    text: 'Wrong sums and lost counts from half an hour after switching on; READY stays lit.',
    note: 'P. Quenby',
  },
  {
    unit: 'south',
    date: '2016-02-20',
    kind: 'finding',
    text: 'The +6 V rail is down to 4.1 V when warm. Q5 of the supply is weak.',
    points: ['+6V', 'PWR.Q5.b'],
    suspects: ['PWR/Q5:low-gain'],
    note: 'P. Quenby',
  },
  {
    unit: 'south',
    date: '2016-02-27',
    kind: 'finding',
    text: 'The +6 V rail is down to 4.1 V when warm, and comes back with one end of C3 lifted: 330 ohms in it, both ways. Q5 is in order.',
    points: ['+6V', 'PWR.Q5.b'],
    suspects: ['PWR/C3:leaky'],
    replaces: '4',
    note: 'P. Quenby, B. Oss',
  },
  {
    unit: 'south',
    date: '2016-03-05',
    kind: 'replaced',
    text: 'C3 of the supply, 100 uF, for a new one of 25 V. The old one is in its bag in the drawer.',
    points: ['+6V'],
    suspects: ['PWR/C3:leaky'],
    note: 'P. Quenby',
  },
  {
    unit: 'south',
    date: '2016-03-06',
    kind: 'proof',
    text: 'The +6 V rail stands at 5.9 V after two hours and on a cold start next morning; 200 steps counted, all sixteen datum settings added to 0, 5 and 9 without a fault.',
    points: ['+6V', 'SUM', 'OUT'],
    note: 'P. Quenby',
  },
  {
    unit: 'north',
    date: '2017-10-14',
    kind: 'replaced',
    text: 'Lamp 8 was dark, its filament broken. One of the last six spares.',
    suspects: ['CTR/LP4:open'],
    note: 'B. Oss',
  },
  {
    unit: 'north',
    date: '2017-10-14',
    kind: 'proof',
    text: 'Lamp 8 lights at eight and nine; the decade counted round ten times.',
    points: ['BIT8'],
    note: 'B. Oss',
  },
  {
    unit: 'north',
    date: '2019-05-18',
    kind: 'note',
    text: 'Both units read for the record while both are sound: counter 0 and 7+5 bit 4. The south one in the afternoon.',
    note: 'I. Marlock, P. Quenby',
  },
  {
    unit: 'north',
    date: '2024-03-16',
    kind: 'note',
    text: 'A day for the north unit: every socket in four states, the clock with the station scope.',
    points: ['CK', 'P1', 'P2', 'CNT'],
    note: 'P. Quenby',
  },
  {
    unit: 'north',
    date: '2024-03-23',
    kind: 'note',
    text: 'The boards of the north unit on bench supplies, one or two at a time, with the station scope: the clock running, seven pulses counted, 5 and 3 added, the float pulse.',
    points: ['CK', 'BIT1', 'BIT8', 'CARRY', 'OUT', 'READ', 'PULSE'],
    note: 'P. Quenby',
  },
];

/** The log as it stands after the first evening on the south unit. */
export function demoLog({ symptom, evening, second, screens }: Scenario): readonly LogEntry[] {
  const states = evening.map(([condition]) => condition).join(', ');
  const now: readonly Written[] = [
    { unit: 'south', date: '2024-11-02', kind: 'symptom', text: symptom, note: 'the keeper' },
    {
      unit: 'south',
      date: '2024-11-09',
      kind: 'note',
      text: `First evening: read in ${states}. Nothing touched yet.`,
      note: 'I. Marlock, P. Quenby',
    },
    ...lookedAt(screens, second !== undefined),
  ];
  return [...BEFORE, ...now].map((entry, i) => ({
    id: `${i + 1}`,
    points: [],
    suspects: [],
    replaces: '',
    note: '',
    ...entry,
  }));
}

/** The second evening, with the scope that travels. */
function lookedAt(screens: Scenario['screens'], isRead: boolean): readonly Written[] {
  if (!screens) return [];
  const states = [...new Set(screens.map(([condition]) => condition))].join(', ');
  const why = isRead ? 'all that stands still is as it should be, so the' : 'the';
  return [
    {
      unit: 'south',
      date: '2024-11-16',
      kind: 'note',
      text: `Second evening: ${why} boards on bench supplies, ${states}. The travelling scope kept what it showed; the same of the north unit is from March.`,
      points: [...new Set(screens.flatMap(([, points]) => points.split(' ')))],
      note: 'I. Marlock, P. Quenby',
    },
  ];
}
