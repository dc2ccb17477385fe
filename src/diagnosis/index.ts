/**
 * Departures, suspects and the next reading: what the readings of a unit mean. Start with `faultTable`, then a `Reckoning` for the unit.
 * Takes readings as plain values and gives plain values; stores nothing and draws nothing.
 */
export { Baseline } from './baseline.ts';
export {
  type Departure,
  departures,
  type Expectation,
  type ExpectationQuery,
  expectations,
  type NoPoint,
} from './expectation.ts';
export { entropyBits, informationBits } from './next-reading.ts';
export {
  CONFIDENT,
  type Diagnosis,
  type NextReading,
  type Reason,
  Reckoning,
  type Suspect,
} from './reckoning.ts';
export { cholesky, robustEvidence } from './robust-evidence.ts';
export { FaultTable, faultTable, type TableShare, tableKey, tableShare } from './table.ts';
