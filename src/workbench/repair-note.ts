import type { Diagnosis } from '../diagnosis/index.ts';
import { type Hypothesis, repairedRates } from '../faults/index.ts';
import type { Machine } from '../machine/index.ts';

/** Of the foremost suspects so many are looked at, and a prior that moved by less than this is not spoken of. */
const FOREMOST = 3;
const LEAST_MOVE = 1.1;

/** The diagnosis with a note on the priors that repairs on record have moved, where they have. */
export function withRepairNote(
  machine: Machine,
  hypotheses: readonly Hypothesis[],
  diagnosis: Diagnosis,
): Diagnosis {
  const { rates, counted } = repairedRates(machine, hypotheses);
  if (counted === 0) return diagnosis;
  const factors = new Map<string, number>(
    hypotheses.map(({ part, mode, rate }, i) => [`${part}:${mode}`, rates[i]! / rate]),
  );
  const moved = diagnosis.suspects
    .slice(0, FOREMOST)
    .flatMap(({ parts, modes }) => parts.map((part, i) => `${part}:${modes[i]}`))
    .map((suspect) => [suspect, factors.get(suspect) ?? 1] as const)
    .filter(([, factor]) => factor > LEAST_MOVE || factor < 1 / LEAST_MOVE);
  const on = counted === 1 ? '1 repair on record counts' : `${counted} repairs on record count`;
  const text =
    moved.length === 0
      ? `${on} in the priors; the foremost suspects' have hardly moved`
      : `${on}: before any reading, ${timesAs(moved)} likely as without ${counted === 1 ? 'it' : 'them'}`;
  return { ...diagnosis, notes: [...diagnosis.notes, text] };
}

/** `Q1:open-b and Q2:open-b are 0.9 times as, R3:open is 3.0 times as`: suspects that moved alike are named together. */
export function timesAs(moved: readonly (readonly [suspect: string, factor: number])[]): string {
  const alike = new Map<string, Set<string>>();
  for (const [suspect, factor] of moved) {
    const suspects = alike.get(figure(factor)) ?? new Set();
    alike.set(figure(factor), suspects.add(suspect));
  }
  return [...alike]
    .map(([times, suspects]) => {
      const names = [...suspects];
      const last = names.pop()!;
      return names.length === 0 ? `${last} is ${times}` : `${names.join(', ')} and ${last} are ${times}`;
    })
    .join(', ');
}

function figure(factor: number): string {
  return `${factor.toFixed(factor < 10 ? (factor < 1 ? 2 : 1) : 0)} times as`;
}
