/** One channel of a capture as the rest of the program sees it, whatever instrument and file it came from. */

/**
 * Values at instants in rising order. `NaN` stands where the instrument recorded nothing or was out of its range.
 * Single precision: 24 bits are more than any oscilloscope resolves, and ten million samples stay at 40 MB.
 */
export interface Trace {
  /** As the file names the channel. */
  readonly name: string;
  /** `V`, `A` or empty where the file does not say. */
  readonly unit: string;
  readonly timebase: Timebase;
  readonly values: Float32Array;
}

/** Instants of the samples, seconds from the trigger: evenly spaced, or a stamp for each sample. */
export type Timebase = { readonly start: number; readonly step: number } | { readonly stamps: Float64Array };

/** One signal of a logic capture: its state from each instant to the next. */
export interface LogicTrace {
  readonly name: string;
  /** Bits; 1 for a single line. */
  readonly width: number;
  /** Seconds, rising. */
  readonly instants: Float64Array;
  /** `0`, `1`, `x` (unknown) and `z` (not driven), `width` letters each, most significant first. */
  readonly states: readonly string[];
  /** Seconds; the last state lasts until here. */
  readonly end: number;
}

/** Seconds of sample `i` of a trace. */
export function instantAt(timebase: Timebase, i: number): number {
  return 'stamps' in timebase ? (timebase.stamps[i] ?? Number.NaN) : timebase.start + i * timebase.step;
}
