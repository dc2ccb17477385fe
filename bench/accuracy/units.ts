/** Draws the true units of a pair, and what a person reads on them. */
import type { Machine, Reading } from '../../src/machine/model.ts';
import type { TrialBoard } from './boards/index.ts';
import { type Fault, network, type OperatingPoint, type ParameterTable, Solver } from './physics/index.ts';
import type { Chance } from './random.ts';

/** One specimen: its parameters, the temperature of its room, and the gain error of the day's meter. */
export interface TrueUnit {
  readonly theta: Float64Array;
  readonly ambient: number;
  readonly meterGain: number;
}

/** Share of readings where the probe slipped to another net. */
export const SLIP_RATE = 0.002;
/** Standard uncertainty of a stated room temperature, °C. */
const THERMOMETER = 0.5;

/** Draws beyond this many standard deviations are taken again: such parts are sorted out when a machine is built. */
const MOST_DEVIATIONS = 2.5;

function ordinary(chance: Chance): number {
  for (;;) {
    const draw = chance.normal();
    if (Math.abs(draw) < MOST_DEVIATIONS) return draw;
  }
}

/** Two units of one machine: what their parameters have in common is drawn once. Rooms are up to 12 °C apart. */
export function unitPair(table: ParameterTable, chance: Chance): [TrueUnit, TrueUnit] {
  const common = Float64Array.from(table.parameters, (p) => p.mean + p.shared * ordinary(chance));
  const first = 16 + 12 * chance.uniform();
  const second = Math.min(32, Math.max(14, first + 12 * (2 * chance.uniform() - 1)));
  const unit = (ambient: number): TrueUnit => ({
    theta: common.map((value, k) => value + table.parameters[k]!.unit * ordinary(chance)),
    ambient,
    meterGain: 1 + 0.005 * chance.normal(),
  });
  return [unit(first), unit(second)];
}

/** Whether a unit does what its designer meant: every expected level of the board within its range. */
export function works(board: TrialBoard, table: ParameterTable, unit: TrueUnit): boolean {
  const { machine, expected } = board;
  const circuit = network(machine, table);
  circuit.set(unit.theta, unit.ambient);
  const solver = new Solver(circuit);
  return machine.conditions.every((condition) => {
    const state = solver.operatingPoint(condition, unit.theta);
    if (state === undefined) return false;
    return expected.every((e) => {
      if (e.condition !== condition.name) return true;
      const volts = state.volts[circuit.nodeOfNet(e.net)]!;
      return volts >= e.low && volts <= e.high;
    });
  });
}

/** A pair of units of which both work, drawn again until they do; most pairs are taken at once. */
export function workingPair(board: TrialBoard, table: ParameterTable, chance: Chance): [TrueUnit, TrueUnit] {
  for (let attempt = 0; attempt < 50; attempt++) {
    const pair = unitPair(table, chance);
    if (pair.every((unit) => works(board, table, unit))) return pair;
  }
  throw new RangeError(`${board.name}: no working pair in 50 draws`);
}

/** True volts, meter connected, by condition and point; `undefined` where the circuit comes to no rest. */
export interface TrueVolts {
  /** By condition: volts of each point, in the order of `points`. */
  readonly volts: readonly (Float64Array | undefined)[];
  readonly states: readonly (OperatingPoint | undefined)[];
}

export function trueVolts(
  machine: Machine,
  table: ParameterTable,
  unit: TrueUnit,
  faults: readonly Fault[] = [],
  points: readonly string[] = machine.points.map((p) => p.point),
): TrueVolts {
  const circuit = network(machine, table, faults);
  circuit.set(unit.theta, unit.ambient);
  const solver = new Solver(circuit);
  const nodes = points.map((point) => circuit.nodeOfPoint(point));
  const states = machine.conditions.map((condition) => solver.operatingPoint(condition, unit.theta));
  const volts = states.map((state, k) =>
    state === undefined
      ? undefined
      : Float64Array.from(solver.metered(state, machine.conditions[k]!, unit.theta, nodes)),
  );
  return { volts, states };
}

/** Standard deviation of a reading's own random error for the instrument of the boards, volts. */
export function readingError(machine: Machine, volts: number): number {
  const { random, volts: absolute } = machine.instruments[0]!;
  return Math.hypot((random / 100) * volts, absolute);
}

/** Every reading of a unit: each condition and point once, with the meter's errors and the odd slipped probe. */
export function unitReadings(
  machine: Machine,
  unit: string,
  facts: TrueUnit,
  truth: TrueVolts,
  chance: Chance,
): Reading[] {
  const instrument = machine.instruments[0]!;
  const ambient = Math.round((facts.ambient + THERMOMETER * chance.normal()) * 2) / 2;
  const readings: Reading[] = [];
  machine.conditions.forEach((condition, c) => {
    const volts = truth.volts[c];
    machine.points.forEach(({ point }, p) => {
      // Draw even where nothing is read, so that one lost condition does not change the others' errors.
      const slips = chance.uniform() < SLIP_RATE;
      const elsewhere = chance.below(machine.points.length + 1);
      const noise = chance.normal();
      if (volts === undefined) return;
      const at = slips ? (volts[elsewhere] ?? 0) : volts[p]!;
      const value = at * facts.meterGain + readingError(machine, at) * noise;
      readings.push({
        unit,
        condition: condition.name,
        point,
        quantity: 'V',
        value: Math.round(value * 1000) / 1000,
        takenAt: unit === machine.units[0]!.id ? '2021-03-06T10:00:00Z' : '2021-03-07T10:00:00Z',
        ambient,
        instrument: instrument.id,
        note: '',
      });
    });
  });
  return readings;
}
