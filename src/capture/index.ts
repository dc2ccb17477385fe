/**
 * Captures as oscilloscopes, sound cards and logic analysers export them, read into traces: text tables, WAV and value-change
 * files, in pieces as they come. Start with `CaptureReading`, which takes a file of any kind; a text is understood from its first
 * bytes (`understoodCapture`), which a person may correct. Measures nothing, and opens no file: bytes are handed in.
 */
export type { LogicTrace, Trace } from '../waveform/index.ts';
export { type Capture, type CaptureReader, type CaptureResult, MOST_SAMPLES } from './capture.ts';
export { type CaptureKind, kindOfCapture } from './kind.ts';
export {
  CaptureReading,
  type CaptureWish,
  type ReadCapture,
  type UnderstoodCapture,
  understoodCapture,
} from './reading.ts';
export type { DecimalSign, Separator, TableRow } from './text/cells.ts';
export { asRemembered, understandingFaults } from './text/correction.ts';
export type { TextEncodingName } from './text/encoding.ts';
export { understandingFrom } from './text/kept.ts';
export type { GivenForm } from './text/layout.ts';
export { textReader } from './text/text-reader.ts';
export {
  type CaptureColumn,
  columnTitle,
  firstRows,
  HEAD_BYTES,
  type TextUnderstanding,
  textUnderstanding,
} from './text/understanding.ts';
export { type UnitWord, unitWord } from './text/unit-words.ts';
export { valueChangeReader } from './value-change.ts';
export { type WavScale, wavReader } from './wav.ts';
