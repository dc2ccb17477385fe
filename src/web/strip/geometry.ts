/**
 * Where everything on a level strip stands, in pixels, by the rules of the level strip: the same numbers make the band, the mark
 * and the figure beside them, so that they cannot disagree. Nothing is nudged: marks stand where the value is.
 */

import { type Axis, PAD, xOf } from './axis.ts';
import { type Verdict, verdictOf } from './figures.ts';

export interface Level {
  readonly value: number;
  /** One spread: standard deviation of what a sound unit would read, the meter's error included. */
  readonly sigma: number;
}

/** What is known of one point in one state, volts. */
export interface StripInput {
  readonly sound?: Level | null | undefined;
  /** The circuit is not traced: `sound` is a healthy reading with a stated spread. */
  readonly learnt?: boolean | undefined;
  /** What the drawing alone says, where that is far from `sound`. */
  readonly drawing?: Level | null | undefined;
  /** Readings of healthy units. */
  readonly healthy?: readonly number[] | undefined;
  /** The reading of the unit at hand. */
  readonly reading?: number | null | undefined;
  /** Standard deviation of the meter's error at that reading. */
  readonly meter?: number | undefined;
  /** The reading is taken for a slip, or struck by hand. */
  readonly setAside?: boolean | undefined;
  /** This unit's own earlier readings, the oldest first. */
  readonly history?: readonly number[] | undefined;
  /** Where each suspect would make the point read. */
  readonly flags?: readonly Flag[] | undefined;
  /** Where one fault would make it read: a small pointer above. */
  readonly pointer?: number | null | undefined;
}

export interface Flag {
  readonly letter: string;
  readonly value: number;
}

export type Size = 'row' | 'enlarged';
export type Side = 'left' | 'right';

interface Measures {
  readonly band: number;
  readonly bandLeast: number;
  readonly ring: number;
  readonly ringLine: number;
  readonly dot: number;
  readonly doubtful: number;
  readonly headLength: number;
  readonly headHeight: number;
  readonly headLeast: number;
  readonly stem: number;
}

export const MEASURES: Readonly<Record<Size, Measures>> = {
  row: {
    band: 19,
    bandLeast: 9,
    ring: 5.6,
    ringLine: 2,
    dot: 3.3,
    doubtful: 5,
    headLength: 12,
    headHeight: 16,
    headLeast: 8,
    stem: 4,
  },
  enlarged: {
    band: 50,
    bandLeast: 9,
    ring: 10,
    ringLine: 2.6,
    dot: 6.3,
    doubtful: 9.5,
    headLength: 22,
    headHeight: 27,
    headLeast: 8,
    stem: 7,
  },
};

/** A band over this share of the drawn axis proves nothing. */
const LOOSE_SHARE = 0.5;
/** Letters closer than this stand together. */
const FLAG_GAP = 14;
const SHORTEST_TICK = 9;
const TICK_GROWTH = 4;

export interface Band {
  readonly left: number;
  readonly right: number;
  readonly mean: number;
  readonly kind: 'sound' | 'loose' | 'learnt';
}

export interface Arrow {
  readonly kind: 'arrow';
  /** On the reading. */
  readonly tip: number;
  /** Where the head begins. */
  readonly neck: number;
  readonly headHeight: number;
  /** On the near edge of the band; not before the neck where the head takes all the room. */
  readonly start: number;
  readonly toward: Side;
}

export interface Dot {
  readonly kind: 'dot';
  readonly x: number;
  readonly r: number;
  readonly verdict: Exclude<Verdict, 'departs'>;
  /** Of a doubtful one: from the band's edge. */
  readonly tail?: number;
}

/** Hollow, struck through. */
export interface Aside {
  readonly kind: 'aside';
  readonly x: number;
  /** An arrow where it would depart, else a ring. */
  readonly toward?: Side;
}

export interface StripGeometry {
  readonly band?: Band;
  /** Open bracket under the axis. */
  readonly drawing?: { readonly left: number; readonly right: number };
  readonly rings: readonly { readonly x: number; readonly off?: Side }[];
  readonly mark?: Arrow | Dot | Aside;
  /** The mark stopped at this end; its value stands in bold beside it. */
  readonly off?: Side;
  readonly whisker?: { readonly left: number; readonly right: number };
  readonly history: readonly { readonly x: number; readonly length: number }[];
  readonly flags: readonly FlagGroup[];
  readonly pointer?: number;
}

export interface FlagGroup {
  readonly letters: string;
  /** Middle of the letters. */
  readonly x: number;
  readonly stems: readonly number[];
}

/**
 * The geometry of one strip.
 *
 * @param width  of the strip, pixels
 */
export function stripGeometry(input: StripInput, axis: Axis, width: number, size: Size): StripGeometry {
  const measures = MEASURES[size];
  const at = (volts: number): number => xOf(axis, width, volts);
  const band = input.sound ? bandOf(input.sound, input.learnt === true, axis, width, measures) : undefined;
  const rings = (input.healthy ?? []).map((value) => ended(at(value), width));
  const read = input.reading ?? undefined;
  const place = read === undefined ? undefined : ended(at(read), width);
  const mark = place && markOf(read!, place, input, band, measures);
  return {
    ...(band ? { band } : {}),
    ...(input.drawing ? { drawing: bracketOf(input.drawing, axis, width, measures) } : {}),
    rings,
    ...(mark ? { mark } : {}),
    ...(place?.off ? { off: place.off } : {}),
    ...whiskerOf(input, place, axis, width, mark, measures),
    history: size === 'enlarged' ? ticksOf(input.history ?? [], axis, width) : [],
    flags: size === 'enlarged' ? flagsOf(input.flags ?? [], axis, width) : [],
    ...(input.pointer === undefined || input.pointer === null
      ? {}
      : { pointer: ended(at(input.pointer), width).x }),
  };
}

/** A place on the strip; beyond an end, that end. */
function ended(x: number, width: number): { x: number; off?: Side } {
  // A hair beyond the end is rounding, not a departure from the axis.
  if (x < PAD - 0.01) return { x: PAD, off: 'left' };
  if (x > width - PAD + 0.01) return { x: width - PAD, off: 'right' };
  return { x };
}

function bandOf(
  { value, sigma }: Level,
  learnt: boolean,
  axis: Axis,
  width: number,
  { bandLeast }: Measures,
): Band {
  const mean = Math.min(width - PAD, Math.max(PAD, xOf(axis, width, value)));
  const half = bandLeast / 2;
  const left = Math.max(0, Math.min(xOf(axis, width, value - 2 * sigma), mean - half));
  const right = Math.min(width, Math.max(xOf(axis, width, value + 2 * sigma), mean + half));
  const loose = 4 * sigma >= LOOSE_SHARE * (axis.to - axis.from);
  return { left, right, mean, kind: learnt ? 'learnt' : loose ? 'loose' : 'sound' };
}

function bracketOf({ value, sigma }: Level, axis: Axis, width: number, { bandLeast }: Measures) {
  const mean = xOf(axis, width, value);
  const half = Math.max(bandLeast / 2, xOf(axis, width, value + 2 * sigma) - mean);
  return { left: Math.max(0, mean - half), right: Math.min(width, mean + half) };
}

function markOf(
  value: number,
  place: { readonly x: number; readonly off?: Side },
  input: StripInput,
  band: Band | undefined,
  measures: Measures,
): Arrow | Dot | Aside {
  const { sound } = input;
  const off = sound && sound.sigma > 0 ? (value - sound.value) / sound.sigma : 0;
  const verdict = verdictOf(off);
  const toward: Side = off < 0 ? 'left' : 'right';
  if (input.setAside === true) {
    return { kind: 'aside', x: place.x, ...(verdict === 'departs' ? { toward } : {}) };
  }
  if (verdict === 'departs' && band) return arrowOf(place.x, toward, band, measures);
  const near = toward === 'left' ? band?.left : band?.right;
  const outside = near !== undefined && (toward === 'left' ? place.x < near : place.x > near);
  return {
    kind: 'dot',
    x: place.x,
    r: verdict === 'sound' ? measures.dot : measures.doubtful,
    verdict: verdict === 'sound' ? 'sound' : 'doubtful',
    ...(verdict !== 'sound' && outside ? { tail: near } : {}),
  };
}

function arrowOf(tip: number, toward: Side, band: Band, measures: Measures): Arrow {
  const ahead = toward === 'right' ? 1 : -1;
  const near = toward === 'right' ? band.right : band.left;
  const room = ahead * (tip - near);
  const length = Math.min(measures.headLength, Math.max(measures.headLeast, room));
  const neck = tip - ahead * length;
  return {
    kind: 'arrow',
    tip,
    neck,
    headHeight: (measures.headHeight * length) / measures.headLength,
    start: room > length ? near : neck,
    toward,
  };
}

/** Two standard deviations of the meter either way, if that is wider than the mark. */
function whiskerOf(
  { reading, meter }: StripInput,
  place: { readonly off?: Side } | undefined,
  axis: Axis,
  width: number,
  mark: Arrow | Dot | Aside | undefined,
  measures: Measures,
): { whisker?: { left: number; right: number } } {
  if (reading === undefined || reading === null || meter === undefined || !mark || place?.off) return {};
  const left = xOf(axis, width, reading - 2 * meter);
  const right = xOf(axis, width, reading + 2 * meter);
  const across = mark.kind === 'arrow' ? measures.headLength : 2 * measures.dot;
  return right - left > across ? { whisker: { left: Math.max(0, left), right: Math.min(width, right) } } : {};
}

/** The newest is the longest. */
function ticksOf(history: readonly number[], axis: Axis, width: number) {
  return history.map((value, i) => ({
    x: ended(xOf(axis, width, value), width).x,
    length: SHORTEST_TICK + TICK_GROWTH * Math.max(0, i - Math.max(0, history.length - 5)),
  }));
}

function flagsOf(flags: readonly Flag[], axis: Axis, width: number): FlagGroup[] {
  const placed = flags
    .map(({ letter, value }) => ({ letter, x: ended(xOf(axis, width, value), width).x }))
    .sort((a, b) => a.x - b.x || (a.letter < b.letter ? -1 : 1));
  const groups: { letters: string[]; stems: number[] }[] = [];
  for (const { letter, x } of placed) {
    const last = groups.at(-1);
    if (last && x - last.stems.at(-1)! < FLAG_GAP) {
      last.letters.push(letter);
      last.stems.push(x);
    } else {
      groups.push({ letters: [letter], stems: [x] });
    }
  }
  return groups.map(({ letters, stems }) => ({
    letters: letters.sort().join(' '),
    x: stems.reduce((sum, x) => sum + x, 0) / stems.length,
    stems: [...new Set(stems)],
  }));
}
