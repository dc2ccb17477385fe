import { type Diagnosis, type FaultTable, type NextReading, Reckoning } from '../diagnosis/index.ts';
import { isRunning, type Machine, type Unit } from '../machine/index.ts';
import { sparingCautions } from './asking-order.ts';
import { chosenUnit } from './choice.ts';
import { faultTableOf, type TableWork } from './fault-table.ts';
import { withRepairNote } from './repair-note.ts';

export interface SuspectsAnswer {
  readonly unit: Unit;
  readonly taken: boolean;
  readonly diagnosis: Diagnosis;
}

/** What may be wrong with a unit, given all readings. @throws InputError  as `chosenUnit`; `signal`'s reason when given up */
export async function suspectsOf(
  machine: Machine,
  unitId?: string,
  work: TableWork = {},
): Promise<SuspectsAnswer> {
  const { unit, taken } = chosenUnit(machine, unitId);
  const { diagnosis } = reckoned(machine, await tableFor(machine, unit, work), unit.id);
  return { unit, taken, diagnosis };
}

export interface NextAnswer extends SuspectsAnswer {
  readonly readings: readonly NextReading[];
}

/** The readings that would part the suspects best for their minutes, at most `limit`; best first, but none with a caution for next to nothing. */
export async function nextReadings(
  machine: Machine,
  unitId?: string,
  work: TableWork = {},
  limit?: number,
): Promise<NextAnswer> {
  const { unit, taken } = chosenUnit(machine, unitId);
  const { reckoning, diagnosis } = reckoned(machine, await tableFor(machine, unit, work), unit.id);
  return { unit, taken, diagnosis, readings: sparingCautions(machine, reckoning.next(limit)) };
}

/** Whether a unit was read in a state that runs. */
export function isReadRunning(machine: Machine, unit: string): boolean {
  const running = new Set(machine.conditions.filter(isRunning).map(({ name }) => name));
  return machine.readings.some((r) => r.unit === unit && running.has(r.condition));
}

/** The states that run are worked out where this unit was read in one: they are many times the work of the others. */
function tableFor(machine: Machine, unit: Unit, work: TableWork): Promise<FaultTable> {
  return faultTableOf(machine, { ...work, atRest: !isReadRunning(machine, unit.id) });
}

function reckoned(machine: Machine, table: FaultTable, unit: string) {
  const reckoning = new Reckoning(machine, table, unit);
  return { reckoning, diagnosis: withRepairNote(machine, table.hypotheses, reckoning.diagnosis()) };
}
