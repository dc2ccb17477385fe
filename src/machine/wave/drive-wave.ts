/**
 * What a drive is in time: its volts at an instant, and the instants at which it has a corner, where an integration
 * must begin anew. Plain values that can be kept as JSON.
 */

/** How a pulse or a bit goes from one level to the other. */
export interface EdgeShape {
  /** `linear`: from one level to the other in `rise` or `fall` seconds. `exponential`: `rise` and `fall` are time constants. */
  readonly edge: 'linear' | 'exponential';
  /** Seconds, towards `high`. */
  readonly rise: number;
  /** Seconds, towards `low`. */
  readonly fall: number;
}

/** Seconds and volts. `negative`: the pulse goes from `high` to `low`, a 1 is at `low`. */
export type DriveWave =
  | { readonly kind: 'constant'; readonly volts: number }
  | ({
      readonly kind: 'pulses';
      readonly low: number;
      readonly high: number;
      readonly negative?: boolean;
      /** Instant of the first pulse's first edge. */
      readonly delay: number;
      /** From the begin of a pulse's first edge to the begin of its second. */
      readonly width: number;
      readonly period: number;
      /** Left out: endless. */
      readonly count?: number;
    } & EdgeShape)
  | ({
      readonly kind: 'bits';
      /** `0` and `1`, first in time first. */
      readonly bits: string;
      readonly bit: number;
      readonly low: number;
      readonly high: number;
      readonly negative?: boolean;
      /** Instant at which the first bit begins; before it stands the first bit's level. */
      readonly delay: number;
      /** Begins again after the last bit; otherwise the last bit's level stays. */
      readonly repeat?: boolean;
    } & EdgeShape)
  | {
      readonly kind: 'samples';
      /** Rising, at least one; before the first and after the last the level stays. */
      readonly instants: ArrayLike<number>;
      readonly volts: ArrayLike<number>;
      /** Begins again with the last instant, which is then the first one's again. */
      readonly repeat?: boolean;
    };

/** Pulse trains and bit patterns: levels that are left by edges. */
type Edged = Extract<DriveWave, { kind: 'pulses' | 'bits' }>;

/** No edge is steeper: an edge of no duration takes so long, seconds. Far below what parts of the period follow. */
export const LEAST_EDGE = 1e-9;
/** An exponential edge that is so many time constants old has arrived. */
const ARRIVED = 40;
/** A corner of a sampled wave that is not worth a new start, share of the wave's span. */
const FLAT_CORNER = 0.01;

/** Whether the wave is at its `high` after edge `k` (counted from 0; -1: before the first). */
function isHighAfter(wave: Edged, k: number): boolean {
  if (wave.kind === 'pulses') return (k >= 0 && k % 2 === 0) !== (wave.negative === true);
  const { bits, repeat } = wave;
  const n = bits.length;
  const at = k < 0 ? 0 : repeat ? k % n : Math.min(k, n - 1);
  return (bits.charCodeAt(at) === 49) !== (wave.negative === true);
}

/** Instant at which edge `k` begins. For bits every bit begins with an edge, be it between two equal levels. */
function edgeInstant(wave: Edged, k: number): number {
  if (wave.kind === 'bits') return wave.delay + k * wave.bit;
  return wave.delay + Math.floor(k / 2) * wave.period + (k % 2 === 0 ? 0 : wave.width);
}

function lastEdge(wave: Edged): number {
  if (wave.kind === 'bits') return wave.repeat ? Infinity : wave.bits.length - 1;
  return wave.count === undefined ? Infinity : 2 * wave.count - 1;
}

/** Number of the last edge that has begun at `t` (an edge begins at its instant); -1 for none. */
function edgeAt(wave: Edged, t: number): number {
  let k: number;
  if (wave.kind === 'bits') k = Math.floor((t - wave.delay) / wave.bit);
  else {
    const pulse = Math.floor((t - wave.delay) / wave.period);
    k = 2 * pulse + (t >= edgeInstant(wave, 2 * pulse + 1) ? 1 : 0);
  }
  // Rounding of the division must not put an edge's own instant before it.
  if (t >= edgeInstant(wave, k + 1)) k++;
  else if (k >= 0 && t < edgeInstant(wave, k)) k--;
  return Math.max(-1, Math.min(k, lastEdge(wave)));
}

function levelAfter(wave: Edged, k: number): number {
  return isHighAfter(wave, k) ? wave.high : wave.low;
}

function edgeSeconds(wave: Edged, k: number): number {
  return Math.max(isHighAfter(wave, k) ? wave.rise : wave.fall, LEAST_EDGE);
}

function edgedVolts(wave: Edged, t: number): number {
  const k = edgeAt(wave, t);
  if (k < 0) return levelAfter(wave, -1);
  if (wave.edge === 'linear') {
    const part = (t - edgeInstant(wave, k)) / edgeSeconds(wave, k);
    const from = levelAfter(wave, k - 1);
    const to = levelAfter(wave, k);
    return part >= 1 ? to : from + (to - from) * part;
  }
  // Back to where nothing is left of what was before, then forward again.
  let first = k;
  for (let age = 0, end = t; ; first--) {
    const begin = edgeInstant(wave, first);
    age += (end - begin) / edgeSeconds(wave, first);
    end = begin;
    if (first === 0 || age > ARRIVED) break;
  }
  let volts = levelAfter(wave, first - 1);
  for (let i = first; i <= k; i++) {
    const end = i === k ? t : edgeInstant(wave, i + 1);
    const to = levelAfter(wave, i);
    volts = to + (volts - to) * Math.exp(-(end - edgeInstant(wave, i)) / edgeSeconds(wave, i));
  }
  return volts;
}

/** Index of the last sample at or before `t`, -1 before the first. */
function sampleAt(instants: ArrayLike<number>, t: number): number {
  let lo = 0;
  let hi = instants.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (instants[mid]! <= t) lo = mid + 1;
    else hi = mid;
  }
  return lo - 1;
}

/** Start of the turn that `t` is in, of a sampled wave that repeats; 0 for one that does not. */
function turnBegin(wave: Extract<DriveWave, { kind: 'samples' }>, t: number): number {
  const { instants, repeat } = wave;
  const length = instants[instants.length - 1]! - instants[0]!;
  return repeat && length > 0 && t > instants[0]! ? Math.floor((t - instants[0]!) / length) * length : 0;
}

/** Volts of the wave at `t` seconds. */
export function voltsAt(wave: DriveWave, t: number): number {
  switch (wave.kind) {
    case 'constant':
      return wave.volts;
    case 'pulses':
    case 'bits':
      return edgedVolts(wave, t);
    case 'samples': {
      const { instants, volts } = wave;
      const local = t - turnBegin(wave, t);
      const i = sampleAt(instants, local);
      if (i < 0) return volts[0]!;
      if (i >= instants.length - 1) return volts[instants.length - 1]!;
      const share = (local - instants[i]!) / (instants[i + 1]! - instants[i]!);
      return volts[i]! + (volts[i + 1]! - volts[i]!) * share;
    }
  }
}

/** The first instant after `t` at which the wave has a corner or an edge begins; Infinity when there is none. */
export function nextBreak(wave: DriveWave, t: number): number {
  switch (wave.kind) {
    case 'constant':
      return Infinity;
    case 'pulses':
    case 'bits': {
      const k = edgeAt(wave, t);
      const moves = (i: number): boolean => isHighAfter(wave, i - 1) !== isHighAfter(wave, i);
      if (k >= 0 && wave.edge === 'linear' && moves(k)) {
        const end = edgeInstant(wave, k) + edgeSeconds(wave, k);
        if (end > t) return end;
      }
      const last = Math.min(lastEdge(wave), k + 1 + (wave.kind === 'bits' ? wave.bits.length : 1));
      for (let i = k + 1; i <= last; i++) if (moves(i)) return edgeInstant(wave, i);
      return Infinity;
    }
    case 'samples':
      return nextCorner(wave, t);
  }
}

const spans = new WeakMap<ArrayLike<number>, number>();
function spanOf(volts: ArrayLike<number>): number {
  let span = spans.get(volts);
  if (span === undefined) {
    let lo = Infinity;
    let hi = -Infinity;
    for (let i = 0; i < volts.length; i++) {
      lo = Math.min(lo, volts[i]!);
      hi = Math.max(hi, volts[i]!);
    }
    span = hi - lo;
    spans.set(volts, span);
  }
  return span;
}

function nextCorner(wave: Extract<DriveWave, { kind: 'samples' }>, t: number): number {
  const { instants, volts, repeat } = wave;
  const n = instants.length;
  if (n < 2) return Infinity;
  const begin = turnBegin(wave, t);
  const least = FLAT_CORNER * spanOf(volts);
  for (let i = sampleAt(instants, t - begin) + 1; i < n; i++) {
    const at = begin + instants[i]!;
    if (at <= t) continue;
    if (i === 0 || i === n - 1) return at;
    const share = (instants[i]! - instants[i - 1]!) / (instants[i + 1]! - instants[i - 1]!);
    const chord = volts[i - 1]! + (volts[i + 1]! - volts[i - 1]!) * share;
    if (Math.abs(volts[i]! - chord) > least) return at;
  }
  if (!repeat) return Infinity;
  // Only rounding leads here: the turn has ended at `t`.
  const length = instants[n - 1]! - instants[0]!;
  return begin + length + instants[1]!;
}

/** The instants after `from` and up to `to` at which the wave has a corner or an edge begins, rising. */
export function breaksOf(wave: DriveWave, from: number, to: number): number[] {
  const list: number[] = [];
  for (let t = nextBreak(wave, from); t <= to; t = nextBreak(wave, t)) list.push(t);
  return list;
}
