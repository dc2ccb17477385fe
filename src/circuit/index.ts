/**
 * What each net of a circuit reads at DC, under any edit and any deviation of its parts, and how that moves with each
 * parameter. Start with `netlistOf(machine)` and a `CircuitSolver` on it. Knows nothing of faults, readings or
 * probabilities, and keeps no files.
 */

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
