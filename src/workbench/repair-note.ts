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
    .flatMap((suspect) => {
      const factor = factors.get(suspect) ?? 1;
      return factor > LEAST_MOVE || factor < 1 / LEAST_MOVE ? [`${suspect} is ${figure(factor)}`] : [];
    });
  const on = counted === 1 ? '1 repair on record counts' : `${counted} repairs on record count`;
  const text =
    moved.length === 0
      ? `${on} in the priors; the foremost suspects' have hardly moved`
      : `${on}: before any reading, ${[...new Set(moved)].join(', ')} likely as without ${counted === 1 ? 'it' : 'them'}`;
  return { ...diagnosis, notes: [...diagnosis.notes, text] };
}

function figure(factor: number): string {
  return `${factor.toFixed(factor < 10 ? (factor < 1 ? 2 : 1) : 0)} times as`;
}
