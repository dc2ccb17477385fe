/**
 * What a captured waveform is and says: its levels, edges and pulses by the published pulse standard, and where two of them
 * part. Start with a `Trace`. Reads no file format (that is `capture`) and knows nothing of circuits' faults or probabilities.
 */
export { instantAt, type LogicTrace, type Timebase, type Trace } from './trace.ts';
