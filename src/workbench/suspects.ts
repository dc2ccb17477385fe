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

/** The states that run are worked out where this unit was read in one: they are many times the work of the others. */
function tableFor(machine: Machine, unit: Unit, work: TableWork): Promise<FaultTable> {
  const running = new Set(machine.conditions.filter(isRunning).map(({ name }) => name));
  const isRead = machine.readings.some((r) => r.unit === unit.id && running.has(r.condition));
  return faultTableOf(machine, { ...work, atRest: !isRead });
}

function reckoned(machine: Machine, table: FaultTable, unit: string) {
  const reckoning = new Reckoning(machine, table, unit);
  return { reckoning, diagnosis: withRepairNote(machine, table.hypotheses, reckoning.diagnosis()) };
}
