/** The answers as a person reads them, from values made by hand. */

import { describe, expect, it } from 'vitest';
import { BUILT_IN_TYPES, type Machine, type Part } from '../../machine/index.ts';
import { Call, type Options } from '../call.ts';
import { comparisonLines } from './compare.ts';
import { nextLines } from './next.ts';
import { jsonSuspect, suspectLines } from './suspects.ts';

function part(name: string, kind: Part['kind'], type: string, pins: Record<string, string>): Part {
  const [board, ref] = name.split('/') as [string, string];
  const list = Object.entries(pins).map(([pin, net]) => ({ pin, net }));
  return { board, ref, name, kind, type, tolerance: 10, pins: list, note: '' };
}

const MACHINE: Machine = {
  name: 'Mill tally',
  summary: '',
  reference: '0V',
  ambient: 20,
  rails: [
    { net: '-12V', volts: -12, tolerance: 5 },
    { net: '+6V', volts: 6, tolerance: 5 },
  ],
  units: [
    { id: 'up', health: 'healthy' },
    { id: 'down', health: 'faulty' },
  ],
  instruments: [],
  parts: [
    part('TAL/Q1', 'transistor', 'KX3', { e: '0V', b: 'BASE', c: 'OUT' }),
    part('TAL/R1', 'resistor', '', { 1: '-12V', 2: 'OUT' }),
    part('TAL/D4', 'diode', 'KD1', { a: 'BASE', k: 'IN' }),
  ],
  types: BUILT_IN_TYPES,
  conditions: [{ name: 'held', drives: [], hints: [] }],
  points: [{ point: 'OUT', minutes: 1, note: 'Caution: next to the mains lugs' }],
  readings: ['OUT', 'BASE'].map((point) => ({
    unit: 'down',
    condition: 'held',
    point,
    quantity: 'V',
    value: -0.3,
    takenAt: '',
    instrument: '',
    note: '',
  })),
  flow: [],
};

function call(options: Options = {}, columns = 100): Call {
  const terminal = { columns, unicode: true, colours: false, out() {}, err() {}, progress: undefined };
  return new Call(['tally'], options, terminal, new AbortController().signal);
}

const DOWN = { unit: MACHINE.units[1]!, taken: false };

function reason(weight: number) {
  const at = { condition: 'held', point: 'OUT', quantity: 'V', value: -0.3 };
  return { ...at, sound: -11.5, soundSigma: 0.4, fault: -0.28, faultSigma: 0.02, weight };
}

const SHORT = {
  parts: ['TAL/Q1'],
  modes: ['short-ce'],
  severity: '',
  probability: 0.6,
  reasons: [reason(80), reason(-1.2)],
  indistinct: ['TAL/Q1:short-bc'],
};
const OPEN = {
  ...SHORT,
  parts: ['TAL/R1'],
  modes: ['open'],
  probability: 0.2,
  reasons: [reason(80)],
  indistinct: [],
};
const PAIR = {
  ...SHORT,
  parts: ['TAL/D4', 'TAL/Q1'],
  modes: ['open', 'leaky-bc'],
  severity: '1 kΩ',
  probability: 0.1,
  reasons: [{ ...reason(40), fault: -0.32 }],
  indistinct: [],
};
const DIAGNOSIS = {
  unit: 'down',
  suspects: [SHORT, OPEN, PAIR],
  unexplained: 0.07,
  sound: 0.03,
  setAside: [],
  drawing: [],
  notes: [],
};

describe('suspects', () => {
  it('rank, then say what speaks for and against each, what cannot be told apart, and what to see first', () => {
    expect(suspectLines(call(), MACHINE, { ...DOWN, diagnosis: DIAGNOSIS }).join('\n')).toBe(
      `
Mill tally: suspects in down from 2 readings.
TAL/Q1 70 %, whatever its mode.

  aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaabbbbbbbbbbbbbbbbbbbcccccccccc╱╱╱╱╱╱╱═══

  a   60 %  TAL/Q1             KX3, short, collector to emitter
  b   20 %  TAL/R1             resistor, open
  c   10 %  TAL/D4 and TAL/Q1  KD1, open; KX3, leaky, base to collector
       7 %  none of these      something that is not modelled
       3 %  sound              nothing is wrong

a  TAL/Q1: short, collector to emitter, 60 %
  speaks for it
    state  point   down  if sound                 if this
    held   OUT    −0.30    −11.50  ±0.40  28 off    −0.28  ±0.02  1.0 off
  speaks against it
    state  point   down  if sound                 if this
    held   OUT    −0.30    −11.50  ±0.40  28 off    −0.28  ±0.02  1.0 off
  No reading at a listed point can tell it from TAL/Q1 short, base to collector.
  Before unsoldering: power off, ohms from Q1.c to Q1.e, both ways: near 0 both ways is a short,
  unless another part bridges them.

b  TAL/R1: open, 20 %
  The same readings speak for it as for a, and as strongly.
  No reading speaks against it.
  Before unsoldering: power off, ohms across R1, both ways: more than the value stated proves it,
  less may be the circuit around it.

c  TAL/D4 and TAL/Q1: open; leaky, base to collector, 10 %
  speaks for it
    state  point   down  if sound                 if this
    held   OUT    −0.30    −11.50  ±0.40  28 off    −0.32  ±0.02  1.0 off
  No reading speaks against it.
  Before unsoldering: TAL/D4: bridge D4 with a good one of its kind, power on, and read again.
  Before unsoldering: TAL/Q1: power off, ohms from Q1.b to Q1.c, the way that should block; then
  warm the part by hand: leakage grows.

  Before the iron: power off, reservoirs discharged and measured, a second kind of evidence. Mains
  and high voltage are for qualified people; local rules decide.
`.trim(),
    );
  });

  it('say what was set aside, where the drawing is the suspect, which no reading parts, and any note', () => {
    const diagnosis = {
      ...DIAGNOSIS,
      setAside: [{ condition: 'held', point: 'BASE', value: 4, reason: 'a slip' }],
      drawing: [{ points: ['IN'], text: 'both units read the same at IN.' }],
      group: ['TAL/Q1:short-ce', 'TAL/Q1:short-bc'],
      notes: ['two readings left out'],
    };
    const lines = suspectLines(call(), MACHINE, { ...DOWN, diagnosis });
    expect(lines).toContain('  Set aside: BASE +4.00 V in "held": a slip. Read it again.');
    expect(lines).toContain('  The drawing is the suspect: both units read the same at IN.');
    expect(lines).toContain('  Two readings left out.');
    expect(lines.join(' ')).toContain(
      'No reading can part these any further: TAL/Q1 short, collector to emitter;',
    );
  });

  it.each([
    [
      { sound: 0.9, unexplained: 0.02 },
      'Nothing departs that a sound unit could not show: sound, 90 %.',
      'sound',
    ],
    [
      { sound: 0, unexplained: 0.95 },
      'None of these fits well: none of these, 95 %. Read a point on another board.',
      'none of these',
    ],
  ])('are led by what leads: %j', (shares, sentence, first) => {
    const suspects = [{ ...SHORT, probability: 0.05 }];
    const lines = suspectLines(call(), MACHINE, {
      ...DOWN,
      diagnosis: { ...DIAGNOSIS, ...shares, suspects },
    });
    expect(lines[1]).toBe(sentence);
    expect(lines[5]).toContain(` %  ${first} `);
  });

  it('of two parts at once name both', () => {
    const suspects = [{ ...PAIR, probability: 0.9 }];
    const lines = suspectLines(call(), MACHINE, { ...DOWN, diagnosis: { ...DIAGNOSIS, suspects } });
    expect(lines[1]).toBe('TAL/D4 90 %, TAL/Q1 90 %, whatever their modes.');
  });

  it('for other programs carry one part and mode, or two of each', () => {
    expect(jsonSuspect(SHORT)).toEqual({ part: 'TAL/Q1', mode: 'short-ce', probability: 0.6 });
    expect(jsonSuspect(PAIR)).toEqual({
      parts: ['TAL/D4', 'TAL/Q1'],
      modes: ['open', 'leaky-bc'],
      probability: 0.1,
    });
  });
});

describe('the next reading', () => {
  const would = [
    { suspect: 'TAL/Q1:short-ce', probability: 0.6, mean: -0.1, sigma: 0.03 },
    { suspect: 'TAL/R1:open', probability: 0.2, mean: -11, sigma: 0.5 },
    { suspect: 'sound', probability: 0.03, mean: -6, sigma: 0.3 },
    { suspect: 'none of these', probability: 0.07, mean: -6, sigma: 6 },
  ];
  const out = { condition: 'held', point: 'OUT', quantity: 'V', bits: 0.83, minutes: 1, caution: '', would };
  const pin = { ...out, point: 'TAL/Q1.c', minutes: 2.5 };
  const base = { ...out, point: 'BASE', bits: 0.2, minutes: 2.5, caution: 'under the lid' };

  it('names the place once for each wire, its worth and caution, and what each suspect would show', () => {
    const answer = { ...DOWN, diagnosis: DIAGNOSIS, readings: [out, pin, base] };
    expect(nextLines(call(), MACHINE, answer).join('\n')).toBe(
      `
Mill tally: what to read next on down.
TAL/Q1 70 %, whatever its mode.

1  Read OUT, or TAL/Q1.c, in "held"                                              0.83 bits, 1 minute
   CAUTION  OUT: next to the mains lugs
      if                                        would read         −12                  0       +6 V
   a  TAL/Q1 short, collector to emitter  60 %       −0.10  ±0.03                       a
   b  TAL/R1 open                         20 %      −11.00  ±0.50     b                 ┊
   ═  sound                                3 %       −6.00  ±0.30             ═         ┊
   ╱  none of these                        7 %       −6.00  ±6.00             ╱         ┊

2  Read BASE in "held"                                                        0.20 bits, 2.5 minutes
   under the lid
      if                                        would read         −12                  0       +6 V
   a  TAL/Q1 short, collector to emitter  60 %       −0.10  ±0.03                       a
   b  TAL/R1 open                         20 %      −11.00  ±0.50     b                 ┊
   ═  sound                                3 %       −6.00  ±0.30             ═         ┊
   ╱  none of these                        7 %       −6.00  ±6.00             ╱         ┊
`.trim(),
    );
  });

  it('names states that are as good, and stays in the one that the unit was last read in', () => {
    const readings = ['free', 'held', 'reset', 'set'].map((condition) => ({ ...out, condition }));
    const lines = nextLines(call(), MACHINE, { ...DOWN, diagnosis: DIAGNOSIS, readings });
    expect(lines.filter((line) => line.includes('Read '))).toEqual([
      '1  Read OUT in "held"                                                            0.83 bits, 1 minute',
    ]);
    expect(lines).toContain('   Nearly as good in "free", "reset" and 1 more.');
  });

  it('looks through the lens where the levels lie close together', () => {
    const near = would.slice(0, 2).map((one, i) => ({ ...one, mean: -6 - 0.2 * i, sigma: 0.02 }));
    const answer = { ...DOWN, diagnosis: DIAGNOSIS, readings: [{ ...base, would: near }] };
    const head = nextLines(call(), MACHINE, answer).find((line) => line.includes('would read'))!;
    expect(head).toMatch(/−6\.2 +−6\.1 +−6 V$/);
  });

  it('says what to see before unsoldering when one part is as good as sure', () => {
    const suspects = [{ ...SHORT, probability: 0.95 }];
    const answer = { ...DOWN, diagnosis: { ...DIAGNOSIS, suspects }, readings: [] };
    const text = nextLines(call(), MACHINE, answer).join('\n');
    expect(text).toContain('Before TAL/Q1 is unsoldered:\n  power off, ohms from Q1.c to Q1.e, both ways');
    expect(text).toContain('No reading at a listed point would part the suspects any further.');
  });

  it('names the group that no reading parts', () => {
    const diagnosis = { ...DIAGNOSIS, group: ['TAL/Q1:short-ce', 'TAL/R1:short'] };
    const lines = nextLines(call(), MACHINE, { ...DOWN, diagnosis, readings: [] });
    expect(lines.join(' ')).toContain(
      'No reading can part these: TAL/Q1 short, collector to emitter; TAL/R1 short.',
    );
  });
});

describe('the comparison', () => {
  const at = { condition: 'held', point: 'OUT', quantity: 'V' };
  const departures = [
    { ...at, value: -0.3, expected: -11.5, sigma: 0.4, z: 28, twin: -11.6 },
    { ...at, point: 'BASE', value: 1.5, expected: 0.5, sigma: 0.3, z: 3.3 },
    { ...at, point: 'IN', value: -6, expected: -6.01, sigma: 0.1, z: 0.1, twin: -6.02 },
  ];

  it('shows departures and doubts as strips, figures and words, and counts the rest', () => {
    expect(comparisonLines(call(), MACHINE, { ...DOWN, departures }).join('\n')).toBe(
      `
Mill tally: down against what a sound unit would read, beside up.
3 readings: 1 departs, 1 doubtful, 1 sound.

held
  point   −12                         0           +6 V    down      up   sound         off
  OUT     ╞═○═╡━━━━━━━━━━━━━━━━━━━━━━━▶                  −0.30  −11.60  −11.50  ±0.40   28  departs
  BASE                                ╞══╡●              +1.50           +0.50  ±0.30  3.3  doubtful

  ╞═╡ sound, 2 spreads either way   ○ up   • down, sound   ─● doubtful   ━▶ departs

  1 reading nearer to sound: --all shows them.

  CAUTION  OUT: next to the mains lugs
`.trim(),
    );
  });

  it('shows every reading when asked, a tie as a target', () => {
    const lines = comparisonLines(call({ all: true }), MACHINE, { ...DOWN, departures });
    expect(lines.find((line) => line.startsWith('  IN '))).toMatch(
      /╞◉╡ .* −6\.00 +−6\.02 +−6\.01 +±0\.10 +0\.1 +sound$/,
    );
  });

  it('says where the drawing is the suspect', () => {
    const drawn = departures.map((one) => ({ ...one, drawing: true }));
    const text = comparisonLines(call(), MACHINE, { ...DOWN, departures: drawn }).join('\n');
    expect(text).toContain('departs, drawing');
    expect(text).toContain('drawing: the healthy unit reads the same there');
  });

  it('says when there is nothing to compare', () => {
    expect(comparisonLines(call(), MACHINE, { ...DOWN, departures: [] }).at(-1)).toBe(
      'The folder has no reading of down that can be compared.',
    );
  });
});
