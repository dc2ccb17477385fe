/**
 * What each point of one state should read on a unit if it is sound, all that sound units and its own past have taught included.
 */
import { CircuitSolver, netlistOf } from '../circuit/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import { Baseline, type SoundDatum } from './baseline.ts';
import { readingSigma } from './datum.ts';
import type { Site } from './site.ts';
import { type Row, rowTimes } from './sparse-gaussian.ts';
import { fedConditions, learntSigma } from './stage.ts';
import { FaultTable, soundPoints, tableAmbient } from './table.ts';

export interface UnitLevel {
  readonly point: string;
  /** Volts; undefined where neither the circuit nor a sound unit says anything. */
  readonly sound?: { readonly value: number; readonly sigma: number };
  /** The drawing's level without any reading, volts; undefined where the circuit computes nothing. */
  readonly drawing?: number;
  /** The circuit computes nothing here: `sound` is what a sound unit reads. */
  readonly learnt: boolean;
  /** The unit's reading that counts now, volts. */
  readonly reading?: number;
  /** (reading - sound.value) / sound.sigma. */
  readonly z?: number;
}

export interface UnitLevels {
  /** One for each point where a probe can go, and any other that has been read. */
  readonly levels: readonly UnitLevel[];
  /** The nets that hold out where no operating point was found. */
  readonly noPoint?: readonly string[];
  /** The sound circuit does not hold the state that the hints name. */
  readonly stateLost: boolean;
}

/** A baseline without a fault table: enough for levels, and quickly there. */
export function soundBaseline(machine: Machine, unit: string): Baseline {
  const conditions = fedConditions(machine, unit);
  const solver = new CircuitSolver(netlistOf(machine));
  const sound = soundPoints(solver, conditions, tableAmbient(machine));
  return new Baseline(machine, FaultTable.soundOnly(machine, conditions, sound), unit);
}

/**
 * Levels of a unit in one condition.
 *
 * @param baseline  of the unit: of a reckoning, or `soundBaseline`
 * @param condition  index in the machine
 */
export function unitLevels(machine: Machine, baseline: Baseline, condition: number): UnitLevels {
  const read = new Map<string, SoundDatum | (typeof baseline.learntOnly)[number]>();
  for (const d of [...baseline.data, ...baseline.learntOnly])
    if (d.condition === condition) read.set(d.site.point, d);
  // Where all moves no level stands still: what its waveforms tell is in the running table.
  if (isRunning(machine.conditions[condition]!))
    return {
      levels: [...baseline.sites.values()].map(({ point }) => ({ point, learnt: false })),
      stateLost: false,
    };
  const computed = new Map<number, UnitLevel['sound']>();
  const levels = [...baseline.sites.values()].map((site): UnitLevel => {
    const datum = read.get(site.point);
    const drawn = baseline.computed(condition, site.net);
    let sound: UnitLevel['sound'];
    if (!drawn) sound = learntLevel(machine, baseline, condition, site);
    else if (datum && 'row' in datum) sound = levelOfDatum(baseline, condition, datum);
    else {
      if (!computed.has(site.net)) computed.set(site.net, levelOfNet(baseline, condition, site.net));
      sound = computed.get(site.net);
    }
    return {
      point: site.point,
      ...(sound && { sound }),
      ...(drawn && { drawing: baseline.table.sound[condition]!.volts[site.net]! }),
      learnt: !drawn,
      ...(datum && { reading: datum.value }),
      ...(datum && sound && { z: (datum.value - sound.value) / sound.sigma }),
    };
  });
  const point = baseline.table.sound[condition]!;
  return {
    levels,
    ...(point.converged ? {} : { noPoint: point.worst.map(({ net }) => net) }),
    stateLost: point.converged && !point.stateHeld,
  };
}

/** As for a departure: with the reading's own room, meter and error. */
function levelOfDatum(baseline: Baseline, condition: number, d: SoundDatum): UnitLevel['sound'] {
  const model = baseline.modelAt(condition, d.site.net);
  return level(baseline, d.row, d.expected + model.offset, d.rest + model.variance + d.variance);
}

/** With the meter's usual error: 1 % of the level and 10 mV. */
function levelOfNet(baseline: Baseline, condition: number, net: number): UnitLevel['sound'] {
  const { table } = baseline;
  const found = baseline.soundSlope(table.ambient, condition, net);
  if (!found) return undefined;
  const nominal = table.sound[condition]!.volts[net]!;
  const model = baseline.modelAt(condition, net);
  const { row, rest } = found;
  const meter = (0.01 * Math.abs(nominal) + 0.01) ** 2;
  return level(baseline, row, nominal + model.offset, rest + model.variance + meter);
}

function level(baseline: Baseline, row: Row, nominal: number, variance: number): UnitLevel['sound'] {
  const { gaussian } = baseline;
  return {
    value: nominal + rowTimes(row, gaussian.mean),
    sigma: Math.sqrt(rowTimes(row, gaussian.covariance(row)) + variance),
  };
}

function learntLevel(
  machine: Machine,
  baseline: Baseline,
  condition: number,
  site: Site,
): UnitLevel['sound'] {
  const value = baseline.twinAt(condition, site);
  if (value === undefined) return undefined;
  const own = baseline.learntOnly.find((d) => d.condition === condition && d.site === site);
  const meter = own ? readingSigma(machine, own.reading) : 0.01 * Math.abs(value) + 0.01;
  return { value, sigma: Math.hypot(learntSigma(value), meter) };
}
