/** One trial: a pair of units drawn, faults planted in one of them, and all that could be read of both. */
import type { Machine, Reading } from '../../src/machine/model.ts';
import type { TrialBoard } from './boards/index.ts';
import {
  drawnFault,
  type FaultKind,
  faultKinds,
  severities,
  soundSpreads,
  VISIBLE,
  visibility,
} from './faults.ts';
import { type Fault, type ParameterTable, parameterTable } from './physics/index.ts';
import { type Chance, chance } from './random.ts';
import {
  readingError,
  type TrueUnit,
  type TrueVolts,
  trueVolts,
  unitReadings,
  workingPair,
} from './units.ts';

/** What is the same in every trial of a board. */
export interface Bench {
  readonly board: TrialBoard;
  readonly table: ParameterTable;
  readonly spreads: readonly Float64Array[];
  readonly kinds: readonly FaultKind[];
}

export function benchOf(board: TrialBoard): Bench {
  const table = parameterTable(board.machine);
  return { board, table, spreads: soundSpreads(board.machine, table), kinds: faultKinds(board.machine) };
}

export interface Trial {
  readonly bench: Bench;
  readonly number: number;
  readonly planted: readonly Fault[];
  /** Draws that nobody could have seen, and that were not planted. */
  readonly invisible: number;
  /** Conditions in which the faulty unit comes to no rest, so that nothing is read. */
  readonly restless: number;
  readonly healthy: TrueUnit;
  readonly faulty: TrueUnit;
  readonly before: TrueVolts;
  readonly after: TrueVolts;
  readonly healthyReadings: readonly Reading[];
  readonly faultyReadings: readonly Reading[];
  /** For further draws of this trial. */
  readonly chance: Chance;
}

const HEALTHY = 0;
const FAULTY = 1;

/** Draws trial `number` of a board with `count` faults; the same for the same number. */
export function trialOf(bench: Bench, number: number, count: 0 | 1 | 2): Trial {
  const { board, table, spreads, kinds } = bench;
  const { machine } = board;
  const source = chance(`${board.name} trial ${number} of ${count}`);
  const [healthy, faulty] = workingPair(board, table, source.fork('pair'));
  const volts = (faults: readonly Fault[]) => trueVolts(machine, table, faulty, faults);
  const before = volts([]);
  const draw = source.fork('faults');
  let planted: Fault[] = [];
  let after = before;
  let invisible = 0;
  while (planted.length < count) {
    const fault = drawnFault(kinds, draw);
    if (planted.some((f) => f.part === fault.part)) continue;
    const alone = volts([fault]);
    if (visibility(before.volts, alone.volts, spreads) < VISIBLE) {
      invisible++;
      continue;
    }
    const first = planted[0];
    if (first === undefined) {
      planted = [fault];
      after = alone;
      continue;
    }
    // Of two, neither may hide the other.
    const both = volts([first, fault]);
    if (
      visibility(after.volts, both.volts, spreads) < VISIBLE ||
      visibility(alone.volts, both.volts, spreads) < VISIBLE
    ) {
      invisible++;
      continue;
    }
    planted = [first, fault];
    after = both;
  }
  const { units } = machine;
  return {
    bench,
    number,
    planted,
    invisible,
    restless: after.volts.filter((v) => v === undefined).length,
    healthy,
    faulty,
    before,
    after,
    healthyReadings: unitReadings(
      machine,
      units[HEALTHY]!.id,
      healthy,
      trueVolts(machine, table, healthy),
      source.fork('healthy readings'),
    ),
    faultyReadings: unitReadings(machine, units[FAULTY]!.id, faulty, after, source.fork('faulty readings')),
    chance: source.fork('more'),
  };
}

/** The board's machine with readings in it; its parts are the same object every time. */
export function machineWith(machine: Machine, ...readings: (readonly Reading[])[]): Machine {
  return { ...machine, readings: readings.flat() };
}

/** The reading of the outputs that a fault moves most; of all nets when no output shows it. */
export function symptom(trial: Trial): Reading {
  const { bench, before, after } = trial;
  const { machine, outputs } = bench.board;
  const among = (points: (point: string) => boolean): [number, number, number] => {
    let best: [number, number, number] = [0, -1, -1];
    machine.conditions.forEach((_, c) => {
      const x = before.volts[c];
      const y = after.volts[c];
      if (x === undefined || y === undefined) return;
      machine.points.forEach(({ point }, p) => {
        const moved = Math.abs(y[p]! - x[p]!) / bench.spreads[c]![p]!;
        if (points(point) && moved > best[0]) best = [moved, c, p];
      });
    });
    return best;
  };
  let [moved, c, p] = among((point) => outputs.includes(point));
  if (moved < VISIBLE) [moved, c, p] = among((point) => !point.includes('/'));
  if (moved < VISIBLE) [moved, c, p] = among(() => true);
  const condition = machine.conditions[c]!.name;
  const { point } = machine.points[p]!;
  return trial.faultyReadings.find((r) => r.condition === condition && r.point === point)!;
}

/** Whether some net has no pin left once the open joints are open. */
function netsLost(machine: Machine, faults: readonly Fault[]): boolean {
  const open = new Set(
    faults
      .filter((f) => f.mode.startsWith('open-joint:'))
      .map((f) => `${f.part}.${f.mode.slice('open-joint:'.length)}`),
  );
  if (open.size === 0) return false;
  const all = new Set<string>();
  const left = new Set<string>();
  for (const p of machine.parts)
    for (const { pin, net } of p.pins) {
      all.add(net);
      if (!open.has(`${p.name}.${pin}`)) left.add(net);
    }
  return left.size < all.size;
}

/**
 * Whether some fault of `part` would read the same as the planted one at every point of this very unit: within
 * twice the reading's own random error. `instead` is the planted fault that it would stand for.
 */
export function indistinct(trial: Trial, part: string, instead: Fault): boolean {
  const { bench, faulty, after, planted } = trial;
  const { machine } = bench.board;
  const found = machine.parts.find((p) => p.name === part);
  if (found === undefined) return false;
  const others = planted.filter((f) => f !== instead);
  /** Largest departure from what is read, in twice the reading's error; above `limit` it may stop counting. */
  const apart = (fault: Fault): number => {
    const faults = [...others, fault];
    // Joints that were the only ones on a net leave no net to probe: that is a difference.
    if (netsLost(machine, faults)) return Number.POSITIVE_INFINITY;
    const { volts } = trueVolts(machine, bench.table, faulty, faults);
    let largest = 0;
    volts.forEach((own, c) => {
      const read = after.volts[c];
      if (own === undefined || read === undefined) return;
      own.forEach((v, p) => {
        largest = Math.max(largest, Math.abs(v - read[p]!) / (2 * readingError(machine, read[p]!)));
      });
    });
    return largest;
  };
  for (const { mode } of bench.kinds.filter((k) => k.part === part)) {
    for (const { low, high } of severities(found, mode)) {
      const at = (severity: number) => apart({ part, mode, severity });
      if (low === high) {
        if (at(low) <= 1) return true;
        continue;
      }
      // A coarse look along the logarithm, then a bracket closed around the best.
      const steps = 9;
      const step = Math.log(high / low) / (steps - 1);
      const looks = Array.from({ length: steps }, (_, k) => at(low * Math.exp(k * step)));
      let best = looks.indexOf(Math.min(...looks));
      if (looks[best]! > 200) continue;
      let reach = step;
      let place = Math.log(low) + best * step;
      best = looks[best]!;
      for (let round = 0; round < 12 && best > 1; round++) {
        for (const next of [place - reach / 2, place + reach / 2]) {
          const value = at(Math.exp(next));
          if (value < best) {
            best = value;
            place = next;
          }
        }
        reach /= 2;
      }
      if (best <= 1) return true;
    }
  }
  return false;
}
