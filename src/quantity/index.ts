/**
 * Quantities as people write them on parts, drawings and reading sheets.
 *
 * Start with `parseValue`: it turns `4.7k`, `4K7`, `-11.8` or `22 nF` into a number, or says why it cannot;
 * `formatValue` is the way back to people. Beside them stand the markings of parts, letter codes and colour bands, both ways,
 * the preferred values, tolerance letters, and intervals. A reader of text (`parseValue`, `valueFrom…`,
 * `toleranceFromLetter`) answers a `Parsed` and does not throw; a writer throws a RangeError for what cannot be written.
 *
 * It does not judge whether a value is likely for its part, and knows nothing of statistics.
 */
export {
  type BandedValue,
  type BandOptions,
  bandsFromValue,
  COLOURS,
  type Colour,
  valueFromBands,
} from './colour-bands.ts';
export { formatValue } from './format.ts';
export { Interval } from './interval.ts';
export { type CodedKind, type CodedValue, letterCode, valueFromLetterCode } from './letter-code.ts';
export { nearestPreferred, preferredValues, type Series } from './preferred.ts';
export type { Parsed, Refusal, RefusalCode } from './refusal.ts';
export { letterFromTolerance, type Tolerance, toleranceFromLetter } from './tolerance.ts';
export type { UnitSymbol } from './unit.ts';
export { parseValue, type ValueOptions } from './value.ts';
