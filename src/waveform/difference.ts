/** The second of two aligned traces less the first, and where it leaves the tolerances. */

import { positionOf, valueAt } from './even-series.ts';
import { mapped, type TimeMap } from './time-map.ts';
import { instantAt, type Trace } from './trace.ts';

/** At the first trace's instants: second less first; NaN where either has nothing. For drawing, and for how much they differ. */
export function differenceTrace(first: Trace, second: Trace, map: TimeMap): Trace {
  const { timebase } = first;
  const values = new Float32Array(first.values.length);
  const even = !('stamps' in second.timebase);
  const other = second.values;
  for (let i = 0; i < values.length; i++) {
    const t = mapped(map, instantAt(timebase, i));
    if (!even) {
      values[i] = valueAt(second, t) - first.values[i]!;
      continue;
    }
    const p = positionOf(second, t);
    // A hair beyond the last sample is the last sample: instants are rounded.
    const j = Math.min(other.length - 2, Math.max(0, Math.floor(p)));
    const share = p - j;
    values[i] =
      share < -1e-6 || share > 1 + 1e-6
        ? Number.NaN
        : other[j]! + (share === 0 ? 0 : (other[j + 1]! - other[j]!) * share) - first.values[i]!;
  }
  return { name: `${second.name} - ${first.name}`, unit: first.unit, timebase, values };
}

/** Stretches in which a trace leaves the other's envelope, in the first trace's seconds. */
export interface Departure {
  from: number;
  to: number;
}

/**
 * Where samples of `x` lie outside what `y` does within the timing tolerance, widened by the amplitude tolerance:
 *
 *     min y(t' - tau .. t' + tau) - v  <=  x(t)  <=  max y(t' - tau .. t' + tau) + v,        t' = map(t)
 *
 * Samples beside gaps, and beyond the end of `y`, are not judged. The running minimum and maximum cost a constant time a sample.
 *
 * @source D. Lemire, Nordic Journal of Computing 13 (2006) 328-339, for the two queues (from memory)
 */
export function departures(x: Trace, y: Trace, map: TimeMap, volts: number, seconds: number): Departure[] {
  const found: Departure[] = [];
  const size = y.values.length;
  if (size < 2) return found;
  const lows = new Uint32Array(size);
  const highs = new Uint32Array(size);
  let [lowFirst, lowEnd, highFirst, highEnd] = [0, 0, 0, 0];
  let [first, next, gap] = [0, 0, -1];
  let open = false;
  const last = instantAt(y.timebase, size - 1);
  const start = instantAt(y.timebase, 0);
  const values = y.values;
  const after = 1e-6 * (instantAt(y.timebase, 1) - start);
  let before = Number.NaN;
  for (let i = 0; i < x.values.length; i++) {
    const t = instantAt(x.timebase, i);
    const at = mapped(map, t);
    const v = x.values[i]!;
    if (at < start - after || at > last + after) {
      open = false;
      continue;
    }
    // Samples up to the first one past the tolerance, from the last one before it.
    while (next < size && (next === 0 || instantAt(y.timebase, next - 1) < at + seconds)) {
      const w = values[next]!;
      if (w - w !== 0) gap = next;
      while (lowEnd > lowFirst && values[lows[lowEnd - 1]!]! >= w) lowEnd--;
      while (highEnd > highFirst && values[highs[highEnd - 1]!]! <= w) highEnd--;
      lows[lowEnd++] = next;
      highs[highEnd++] = next++;
    }
    while (first + 1 < next && instantAt(y.timebase, first + 1) <= at - seconds) first++;
    while (lowFirst < lowEnd && lows[lowFirst]! < first) lowFirst++;
    while (highFirst < highEnd && highs[highFirst]! < first) highFirst++;
    const judged = v - v === 0 && gap < first;
    const off = judged && (v > values[highs[highFirst]!]! + volts || v < values[lows[lowFirst]!]! - volts);
    if (off && open) found[found.length - 1]!.to = t;
    else if (off) found.push({ from: Number.isNaN(before) ? t : (before + t) / 2, to: t });
    else if (open) found[found.length - 1]!.to = (found[found.length - 1]!.to + t) / 2;
    open = off;
    before = t;
  }
  return found;
}
