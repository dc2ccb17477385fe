/** What a reading decides: the ranges in which it may fall, and which suspects each of them speaks for. */

import type { NextView, SuspectsView } from '../../server/index.ts';

export interface Outcome {
  /** Ends of the range, volts. */
  readonly low: number;
  readonly high: number;
  /** The likeliest value in it. */
  readonly value: number;
  /** Keys of the suspects that would make the point read so, the most probable first. */
  readonly keys: readonly string[];
}

/** Suspects less probable than this are not foreseen on paper. */
const LEAST = 0.01;
/** A range is where its suspects would put the reading, so many standard deviations either way. */
const WIDE = 2;

/** Ranges that overlap are one. In the order of their weight, the likeliest first. */
export function outcomesOf(
  next: Pick<NextView, 'shows'>,
  { suspects }: Pick<SuspectsView, 'suspects'>,
): Outcome[] {
  const chance = new Map(suspects.map(({ key, probability }) => [key, probability]));
  const shows = next.shows
    .map((one) => ({ ...one, chance: chance.get(one.key) ?? 0 }))
    .filter((one) => one.chance >= LEAST)
    .map((one) => ({ ...one, low: one.value - WIDE * one.sigma, high: one.value + WIDE * one.sigma }))
    .sort((a, b) => a.low - b.low);
  const groups: (typeof shows)[] = [];
  let end = Number.NEGATIVE_INFINITY;
  for (const one of shows) {
    if (one.low > end) groups.push([one]);
    else groups.at(-1)!.push(one);
    end = Math.max(end, one.high);
  }
  const weight = (group: typeof shows): number => group.reduce((sum, one) => sum + one.chance, 0);
  return groups
    .sort((a, b) => weight(b) - weight(a))
    .map((group) => ({
      low: Math.min(...group.map(({ low }) => low)),
      high: Math.max(...group.map(({ high }) => high)),
      value: group.reduce((sum, one) => sum + one.chance * one.value, 0) / weight(group),
      keys: [...group].sort((a, b) => b.chance - a.chance).map(({ key }) => key),
    }));
}

/** From here on a part is confirmed by a second kind of evidence, not by another reading. */
const CONFIDENT = 0.9;
/** A line of the sheet. */
export interface Line {
  readonly line: number;
  readonly point: { readonly point: string };
}

/** Confirm it, or the line to read next, or the point elsewhere. */
export function whereTo(
  { suspects, next }: Pick<SuspectsView, 'suspects' | 'next'>,
  state: string,
  lines: readonly Line[],
): string {
  const [leader] = suspects;
  const part = leader?.parts.join();
  const chance = suspects
    .filter(({ parts }) => parts.join() === part)
    .reduce((sum, one) => sum + one.probability, 0);
  const sure = chance >= CONFIDENT;
  const [to] = next;
  if (sure || to === undefined) {
    const confirm = leader?.confirm[0];
    return confirm ? `${confirm.charAt(0).toUpperCase()}${confirm.slice(1)}.` : '';
  }
  if (to.state !== state) return `Then ${to.point} in the state ${to.state}.`;
  const line = lines.find((one) => one.point.point === to.point)?.line;
  return line === undefined
    ? `Then ${to.point}, which is not on this sheet.`
    : `Go to line ${line}, ${to.point}.`;
}
