/**
 * How parts fail: modes, their edits of a circuit at each severity, and how often they happen. Start with
 * `faultHypotheses(netlist)`. It solves nothing and weighs no reading.
 */
export { type Fault, faultHypotheses, faultsOfMode, type Hypothesis, type OpenPin } from './fault.ts';
export { failureRates, STAGE_RATE } from './priors.ts';
