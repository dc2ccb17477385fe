import { type Parsed, quoted, refusal } from './refusal.ts';

/** How far a part may lie from its marked value; both sides as positive numbers, in percent or picofarads. */
export interface Tolerance {
  readonly below: number;
  readonly above: number;
  readonly unit: '%' | 'pF';
}

const percent = (below: number, above = below): Tolerance => ({ below, above, unit: '%' });
const picofarads = (size: number): Tolerance => ({ below: size, above: size, unit: 'pF' });

/** Tolerance letters. Source: IEC 60062, from memory; Q T S Z are for capacitors. */
const LETTERS: Readonly<Record<string, Tolerance>> = {
  E: percent(0.005),
  L: percent(0.01),
  P: percent(0.02),
  W: percent(0.05),
  B: percent(0.1),
  C: percent(0.25),
  D: percent(0.5),
  F: percent(1),
  G: percent(2),
  H: percent(3),
  J: percent(5),
  K: percent(10),
  M: percent(20),
  N: percent(30),
  Q: percent(10, 30),
  T: percent(10, 50),
  S: percent(20, 50),
  Z: percent(20, 80),
};

/** The same letters on a capacitor below 10 pF are picofarads. Source: IEC 60062, from memory. */
const SMALL_LETTERS: Readonly<Record<string, Tolerance>> = {
  B: picofarads(0.1),
  C: picofarads(0.25),
  D: picofarads(0.5),
  F: picofarads(1),
  G: picofarads(2),
};
const SMALL = 10e-12;

/** The letters that hold for a capacitor of `farads`, or for any other part when that is not given. */
function letters(farads: number | undefined): Readonly<Record<string, Tolerance>> {
  return farads !== undefined && farads < SMALL ? { ...LETTERS, ...SMALL_LETTERS } : LETTERS;
}

/**
 * The tolerance that a letter stands for.
 *
 * Period parts: the letters came into use in the course of the 1960s; older parts print the percentage, or
 * a letter of their maker's own (common practice, no source).
 *
 * @param farads  the marked value when the part is a capacitor: below 10 pF some letters mean picofarads
 */
export function toleranceFromLetter(letter: string, farads?: number): Parsed<Tolerance> {
  const known = letters(farads);
  if (Object.hasOwn(known, letter)) return { ok: true, value: known[letter]! };
  return refusal(
    'unknown-letter',
    `tolerance letter ${quoted(letter)} not known: one of ${Object.keys(known).join(' ')}`,
  );
}

/** The letter for a tolerance (a bare number is percent either way), or `undefined` where there is none. */
export function letterFromTolerance(tolerance: Tolerance | number, farads?: number): string | undefined {
  const wanted = typeof tolerance === 'number' ? percent(tolerance) : tolerance;
  const found = Object.entries(letters(farads)).find(
    ([, { below, above, unit }]) => below === wanted.below && above === wanted.above && unit === wanted.unit,
  );
  return found?.[0];
}
