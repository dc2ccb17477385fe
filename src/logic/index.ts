/**
 * The signal flow of a machine: for each net what drives it, the stages by their names in the trade, the loops, and which stage has good
 * inputs and a bad output.
 *
 * Start with `signalFlow(machine)`: from the circuit where it is traced, from flow.csv where it is not, and where the two do not agree.
 * `loopsOf` finds the loops and the places where each can be opened or held, `goodInputsBadOutput` goes from what looks good or bad to
 * stages, `wayBack` follows a point to the edge.
 *
 * It computes no voltage and weighs no probability; what it cannot know from the wiring it leaves open.
 */
export type { Drive, DriveWay } from './drives.ts';
export {
  type BadLoop,
  type BadOutput,
  badLoops,
  badOutputs,
  type FlowAnswer,
  goodInputsBadOutput,
  type Look,
  type Looks,
  type NextLook,
  type Reach,
} from './good-inputs.ts';
export {
  HELD_COLLECTOR_VOLTS,
  HELD_VOLTS,
  type Loop,
  loopsOf,
  MOST_HELD_VOLTS,
  mostVolts,
  type Place,
  type Ring,
} from './loops.ts';
export { type Contradiction, type SignalFlow, signalFlow } from './signal-flow.ts';
export type { GroupKind, Stage, StageGroup, StageKind } from './stages.ts';
export { type Graph, shortestRings, strongParts } from './strong-parts.ts';
export { type TwinDeparture, twinDepartures } from './twin-departures.ts';
export { type WayBackStep, wayBack } from './way-back.ts';
