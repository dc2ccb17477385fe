/** Fit of a time map between two even series from a coarse scale to single samples. */

import type { Scales } from './even-series.ts';
import { type Fit, likeness, type SampleMap, timeFit } from './time-fit.ts';

/** Ratio of one scale to the next finer one. */
const FINER = 4;
/** Samples of a scale that one step of a fit moves by at most. */
const MOST_SHIFT = 2;

/** A difference of rates that is looked for: from a stretch that lies right, `known` samples about `centre`. */
export interface RateSought {
  readonly centre: number;
  readonly known: number;
  /** Largest difference of the rate from 1. */
  readonly most: number;
}

export interface ScaledFit extends Fit {
  readonly scale: number;
  /** Correlation coefficient of all pairs at this scale, and their number. */
  readonly likeness: number;
  readonly pairs: number;
}

/**
 * Fit at a scale of `scale` samples, at which the traces lie within half a pulse. Where the rate is sought, the stretch that lies right is
 * doubled until it is the whole.
 */
export function coarseAlignment(
  a: Scales,
  b: Scales,
  first: SampleMap,
  scale: number,
  sought: RateSought | undefined,
): ScaledFit | undefined {
  const [as, bs] = [a.at(scale), b.at(scale)];
  let map = toScale(first, scale);
  let fit: Fit | undefined;
  const stretches: [number, number][] = [];
  if (sought) {
    for (let half = sought.known / 2; half < a.values.length; half *= 2) {
      stretches.push([(sought.centre - half) / scale, (sought.centre + half) / scale]);
    }
  }
  stretches.push([0, as.length]);
  for (const [from, to] of stretches) {
    const next = timeFit(as, bs, map, Math.floor(from), Math.ceil(to), sought !== undefined, MOST_SHIFT);
    const held = next !== undefined && (!sought || Math.abs(next.map.rate - 1) <= 1.1 * sought.most);
    if (!held) continue;
    fit = next;
    map = next.map;
  }
  if (fit === undefined) return undefined;
  const shiftUncertainty = fit.shiftUncertainty * scale;
  return { ...fit, map: toSamples(map, scale), shiftUncertainty, scale, ...likeness(as, bs, map) };
}

/** The same fit at finer and finer scales, down to single samples. */
export function fineAlignment(a: Scales, b: Scales, from: ScaledFit, rateSought: boolean): ScaledFit {
  let { scale } = from;
  let fit: Fit = from;
  while (scale > 1) {
    scale = Math.max(1, Math.floor(scale / FINER));
    const [as, bs] = [a.at(scale), b.at(scale)];
    const next = timeFit(as, bs, toScale(fit.map, scale), 0, as.length, rateSought, MOST_SHIFT);
    if (next === undefined) continue;
    fit = { ...next, map: toSamples(next.map, scale), shiftUncertainty: next.shiftUncertainty * scale };
  }
  return { ...fit, scale: 1, ...likeness(a.values, b.values, fit.map) };
}

/** The mean of `scale` samples stands at their middle. */
function toScale({ start, rate }: SampleMap, scale: number): SampleMap {
  return { start: (start + ((rate - 1) * (scale - 1)) / 2) / scale, rate };
}

function toSamples({ start, rate }: SampleMap, scale: number): SampleMap {
  return { start: start * scale - ((rate - 1) * (scale - 1)) / 2, rate };
}
