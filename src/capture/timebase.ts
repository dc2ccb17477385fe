/** Instants of samples as a start and a step, where they are evenly spaced. */

import type { Timebase } from '../waveform/index.ts';

/** An evenly spaced stamp is off its place by less than this share of a step, besides the rounding of its digits. */
const EVEN_SHARE = 0.01;
/** However coarse the digits: a stamp further off than this share of a step is no rounding. */
const ROUNDED_SHARE = 0.25;

/**
 * Evenly spaced where every stamp is within 1 % of a step, and half a unit of the last digit that is written but at most a quarter
 * of a step, from the straight line between the first and the last; else the stamps themselves.
 *
 * @param stamps    seconds, rising, two at least
 * @param rounding  half a unit of the last written digit, seconds
 */
export function timebaseOf(stamps: Float64Array, rounding: number): Timebase {
  const start = stamps[0]!;
  const step = (stamps.at(-1)! - start) / (stamps.length - 1);
  const allowed = Math.min(EVEN_SHARE * step + rounding, ROUNDED_SHARE * step);
  for (let i = 1; i < stamps.length; i++) {
    if (!(Math.abs(stamps[i]! - start - i * step) <= allowed)) return { stamps };
  }
  return { start, step };
}
