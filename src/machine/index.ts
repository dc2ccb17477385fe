/**
 * The description of a machine: its parts and wires, the states it can be put in, where a probe can go, what has been read; and
 * the folder of plain files that holds it.
 *
 * Start with `readMachine`: the bytes of the files in, the machine and every fault in the files out. `writeMachine` gives the
 * texts back without loss, `machineFiles` those of a machine made elsewhere. It opens no file and computes no voltage.
 */
export { BUILT_IN_TYPES, GENERIC_TYPES } from './built-in-types.ts';
export {
  type CellTable,
  cellTable,
  cellTableText,
  rowFindings,
  SHEET_COLUMNS,
  standardCells,
} from './cell-table.ts';
export {
  MACHINE_FILES,
  type MachineDocument,
  type MachinePapers,
  type MachineSource,
  readMachine,
} from './document.ts';
export { type Finding, type FindingCode, formatFindings, type Severity } from './finding.ts';
export type {
  Board,
  Condition,
  DeviceType,
  Drive,
  FlowStage,
  Health,
  Hint,
  Instrument,
  Machine,
  Material,
  Part,
  PartKind,
  Pin,
  Point,
  Polarity,
  Rail,
  Reading,
  Repair,
  Unit,
} from './model.ts';
export { PART_KINDS } from './model.ts';
export { suggestion } from './nearest.ts';
export {
  boardsOf,
  DEFAULT_METER_OHMS,
  defaultPoints,
  instrumentNamed,
  netsOf,
  type PinOfPart,
  partNamed,
  pinNamed,
  pinNet,
  pinsByNet,
  pointNet,
  untracedBoards,
} from './nets.ts';
export { KIND_RULES } from './part-kinds.ts';
export { QUANTITIES, type Quantity, quantityOf, RUNNING_QUANTITIES } from './quantity.ts';
export { isRunning } from './running.ts';
export type { CaptureChannelRow, MachineCapture } from './sheets/captures.ts';
export type { LogEntry } from './sheets/log.ts';
export { LOG_KINDS, type LogKind } from './sheets/log.ts';
export type { BoardPhotograph } from './sheets/photographs.ts';
export type { Placement } from './sheets/placements.ts';
export { breaksOf, type DriveWave, type EdgeShape, nextBreak, voltsAt } from './wave/drive-wave.ts';
export {
  type CapturedWave,
  formatWave,
  type ParsedWave,
  parseWave,
  type WaveRefusal,
} from './wave/wave-text.ts';
export { machineFiles, writeMachine } from './write.ts';
