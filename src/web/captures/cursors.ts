/** Two cursors in time: where they stand, what a trace reads there, and what lies between them. */

import { firstAtOrAfter, instantAt, type Trace } from '../../waveform/index.ts';
import type { Span } from './span.ts';

export interface Cursors {
  readonly a?: number;
  readonly b?: number;
}

export type CursorName = keyof Cursors;

/** The stretch between two cursors, whichever stands first; undefined for fewer. */
export function between({ a, b }: Cursors): Span | undefined {
  return a === undefined || b === undefined || a === b
    ? undefined
    : { from: Math.min(a, b), to: Math.max(a, b) };
}

/** A cursor put, or moved: within the whole. */
export function placed(cursors: Cursors, name: CursorName, instant: number, whole: Span): Cursors {
  return { ...cursors, [name]: Math.min(whole.to, Math.max(whole.from, instant)) };
}

/** On the straight line between the samples about an instant; NaN outside the trace and beside a gap. */
export function valueAt({ timebase, values }: Trace, instant: number): number {
  const after = firstAtOrAfter(timebase, values.length, instant);
  if (after === values.length) return Number.NaN;
  const t = instantAt(timebase, after);
  if (t === instant) return values[after]!;
  if (after === 0) return Number.NaN;
  const before = instantAt(timebase, after - 1);
  const share = (instant - before) / (t - before);
  return values[after - 1]! + share * (values[after]! - values[after - 1]!);
}
