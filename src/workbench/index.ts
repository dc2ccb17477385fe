/**
 * What a person does with a machine, one function each: check its folder, compare two units, ask for the suspects, the next
 * reading, the levels of a sound unit or of a fault, write the demo out. The command line and the page call these and
 * nothing below. Start with `openFolder(path)`, then for example `suspectsOf(machine, unit)`.
 *
 * The fault table is computed here in worker threads and kept in the person's cache folder. Nothing is printed.
 */
export { CONFIDENT } from '../diagnosis/index.ts';
export { type ChannelCorrection, channelNamed } from './capture-correction.ts';
export {
  type CaptureCorrections,
  type CaptureFile,
  type CaptureHead,
  captureHead,
  type FileWork,
  openCapture,
} from './capture-file.ts';
export { type CaptureTaking, type TakenCaptureFile, takeCaptureFile } from './capture-taking.ts';
export { cautionAt } from './caution.ts';
export { chosenCondition, type FaultName, type UnitChoice } from './choice.ts';
export { compareUnit, type UnitComparison } from './compare.ts';
export { confirmation } from './confirmation.ts';
export { demoFiles, writeDemo } from './demo.ts';
export { Desk, type DeskMachine, type DeskOptions, type TableState } from './desk.ts';
export type { TableWork } from './fault-table.ts';
export {
  chosenBoard,
  chosenNet,
  judgedFlow,
  type MachineFlow,
  machineFlow,
  placeCaution,
  type UnitFlow,
  unitFlow,
} from './flow.ts';
export {
  badLoopWords,
  contradictionWords,
  driveWords,
  HOLD_CAUTION,
  loopWords,
  namedWords,
  openWords,
  placeWords,
  REGULATOR_WORDS,
  stageWords,
} from './flow-words.ts';
export { checkFolder, type FolderCheck, type MachinePlace, type OpenFolder, openFolder } from './folder.ts';
export {
  expectationsOf,
  type Level,
  type Levels,
  soundLevels,
  type WhatIf,
  type WhatIfLevel,
  whatIf,
} from './levels.ts';
export { programMark } from './program.ts';
export type { UnitAnswer } from './reckoner.ts';
export {
  backUp,
  exportMachine,
  importMachine,
  type RecordedMachine,
  recordedTables,
  restore,
} from './recorded-machine.ts';
export { type NextAnswer, nextReadings, type SuspectsAnswer, suspectsOf } from './suspects.ts';
export { type AlignBy, type ChannelMatch, captureMatch, type Match, type MatchWish } from './trace-match.ts';
export { type PredictedWaves, predictedWaves, type WaveQuery } from './waves.ts';
export { modeWords, suspectWords, type Verdict, verdict } from './words.ts';
