/**
 * The true physics of the trials: a small solver of its own, richer than the program's and written apart
 * from it. Start with `parameterTable`, `network` and `Solver`. It does not know the program.
 */
export { type Fault, type Network, network } from './network.ts';
export { type OperatingPoint, Solver } from './operating-point.ts';
export { type Parameter, type ParameterTable, parameterTable } from './parameters.ts';
export { sensitivities } from './sensitivity.ts';
