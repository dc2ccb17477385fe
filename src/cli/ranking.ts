/** Suspects as they are spoken of in every answer: by letter, part and mode, and by part. */

import { type Machine, partNamed } from '../machine/index.ts';
import { modeWords, type SuspectsAnswer } from '../workbench/index.ts';
import { percent } from './numbers.ts';
import { letter, staffSigns } from './staff.ts';

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
export function suspectNames(machine: Machine, names: readonly string[]): string {
  const more = names.length - MOST_NAMED;
  return (
    names
      .slice(0, MOST_NAMED)
      .map((name) => suspectName(machine, name))
      .join('; ') + (more > 0 ? ` and ${more} more` : '')
  );
}

/** `ADD/Q3:short-ce + ADD/R7:open` in words. */
export function suspectName(machine: Machine, text: string): string {
  return text
    .split(' + ')
    .map((one) => {
      const colon = one.indexOf(':');
      return colon < 0 ? one : faultWords(machine, one.slice(0, colon), one.slice(colon + 1));
    })
    .join(' and ');
}

/** `ADD/Q3 short, collector to emitter`. */
export function faultWords(machine: Machine, part: string, mode: string): string {
  return `${part} ${modeWords(mode, partNamed(machine, part)?.kind)}`;
}

/** The part, or both parts of a double fault: what a person would take out. */
export function partNames({ parts }: Pick<Suspect, 'parts'>): string {
  return parts.join(' and ');
}

/** A part with the probability that it has failed, in whatever mode, alone or with another part. */
export interface PartProbability {
  readonly part: string;
  readonly probability: number;
  /** Its most probable mode. */
  readonly mode: string;
}

/** The parts of all suspects, the most probable first. */
export function partProbabilities({ suspects }: Diagnosis): PartProbability[] {
  const sums = new Map<string, { part: string; probability: number; mode: string }>();
  for (const { parts, modes, probability } of suspects) {
    parts.forEach((part, i) => {
      const known = sums.get(part);
      if (known === undefined) sums.set(part, { part, probability, mode: modes[i]! });
      else known.probability += probability;
    });
  }
  return [...sums.values()].sort((a, b) => b.probability - a.probability);
}

/**
 * What stands first in the ranking, in a sentence.
 *
 * @param readings  how many there are of the unit
 */
export function headline(diagnosis: Diagnosis, readings: number): string {
  if (readings === 0) return 'Nothing has been read yet: this is what fails most often in such a machine.';
  const [first, second] = partProbabilities(diagnosis);
  const { sound, unexplained } = diagnosis;
  if (first === undefined || sound >= Math.max(unexplained, first.probability)) {
    const rest = sound < 0.5 ? ' The rest are faults that these readings do not reach.' : '';
    return `Nothing departs that a sound unit could not show: sound, ${percent(sound)}.${rest}`;
  }
  if (unexplained >= first.probability) {
    return `None of these fits well: none of these, ${percent(unexplained)}. Read a point on another board.`;
  }
  if (second !== undefined && second.probability >= 0.5) {
    const both = [first, second].map(({ part, probability }) => `${part} ${percent(probability)}`);
    return `${both.join(', ')}, whatever their modes.`;
  }
  return `${first.part} ${percent(first.probability)}, whatever its mode.`;
}
