/** Suspects as they are spoken of in every answer: by letter, part and mode, and by part. */

import type { SuspectsAnswer } from '../workbench/index.ts';
import { modeWords } from './words.ts';

export type Diagnosis = SuspectsAnswer['diagnosis'];
export type Suspect = Diagnosis['suspects'][number];

/** `a`, `b`, … `z`, `aa`, … */
export function letter(index: number): string {
  const last = String.fromCharCode(97 + (index % 26));
  return index < 26 ? last : letter(Math.floor(index / 26) - 1) + last;
}

/** `ADD/Q3:short-ce + ADD/R7:open` in words. */
export function suspectName(text: string): string {
  return text
    .split(' + ')
    .map((one) => {
      const colon = one.indexOf(':');
      return colon < 0 ? one : `${one.slice(0, colon)} ${modeWords(one.slice(colon + 1))}`;
    })
    .join(' and ');
}

/** The part, or both parts of a double fault: what a person would take out. */
export function partNames({ parts }: Pick<Suspect, 'parts'>): string {
  return parts.join(' and ');
}

/** The first suspect of the part with the most probability over all its modes, and that probability; 0 when there is none. */
export function leadingPart({ suspects }: Diagnosis): {
  readonly suspect: Suspect | undefined;
  readonly probability: number;
} {
  const sums = new Map<string, number>();
  for (const suspect of suspects) {
    const parts = partNames(suspect);
    sums.set(parts, (sums.get(parts) ?? 0) + suspect.probability);
  }
  const [parts, probability] = [...sums].reduce((best, one) => (one[1] > best[1] ? one : best), ['', 0]);
  return { suspect: suspects.find((suspect) => partNames(suspect) === parts), probability };
}
