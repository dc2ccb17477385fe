/**
 * What a captured waveform is and says: its levels, edges and pulses by the published pulse standard, and where two of them
 * part. Start with `measurement(trace)` for one trace; for two with `alignByCorrelation`, then `comparison`; for words on a line with
 * `wordComparison`; to draw, with a `Pyramid`. Reads no file format (that is `capture`) and knows nothing of circuits, faults or
 * probabilities.
 */
export type { Aberrations } from './aberrations.ts';
export type { State } from './bands.ts';
export {
  type Comparison,
  type ComparisonOptions,
  comparison,
  type Difference,
  type DifferenceKind,
  type NoComparison,
} from './comparison.ts';
export { alignByCorrelation } from './correlation-alignment.ts';
export { differenceTrace } from './difference.ts';
export { alignByEdges } from './edge-alignment.ts';
export { type EdgeOptions, type Edges, edgesOf } from './edges.ts';
export { type Estimate, isMeasured, type Measured, type Reason } from './estimate.ts';
export { firstAtOrAfter, type TimeWindow } from './extent.ts';
export { crossCorrelation } from './fourier.ts';
export { type LevelOptions, type StateLevels, stateLevels } from './levels.ts';
export { edgesOfLogic, type LogicOptions, logicEdges, logicTrace, stateAt } from './logic.ts';
export {
  type DelayOptions,
  delay,
  type Measurement,
  type MeasurementOptions,
  measurement,
  type TransitionMeasurement,
} from './measurement.ts';
export { type Bursts, type PulseOptions, type Pulses, pulses } from './pulses.ts';
export { type Columns, Pyramid } from './pyramid.ts';
export {
  type Alignment,
  type AlignmentOptions,
  COMMON_TRIGGER,
  inverseMap,
  mapped,
  type NoAlignment,
  type TimeMap,
} from './time-map.ts';
export { instantAt, type LogicTrace, type Timebase, type Trace } from './trace.ts';
export {
  type BitDifference,
  type BitTiming,
  inTimeOfFirst,
  type StateDifference,
  stateDifferences,
  type Word,
  type WordComparison,
  type WordFrame,
  wordComparison,
  words,
} from './words.ts';
