/** A strip for the ear. */

import { spreads, verdictOf, volts } from './figures.ts';
import type { StripInput } from './geometry.ts';

export interface StripNames {
  readonly point: string;
  /** The unit at hand. */
  readonly unit: string;
  /** Healthy units, in the order of `StripInput.healthy`. */
  readonly healthy: readonly string[];
}

/** `Q6.b, South +0.83 volts, departs, 22 spreads, towards positive. Sound −0.27. North −0.26.` */
export function stripWords(input: StripInput, { point, unit, healthy }: StripNames): string {
  return [
    `${point}, ${readingWords(input, unit)}.`,
    soundWords(input),
    ...(input.healthy ?? []).map((value, i) => `${healthy[i] ?? 'healthy unit'} ${volts(value)}.`),
  ]
    .filter((text) => text !== '')
    .join(' ');
}

function readingWords({ reading, sound, setAside }: StripInput, unit: string): string {
  if (reading === undefined || reading === null) return `${unit} not read`;
  const value = `${unit} ${volts(reading)} volts`;
  if (setAside === true) return `${value}, set aside as a likely slip`;
  if (!sound || !(sound.sigma > 0)) return value;
  const off = (reading - sound.value) / sound.sigma;
  const verdict = verdictOf(off);
  const words = `${value}, ${verdict}, ${spreads(off).replace('>', 'more than ')} spreads`;
  return verdict === 'sound' ? words : `${words}, towards ${off > 0 ? 'positive' : 'negative'}`;
}

function soundWords({ sound, learnt, drawing }: StripInput): string {
  if (!sound) return 'No expectation.';
  const known =
    learnt === true ? `Not traced; stated ${volts(sound.value)}.` : `Sound ${volts(sound.value)}.`;
  return drawing ? `${known} The drawing says ${volts(drawing.value)}.` : known;
}
