/**
 * How parts fail: modes, their edits of a circuit at each severity, and how often they happen. Start with
 * `faultHypotheses(netlist)`; rates learn from the repairs on record by `repairedRates`; `runningShare` follows every fault in the states that
 * run. It weighs no reading.
 */
export {
  type Fault,
  failureRatesIn,
  faultHypotheses,
  faultsOfMode,
  type Hypothesis,
  type OpenPin,
} from './fault.ts';
export { failureRates, runningFailureRates, STAGE_RATE } from './priors.ts';
export {
  failureProbability,
  type GammaRate,
  meanRate,
  modalRate,
  rateAfter,
  rateDeviation,
  rateQuantile,
  relativeExposure,
  updatedRates,
} from './repair-history.ts';
export { type RepairedRates, repairedRates } from './repaired-rates.ts';
export { FIGURES, figureOf, LEAST_SWING, ROW, writeFigures } from './running/figures.ts';
export { type Course, courseLike, type SoundCourse, soundCourse } from './running/follow.ts';
export { isFollowable } from './running/span.ts';
export {
  drawnDeviations,
  isSeenRunningOnly,
  type RunningShare,
  RunningTable,
  runningShare,
  runsOf,
  SOLVES_OF_A_RUN,
  soundShare,
} from './running/table.ts';
export { type ExpectedWaves, expectedWaves } from './running/waves.ts';
