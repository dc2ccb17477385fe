/** Suspects as they are spoken of in every answer: by letter, part and mode, and by part. */

import type { SuspectsAnswer } from '../workbench/index.ts';
import { percent } from './numbers.ts';
import { letter, staffSigns } from './staff.ts';
import { modeWords } from './words.ts';

export type Diagnosis = SuspectsAnswer['diagnosis'];
export type Suspect = Diagnosis['suspects'][number];

/** What stands for a suspect, by its name as in `ADD/Q3:short-ce`, in pictures: its letter, or the staff's sign of sound or of none of these. */
export function suspectSign({ suspects }: Diagnosis, name: string, unicode: boolean): string {
  const { unexplained, sound } = staffSigns(unicode);
  if (name === 'sound') return sound;
  const index = suspects.findIndex(
    ({ parts, modes }) => parts.map((part, i) => `${part}:${modes[i]}`).join(' + ') === name,
  );
  return index < 0 ? unexplained : letter(index);
}

/** At most so many names in a sentence. */
const MOST_NAMED = 8;

/** Suspects in words, one after the other. */
export function suspectNames(names: readonly string[]): string {
  const more = names.length - MOST_NAMED;
  return names.slice(0, MOST_NAMED).map(suspectName).join('; ') + (more > 0 ? ` and ${more} more` : '');
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

/**
 * What stands first in the ranking, in a sentence.
 *
 * @param readings  how many there are of the unit
 */
export function headline(diagnosis: Diagnosis, readings: number): string {
  if (readings === 0) return 'Nothing has been read yet: this is what fails most often in such a machine.';
  const { suspect, probability } = leadingPart(diagnosis);
  const { sound, unexplained } = diagnosis;
  if (suspect === undefined || sound >= Math.max(unexplained, probability)) {
    return `Nothing departs that a sound unit could not show: sound, ${percent(sound)}.`;
  }
  if (unexplained >= probability) {
    return `None of these fits well: none of these, ${percent(unexplained)}. Read a point on another board.`;
  }
  const leads = probability < 0.5 ? ' leads with' : ':';
  return `${partNames(suspect)}${leads} ${percent(probability)}, all its modes together.`;
}
