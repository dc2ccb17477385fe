/**
 * What each net of a circuit reads at DC, under any edit and any deviation of its parts, and how that moves with each
 * parameter; and the waveforms of its nets while drives move. Start with `netlistOf(machine)` and a `CircuitSolver` on it;
 * `transient` takes the solver. Knows nothing of faults, readings or probabilities, and keeps no files.
 */

export {
  breaksOf,
  type DriveWave,
  type EdgeShape,
  formatWave,
  nextBreak,
  type ParsedWave,
  parseWave,
  voltsAt,
  type WaveRefusal,
} from '../machine/index.ts';
export * from './devices/index.ts';
export { type Edit, joinedEdits } from './edit.ts';
export {
  entryAt,
  minimumDegreeOrder,
  type Pattern,
  patternOf,
  SparseLU,
  symbolicFactor,
} from './matrix/index.ts';
export {
  type Conductance,
  type JunctionElement,
  junctionAt,
  type Netlist,
  netlistOf,
  type Parameter,
  type ParameterKind,
  type PartElements,
  type TransistorElement,
} from './netlist.ts';
export {
  type Aid,
  CircuitSolver,
  type OperatingPoint,
  type SolveOptions,
} from './operating-point.ts';
export type { Sensitivities, SeverityElement } from './sensitivity.ts';
export { type FedNet, movingNets, stirs } from './transient/moving.ts';
export { type PeriodicState, type PeriodicTask, periodicState } from './transient/periodic.ts';
export {
  junctionStorage,
  type Storage,
  type StorageParameter,
  storageOf,
  transistorStorage,
  WINDING_COUPLING,
} from './transient/storage.ts';
export {
  type TimedDrive,
  type Transient,
  type TransientState,
  type TransientTask,
  transient,
} from './transient/transient.ts';
