import type { Condition, Drive, Hint } from '../../src/machine/index.ts';
import { signsOf, stepsOf } from './steps.ts';

/** Typical levels of a held logic net: volts. */
const MARK = -6.2;
const SPACE = -0.1;
/** A key or a switch with its cable, ohms. */
const CONTACT = 1;
/** The line to the float gauge and its closed contact, ohms. */
const LINE = 1200;

/** What a person sets up, in the machine's own terms; the test works out from it what the logic must show. */
export interface Setting {
  readonly name: string;
  /** The digit stepped into the counter, 0 to 9. */
  readonly count: number;
  /** The digit on the datum switches, 0 to 15. */
  readonly datum: number;
  /** Bit time: weight of the bit that is being added. */
  readonly bit: 1 | 2 | 4 | 8;
  /** Carry held from the bit before. */
  readonly held: boolean;
  /** Phase flip-flop: 1 or 2. */
  readonly phase: 1 | 2;
  /** Step key held down: the clock stands at mark and the phase's pulse is up. */
  readonly step: boolean;
  /** Clear key held down. */
  readonly clear: boolean;
  /** Contact of the float gauge closed. */
  readonly line: boolean;
  /** -6 V from the bench supply on the TEST socket of the line board. */
  readonly test: boolean;
  /** HOLD switch closed: counts are kept from the counter. */
  readonly hold: boolean;
}

/** Everything let go: counter and datum at 0, no carry, the first bit. */
export const REST: Omit<Setting, 'name'> = {
  count: 0,
  datum: 0,
  bit: 1,
  held: false,
  phase: 2,
  step: false,
  clear: false,
  line: false,
  test: false,
  hold: false,
};

/** The oscillator is stopped in all of them: what runs cannot be read with a meter. */
export const SETTINGS: readonly Setting[] = [
  { ...REST, name: 'clear held at P1', phase: 1, step: true, clear: true },
  { ...REST, name: 'counter 0' },
  { ...REST, name: 'counter 3', count: 3, phase: 1, line: true },
  { ...REST, name: '5+3 bit 1', count: 5, datum: 3 },
  { ...REST, name: '5+3 bit 2', count: 5, datum: 3, bit: 2, held: true, phase: 1 },
  { ...REST, name: '5+3 bit 4', count: 5, datum: 3, bit: 4, held: true, step: true },
  { ...REST, name: '5+3 bit 8', count: 5, datum: 3, bit: 8, held: true },
  { ...REST, name: '7+5 bit 4', count: 7, datum: 5, bit: 4, held: true, step: true, line: true },
  { ...REST, name: '8+6 bit 2', count: 8, datum: 6, bit: 2, phase: 1, step: true },
  { ...REST, name: 'counter 9', count: 9, bit: 8, line: true, hold: true },
  { ...REST, name: 'line test', test: true, line: true },
  { ...REST, name: 'line test on hold', phase: 1, test: true, hold: true },
];

/** The flip-flops' set sides and whether each is at mark. */
export function storedBits(s: Setting): readonly (readonly [string, boolean])[] {
  return [
    ['PH', s.phase === 1],
    ['K1', s.bit === 2 || s.bit === 8],
    ['K2', s.bit === 4 || s.bit === 8],
    ['BIT1', (s.count & 1) !== 0],
    ['BIT2', (s.count & 2) !== 0],
    ['BIT4', (s.count & 4) !== 0],
    ['BIT8', (s.count & 8) !== 0],
    ['HELD', s.held],
  ];
}

function drivesOf(s: Setting): readonly Drive[] {
  const drives: Drive[] = [{ net: 'STOP', volts: 0, ohms: CONTACT }];
  if (s.step) drives.push({ net: 'STEP', volts: 0, ohms: CONTACT });
  if (s.clear) drives.push({ net: 'CLRKEY', volts: 0, ohms: CONTACT });
  for (const weight of [1, 2, 4, 8])
    if ((s.datum & weight) === 0) drives.push({ net: `DAT${weight}`, volts: 0, ohms: CONTACT });
  if (s.line) drives.push({ net: 'LINE', volts: 0, ohms: LINE });
  if (s.test) drives.push({ net: 'TEST', volts: -6, ohms: 0 });
  if (s.hold) drives.push({ net: 'HOLD', volts: 0, ohms: CONTACT });
  return drives;
}

function hintsOf(s: Setting): readonly Hint[] {
  return storedBits(s).flatMap(([net, mark]) => [
    { net, volts: mark ? MARK : SPACE },
    { net: `${net}N`, volts: mark ? SPACE : MARK },
  ]);
}

/** The condition of the machine folder that a setting is. */
export function conditionOf(s: Setting): Condition {
  return { name: s.name, drives: drivesOf(s), hints: hintsOf(s), steps: stepsOf(s), note: signsOf(s) };
}
