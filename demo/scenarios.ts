/**
 * What can be wrong with the south unit, and, in `faults`, what is: the answers. Do not read on if you want to find them
 * yourself; the symptoms alone are in README.md.
 */
import type { Planted } from './plant.ts';
import type { Looks } from './running-readings.ts';

export interface Scenario {
  /** In words of the trade, as a person would label the job. */
  readonly name: string;
  /** What the keeper of the gauge reports. */
  readonly symptom: string;
  /** The true answer: none, one or two. */
  readonly faults: readonly Planted[];
  /** What was read on the south unit in the first evening: a condition and the points, with spaces between. */
  readonly evening: readonly (readonly [condition: string, points: string])[];
  /** What was read while it ran, in a second evening with a scope, where there was one. */
  readonly second?: Looks;
  /** What the scopes kept of both units, where they did: a running state and the points that were on a screen together. */
  readonly screens?: readonly (readonly [condition: string, points: string])[];
}

const RAILS = '-12V -6V +6V -24F VREF';

export const SCENARIOS: readonly Scenario[] = [
  {
    name: 'fourteen too many',
    symptom:
      'With counter and datum at 0 the recorder prints 14. 5+3 comes out as 8 all the same, and the counter by itself is right.',
    faults: [{ part: 'ADD/Q7', mode: 'short-ce' }],
    evening: [
      ['counter 0', `${RAILS} P2 T1 T2 A B SUM HELD HELDN CARRY CARRYN`],
      ['5+3 bit 8', 'T1 T8 A B SUM SUMN HELD CARRY CARRYN'],
      ['counter 3', 'A B SUM HELD CARRY CARRYN'],
    ],
    screens: [
      ['adding 5 and 3', 'P2 CARRY'],
      ['adding 5 and 3', 'T8 HELD'],
    ],
  },
  {
    name: 'fours get lost',
    symptom:
      'A 4 in the counter or on the datum switches does not get into the sum: 5+3 is printed as 4. All else is right.',
    faults: [{ part: 'CLK/Q16', mode: 'open-joint:e' }],
    evening: [
      ['counter 0', `${RAILS} CK P1 P2 K1 K2 T1 T2 T8 A B SUM`],
      ['5+3 bit 1', 'T1 T2 T8 A B SUM CARRY'],
      ['5+3 bit 4', 'T1 T8 BIT4 A B SUM CARRY'],
    ],
  },
  {
    name: 'tens step by chance',
    symptom:
      'The tens register misses about every fifth step; the lamps count correctly, the lamp 8 perhaps a little dim.',
    faults: [{ part: 'ADD/D10', mode: 'leaky', amount: 1800 }],
    evening: [
      ['counter 0', `${RAILS} BIT1 BIT2 BIT4 BIT8 BIT1N BIT8N NINE`],
      ['8+6 bit 2', 'BIT1 BIT2 BIT4 BIT8 BIT8N NINE A B SUM'],
      ['counter 9', 'BIT1 BIT2 BIT4 BIT8 BIT1N BIT8N NINE A SUM'],
    ],
  },
  {
    name: 'deaf to the float',
    symptom: 'The counter does not follow the float any more. Stepped from the TEST socket it counts.',
    faults: [{ part: 'LNE/R5', mode: 'high', amount: 2.9 }],
    evening: [
      ['counter 0', `${RAILS} CNT READ SLICE PULSEN PULSE TEST BIT1`],
      ['counter 3', '-12V LINE CNT READ SLICE PULSE BIT1 BIT2'],
      ['line test', '-12V -6V LINE CNT READ SLICE PULSEN PULSE TEST LNE.Q2.c'],
    ],
  },
  {
    name: 'hangs after an hour',
    symptom: 'Counts for an hour after it is switched on, then stands still, whatever the float does.',
    faults: [{ part: 'LNE/C6', mode: 'leaky', amount: 14_000 }],
    evening: [
      ['counter 0', `${RAILS} CNT READ SLICE PULSEN PULSE TEST BIT1`],
      ['counter 3', '-12V LINE CNT READ SLICE PULSEN PULSE BIT1 BIT2'],
      ['line test on hold', '-12V -6V CNT READ SLICE PULSEN PULSE TEST'],
    ],
  },
  {
    name: 'misses in the cold',
    symptom: 'Loses counts and sums on cold mornings; in a warm room nothing is amiss.',
    faults: [{ part: 'PWR/Z2', mode: 'open' }],
    evening: [
      ['counter 0', `${RAILS} CK P1 P2 T1 T2 BIT1 BIT1N A SUM HELD OUT`],
      ['7+5 bit 4', '-12V -6V CK P2 T4 BIT1 BIT4 A B SUM CARRY HELD CNT OUT'],
    ],
  },
  {
    name: 'after the thunderstorm',
    symptom:
      'Since the thunderstorm nothing from the float arrives. The clerk changed the line fuse, which was blown.',
    faults: [
      { part: 'LNE/T1', mode: 'open:1' },
      { part: 'LNE/Q1', mode: 'short-be' },
    ],
    evening: [
      ['counter 0', `${RAILS} LINE CNT READ SLICE PULSEN PULSE TEST BIT1`],
      ['counter 3', '-12V LINE CNT READ SLICE PULSE LNE.FS1 LNE.V LNE.Q1.c'],
      ['line test', '-12V LINE CNT READ SLICE PULSEN PULSE'],
    ],
  },
  {
    name: 'one wrong total',
    symptom: 'One wrong total in the log of last month. It has not come again.',
    faults: [],
    evening: [
      ['counter 0', `${RAILS} CK P1 P2 BIT1 BIT2 BIT4 BIT8 A B SUM CARRY`],
      ['7+5 bit 4', 'P2 T4 A B SUM CARRY HELD OUT'],
      ['counter 9', 'BIT1 BIT8 NINE A SUM OUT'],
    ],
  },
  {
    name: 'two and three by turns',
    symptom:
      'The counter goes to three and then by turns to two and to three, however slowly one counts. Any digit that is set by hand stays.',
    faults: [{ part: 'CTR/C4', mode: 'open' }],
    evening: [
      ['counter 0', `${RAILS} CNT BIT1 BIT1N BIT2 BIT2N BIT4 BIT4N BIT8 BIT8N`],
      ['counter 3', 'BIT1 BIT1N BIT2 BIT2N BIT4 BIT4N BIT8 A SUM'],
      ['5+3 bit 4', 'BIT1 BIT2 BIT2N BIT4 BIT4N BIT8 A SUM'],
    ],
    second: [
      ['counting from three', 'BIT1=moves,period,high,low BIT2=moves,period,rise,fall BIT4=moves BIT8=moves'],
    ],
    screens: [
      ['counting from three', 'BIT1 BIT2'],
      ['counting from three', 'BIT4 BIT8'],
    ],
  },
  {
    name: 'no eight',
    symptom:
      'After seven the counter is at nought, and the tens register does not step any more. Eight and nine set by hand stay, and step it.',
    faults: [{ part: 'CTR/Q8', mode: 'slow', amount: 12 }],
    evening: [
      ['counter 0', `${RAILS} CNT BIT1 BIT2 BIT4 BIT8 BIT8N NINE`],
      ['8+6 bit 2', 'BIT1 BIT2 BIT4 BIT8 BIT8N NINE A SUM'],
      ['counter 9', 'BIT1 BIT1N BIT2 BIT4 BIT8 BIT8N NINE A SUM'],
    ],
    second: [
      [
        'counting from three',
        'BIT1=moves,period,rise,fall BIT2=moves,period BIT4=moves BIT8=moves,rise,fall BIT8N=moves,rise,fall NINE=Vpp',
      ],
    ],
    screens: [
      ['counting from three', 'BIT1 BIT8'],
      ['counting from three', 'BIT2 BIT4'],
    ],
  },
  {
    name: 'clock stands',
    symptom:
      'Nothing is printed any more: the clock does not run. Stepped by hand it adds every sum rightly.',
    faults: [{ part: 'CLK/C1', mode: 'open' }],
    evening: [
      ['counter 0', `${RAILS} CK PH PHN P1 P2 K1 K2 T1 T2 T4 T8`],
      ['5+3 bit 4', 'CK PH P1 P2 K1 K2 T1 T4 A B SUM CARRY HELD OUT'],
    ],
    second: [['clock running', 'CK=moves,average OSC=moves,average OSCN=moves,average P1=moves P2=moves']],
    screens: [['clock running', 'OSC OSCN']],
  },
  {
    name: 'clock too fast',
    symptom:
      'The recorder leaves bits out, the more the colder it is, and its magnets sound higher than those of the north one. Stepped by hand all is right.',
    faults: [{ part: 'CLK/C2', mode: 'low-capacitance', amount: 0.2 }],
    evening: [
      ['counter 0', `${RAILS} CK PH PHN P1 P2 K1 K2 T1 T2 OUT`],
      ['7+5 bit 4', 'CK P2 T4 A B SUM CARRY HELD OUT'],
    ],
    second: [
      ['clock running', 'CK=moves,period,width,high,low,rise,fall P1=moves,high,low P2=moves,high,low'],
    ],
    screens: [
      ['clock running', 'CK P1'],
      ['clock running', 'OSC OSCN'],
    ],
  },
  {
    name: 'deaf at good levels',
    symptom:
      'Deaf to the float since last week. It counts from the TEST socket, and every voltage on the line board is as in the north one.',
    faults: [{ part: 'LNE/C4', mode: 'open' }],
    evening: [
      ['counter 0', `${RAILS} LINE CNT READ SLICE PULSEN PULSE LNE.Q1.c LNE.Q2.c`],
      ['counter 3', 'LINE CNT READ SLICE PULSE BIT1 BIT2'],
      ['line test', 'LINE CNT READ SLICE PULSEN PULSE TEST'],
    ],
    second: [['float pulse', 'LNE.Q1.c=moves,Vpp LNE.Q2.c=moves,Vpp READ=moves,Vpp SLICE=moves PULSE=moves']],
    screens: [
      ['float pulse', 'LNE.Q1.c LNE.Q2.c'],
      ['float pulse', 'READ PULSE'],
    ],
  },
];

/** The scenario whose folder is kept in the repository. */
export const DEFAULT_SCENARIO = SCENARIOS[0]!;
