import { availableParallelism } from 'node:os';
import {
  Baseline,
  type Departure,
  type Diagnosis,
  departures,
  FaultTable,
  type NextReading,
  Reckoning,
  soundBaseline,
  type UnitLevels,
  unitLevels,
} from '../diagnosis/index.ts';
import { isRunning, type Machine, type Reading } from '../machine/index.ts';
import { sparingCautions } from './asking-order.ts';
import { faultTableOf, type TableWork } from './fault-table.ts';
import { type WhatIf, whatIf } from './levels.ts';
import { withRepairNote } from './repair-note.ts';
import { type PredictedWaves, predictedWaves, type WaveQuery } from './waves.ts';

/** More suspects than a person will ever look at. */
const MOST_SUSPECTS = 60;

/** Suspects and next readings of one unit. */
export interface UnitAnswer {
  readonly diagnosis: Diagnosis;
  /** Suspects beyond those in `diagnosis`. */
  readonly others: { readonly count: number; readonly probability: number };
  /** Best first. */
  readonly next: readonly NextReading[];
}

interface Held {
  machine: Machine;
  table: FaultTable | undefined;
  /** The last one of each unit. */
  readonly baselines: Map<string, Baseline>;
  /** The last one of each unit, with the readings that it is of. */
  readonly reckonings: Map<string, { readonly readings: readonly Reading[]; readonly reckoning: Reckoning }>;
  readonly answers: Map<string, UnitAnswer>;
}

/**
 * Machines with their fault tables in memory, and what is asked of them. Lives in a thread of its own where there is one; all that
 * goes in and out can be copied between threads.
 */
export class Reckoner {
  readonly #held = new Map<number, Held>();

  /** Takes a machine that it does not know yet, or one whose circuit has changed: its table is gone. */
  hold(id: number, machine: Machine): void {
    this.#held.set(id, {
      machine,
      table: undefined,
      baselines: new Map(),
      reckonings: new Map(),
      answers: new Map(),
    });
  }

  /**
   * Takes all readings and repairs of a machine whose circuit is the same: its table answers on, also while a new one is being
   * computed for another room, and what the readings share with the former ones is not worked out again.
   */
  holdReadings(id: number, readings: readonly Reading[], repairs: Machine['repairs']): void {
    const held = this.#of(id);
    const known = new Map(held.machine.readings.map((reading) => [JSON.stringify(reading), reading]));
    // The same reading must be the same object, for a reckoning to see that nothing is new about it.
    const same = readings.map((reading) => known.get(JSON.stringify(reading)) ?? reading);
    if (JSON.stringify(held.machine.repairs) !== JSON.stringify(repairs)) {
      // Every rate has moved: what was reckoned with the former ones does not serve.
      held.reckonings.clear();
      const { repairs: _, ...machine } = held.machine;
      held.machine = { ...machine, ...(repairs === undefined ? {} : { repairs }) };
    }
    held.machine = { ...held.machine, readings: same };
    held.answers.clear();
  }

  forget(id: number): void {
    this.#held.delete(id);
  }

  /** Takes a table that was kept; false when the bytes do not fit the machine. */
  takeTable(id: number, bytes: Uint8Array): boolean {
    const held = this.#of(id);
    const table = FaultTable.fromBytes(held.machine, bytes);
    if (table !== undefined) this.#put(held, table);
    return table !== undefined;
  }

  /** Computes the table, in threads of its own, and gives its bytes to be kept. @throws  the signal's reason */
  async computeTable(
    id: number,
    work: Pick<TableWork, 'onProgress' | 'signal' | 'workers' | 'atRest'>,
  ): Promise<Uint8Array> {
    const { machine } = this.#of(id);
    // What runs takes minutes, in which people go on asking: a processor is left to them.
    const runs = !work.atRest && machine.conditions.some(isRunning);
    const workers = work.workers ?? (runs ? Math.max(1, availableParallelism() - 1) : undefined);
    const table = await faultTableOf(machine, { ...work, workers, keeping: false });
    // Readings may have been taken in the meantime; a change of the circuit gives the work up instead.
    const held = this.#held.get(id);
    if (held !== undefined) this.#put(held, table);
    return table.toBytes();
  }

  /** What each point should read on this unit. @param condition  its number in the machine */
  levels(id: number, unit: string, condition: number): UnitLevels {
    const held = this.#of(id);
    return unitLevels(held.machine, this.#baseline(held, unit), condition);
  }

  /** Suspects and the next reading, `undefined` without a table. @param preview  a reading as if it were taken */
  answer(id: number, unit: string, preview?: Reading): UnitAnswer | undefined {
    const held = this.#of(id);
    const reckoning = this.#reckoning(held, unit);
    if (reckoning === undefined) return undefined;
    const { machine, table } = held;
    if (preview !== undefined) return answerOf(machine, table!, reckoning.with(preview));
    const known = held.answers.get(unit);
    if (known !== undefined) return known;
    const answer = answerOf(machine, table!, reckoning);
    held.answers.set(unit, answer);
    return answer;
  }

  /** @throws InputError  for a fault or a state that is not there */
  whatIf(id: number, fault: string, condition?: string): WhatIf {
    return whatIf(this.#of(id).machine, fault, {
      ...(condition === undefined ? {} : { condition }),
      // The page shows levels, and at once.
      atRest: true,
    });
  }

  /** @throws InputError  as `predictedWaves` */
  waves(id: number, query: WaveQuery): PredictedWaves {
    return predictedWaves(this.#of(id).machine, query);
  }

  /** Departures of a unit of a machine that need not be held: of reading sets. */
  departures(machine: Machine, unit: string): readonly Departure[] {
    return departures(machine, unit);
  }

  #of(id: number): Held {
    const held = this.#held.get(id);
    if (held === undefined) throw new Error(`machine ${id} is not held`);
    return held;
  }

  /** Of the readings as they are now; it follows the last one, where there was one. */
  #reckoning(held: Held, unit: string): Reckoning | undefined {
    if (held.table === undefined) return undefined;
    const last = held.reckonings.get(unit);
    if (last?.readings === held.machine.readings) return last.reckoning;
    const { readings } = held.machine;
    const reckoning = last?.reckoning.withReadings(readings) ?? new Reckoning(held.machine, held.table, unit);
    held.reckonings.set(unit, { readings, reckoning });
    return reckoning;
  }

  /** As `#reckoning`; what a table brings along is used, but no reckoning is begun for its sake. */
  #baseline(held: Held, unit: string): Baseline {
    const { machine } = held;
    const known = [held.baselines.get(unit), held.reckonings.get(unit)?.reckoning.weighing.baseline];
    const present = known.find((one) => one?.machine.readings === machine.readings);
    if (present !== undefined) return present;
    const last = known.find((one) => one !== undefined);
    const table = held.table ?? last?.table;
    const baseline =
      table === undefined ? soundBaseline(machine, unit) : new Baseline(machine, table, unit, last);
    held.baselines.set(unit, baseline);
    return baseline;
  }

  #put(held: Held, table: FaultTable): void {
    held.table = table;
    held.baselines.clear();
    held.reckonings.clear();
    held.answers.clear();
  }
}

function answerOf(machine: Machine, table: FaultTable, reckoning: Reckoning): UnitAnswer {
  const diagnosis = withRepairNote(machine, table.hypotheses, reckoning.diagnosis());
  const rest = diagnosis.suspects.slice(MOST_SUSPECTS);
  return {
    diagnosis: { ...diagnosis, suspects: diagnosis.suspects.slice(0, MOST_SUSPECTS) },
    others: {
      count: rest.length,
      probability: rest.reduce((sum, { probability }) => sum + probability, 0),
    },
    next: sparingCautions(machine, reckoning.next()),
  };
}
