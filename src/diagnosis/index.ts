/**
 * Departures, suspects and the next reading: what the readings of a unit mean. Start with `faultTable`, then a `Reckoning` for the unit.
 * Takes readings as plain values and gives plain values; stores nothing and draws nothing.
 */
export { Baseline } from './baseline.ts';
export {
  type BlackBox,
  type BlackBoxDiagnosis,
  BlackBoxNetwork,
  type BlackBoxReckoning,
  type Observations,
} from './black-box.ts';
export {
  type Departure,
  departures,
  type Expectation,
  type ExpectationQuery,
  expectations,
  type NoPoint,
} from './expectation.ts';
export { type Component, entropyBits, informationBits } from './next-reading.ts';
export type { NextReading } from './reading-choice.ts';
export {
  CONFIDENT,
  type Diagnosis,
  type Reason,
  Reckoning,
  type Suspect,
} from './reckoning.ts';
export { cholesky, type Evidence, robustEvidence, type Tails } from './robust-evidence.ts';
export { type Coupling, type GaussianDatum, type Row, rowTimes, SparseGaussian } from './sparse-gaussian.ts';
export { FaultTable, faultTable, type TableShare, tableKey, tableShare } from './table.ts';
export { soundBaseline, type UnitLevel, type UnitLevels, unitLevels } from './unit-levels.ts';
