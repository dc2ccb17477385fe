import { type Departure, departures } from '../diagnosis/index.ts';
import type { Machine, Unit } from '../machine/index.ts';
import { chosenUnit } from './choice.ts';

export interface UnitComparison {
  readonly unit: Unit;
  readonly taken: boolean;
  /** Every reading of the unit that has an expectation, the largest departure first. */
  readonly departures: readonly Departure[];
}

/** How far each reading of a unit is from what a sound unit would show there. @throws InputError  as `chosenUnit` */
export function compareUnit(machine: Machine, unitId?: string): UnitComparison {
  const { unit, taken } = chosenUnit(machine, unitId);
  return { unit, taken, departures: departures(machine, unit.id) };
}
