/** Alignment of two traces by their edges. */

import type { Edges } from './edges.ts';
import type { Alignment, AlignmentOptions, NoAlignment, TimeMap } from './time-map.ts';

/** Edges of the first trace from which a match is tried, and edges that must follow alike. */
const ANCHORS = 12;
const FOLLOWING = 32;
/** Edges of the second trace at most that are tried against each. */
const TRIED = 4_000;
/** Edges are alike within this share of the usual interval … */
const ALIKE = 0.25;
const ROUNDS = 6;
const LEAST_LIKENESS = 0.3;

/**
 * The time map under which most edges find their like, of the same direction, by least squares over the pairs.
 *
 * It needs no samples, so that it serves where levels differ much; missing and extra edges are left without a partner.
 */
export function alignByEdges(
  first: Edges,
  second: Edges,
  options: AlignmentOptions = {},
): Alignment | NoAlignment {
  const none = first.reason ?? second.reason;
  if (none) return { reason: none === 'no samples' ? none : 'one level only' };
  const most = options.rate ?? 0;
  const intervals = Float64Array.from(
    { length: Math.max(0, first.count - 1) },
    (_, i) => first.mid[i + 1]! - first.mid[i]!,
  ).sort();
  const usual = intervals[intervals.length >> 2] ?? Number.POSITIVE_INFINITY;
  const tolerance = usual < Number.POSITIVE_INFINITY ? ALIKE * usual : 1;

  let best = { score: 0, offset: 0, anchor: 0 };
  let rival = best;
  const window = Math.min(FOLLOWING, first.count);
  const anchors = Math.min(ANCHORS, first.count);
  for (let n = 0; n < anchors; n++) {
    const i = Math.floor(((first.count - window) * n) / Math.max(1, anchors - 1));
    const stride = Math.max(1, Math.floor(second.count / TRIED));
    for (let j = 0; j < second.count; j += stride) {
      if (first.rising[i] !== second.rising[j]) continue;
      const offset = second.mid[j]! - first.mid[i]!;
      if (options.within !== undefined && Math.abs(offset) > options.within) continue;
      const score = alike(first, second, i, window, j, most, tolerance);
      const nearer = score === best.score && Math.abs(offset) < Math.abs(best.offset) - tolerance;
      if (score > best.score || nearer) {
        if (Math.abs(offset - best.offset) > usual && best.score > 0) rival = best;
        best = { score, offset, anchor: i };
      } else if (score > rival.score && Math.abs(offset - best.offset) > usual) {
        rival = { score, offset, anchor: i };
      }
    }
  }
  if (best.score < LEAST_LIKENESS * window) return { reason: 'nothing alike' };

  let map: TimeMap = { offset: best.offset, rate: 1 };
  let [spread, pairs, squares] = [0, 0, 0];
  let span = window;
  for (let round = 0; round < ROUNDS || span < 2 * first.count; round++, span *= 2) {
    const centre = best.anchor + window / 2;
    const [from, to] = [
      Math.max(0, Math.floor(centre - span)),
      Math.min(first.count, Math.ceil(centre + span)),
    ];
    const matched = matches(first, second, map, tolerance, from, to);
    const fit = line(first, second, matched, most);
    if (fit === undefined) break;
    ({ map, spread, squares } = fit);
    pairs = matched.length;
  }
  const whole = matches(first, second, map, tolerance, 0, first.count);
  const common = {
    from: (second.mid[0]! - map.offset) / map.rate,
    to: (second.mid[second.count - 1]! - map.offset) / map.rate,
  };
  const overlapping = first.mid.filter((t) => t >= common.from - usual && t <= common.to + usual).length;
  if (overlapping === 0) return { reason: 'no overlap' };
  const noise = Math.hypot(
    first.instantNoise,
    second.instantNoise,
    first.instantResolution,
    second.instantResolution,
  );
  const sigma = Math.max(spread, noise);
  return {
    map,
    offsetUncertainty: sigma / Math.sqrt(Math.max(1, pairs)),
    rateUncertainty: most > 0 && squares > 0 ? sigma / Math.sqrt(squares) : 0,
    likeness: Math.min(1, whole.length / overlapping),
    ...(rival.score >= 0.95 * best.score ? { rival: rival.offset } : {}),
  };
}

/** Edges that follow anchor `i` and have their like behind `j`, within a tolerance that grows with the time and the rate allowed. */
function alike(
  first: Edges,
  second: Edges,
  i: number,
  window: number,
  j: number,
  most: number,
  tolerance: number,
): number {
  let score = 0;
  let k = j;
  for (let n = i; n < Math.min(first.count, i + window); n++) {
    const since = first.mid[n]! - first.mid[i]!;
    const within = Math.min(2 * tolerance, tolerance / 2 + most * since);
    const at = second.mid[j]! + since;
    while (k < second.count && second.mid[k]! < at - within) k++;
    for (let m = k; m < second.count && second.mid[m]! <= at + within; m++) {
      if (second.rising[m] !== first.rising[n]) continue;
      score++;
      break;
    }
  }
  return score;
}

/** Pairs of edges, each the nearest of its direction within the tolerance, in the order of time and none twice. */
export function matches(
  first: Edges,
  second: Edges,
  { offset, rate }: TimeMap,
  tolerance: number,
  from = 0,
  to = first.count,
): (readonly [number, number])[] {
  const pairs: [number, number][] = [];
  let j = 0;
  for (let i = from; i < to; i++) {
    const at = offset + rate * first.mid[i]!;
    while (j < second.count && second.mid[j]! < at - tolerance) j++;
    let best = -1;
    for (let k = j; k < second.count && second.mid[k]! <= at + tolerance; k++) {
      if (second.rising[k] !== first.rising[i]) continue;
      if (best < 0 || Math.abs(second.mid[k]! - at) < Math.abs(second.mid[best]! - at)) best = k;
    }
    if (best < 0) continue;
    pairs.push([i, best]);
    j = best + 1;
  }
  return pairs;
}

/** Least-squares line through the pairs, its rate held within the limit; the median residual bounds what is weighed. */
function line(
  first: Edges,
  second: Edges,
  pairs: readonly (readonly [number, number])[],
  most: number,
): { map: TimeMap; spread: number; squares: number } | undefined {
  if (pairs.length === 0) return undefined;
  let used = pairs;
  let map: TimeMap = { offset: 0, rate: 1 };
  let [spread, squares] = [0, 0];
  for (let round = 0; round < 2; round++) {
    let [sx, sd] = [0, 0];
    for (const [i, j] of used) {
      sx += first.mid[i]!;
      sd += second.mid[j]! - first.mid[i]!;
    }
    const [mx, md] = [sx / used.length, sd / used.length];
    let [sxx, sxd] = [0, 0];
    for (const [i, j] of used) {
      const x = first.mid[i]! - mx;
      sxx += x * x;
      sxd += x * (second.mid[j]! - first.mid[i]! - md);
    }
    const slope = most > 0 && sxx > 0 ? Math.max(-most, Math.min(most, sxd / sxx)) : 0;
    map = { offset: md - slope * mx, rate: 1 + slope };
    const off = ([i, j]: readonly [number, number]): number =>
      Math.abs(second.mid[j]! - map.offset - map.rate * first.mid[i]!);
    spread = Math.sqrt(used.reduce((sum, pair) => sum + off(pair) ** 2, 0) / Math.max(1, used.length - 2));
    squares = sxx;
    const sorted = Float64Array.from(used, off).sort();
    const bound = 4 * 1.4826 * sorted[sorted.length >> 1]!;
    const near = used.filter((pair) => off(pair) <= bound);
    if (near.length < 3 || near.length === used.length) break;
    used = near;
  }
  return { map, spread, squares };
}
