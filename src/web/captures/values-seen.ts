import { mapped } from '../../waveform/index.ts';
import type { Lane } from './picture.ts';
import type { Span } from './span.ts';

/** Least and greatest value of a lane within what is seen; those of the whole where nothing is. */
export function valuesSeen(
  lane: Lane,
  span: Span,
  width: number,
): { readonly low: number; readonly high: number } {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { pyramid, map } of lane.traces) {
    const columns = pyramid.columns(
      mapped(map, span.from),
      mapped(map, span.to),
      Math.max(1, Math.floor(width)),
    );
    columns.min.forEach((min, c) => {
      if (min < low) low = min;
      if (columns.max[c]! > high) high = columns.max[c]!;
    });
  }
  return low <= high ? { low, high } : lane;
}
