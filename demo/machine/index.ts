/**
 * The demo machine, the totaliser of an invented harbour tide gauge, as a value. Start with `tideGauge`. It has no
 * readings: `../readings.ts` makes them. Everything here is invented.
 */
import type { Instrument, Machine, Rail, Unit } from '../../src/machine/index.ts';
import { adderBoard } from './adder.ts';
import { BOARDS } from './boards.ts';
import { clockBoard } from './clock.ts';
import { conditionOf, SETTINGS } from './conditions.ts';
import { counterBoard } from './counter.ts';
import { flowOf } from './flow.ts';
import { lineBoard } from './line.ts';
import { points } from './points.ts';
import { RUNNING, runningConditionOf } from './running.ts';
import { supplyBoard } from './supply.ts';
import { TYPES } from './types.ts';

export { conditionOf, REST, SETTINGS, type Setting, storedBits } from './conditions.ts';
export { RUNNING, type RunningSetting, runningConditionOf } from './running.ts';

const REFERENCE = '0V';
const RAILS: readonly Rail[] = [
  { net: '-24V', volts: -24, tolerance: 10 },
  { net: '+12V', volts: 12, tolerance: 10 },
  { net: '-80V', volts: -80, tolerance: 10 },
];
const UNITS: readonly Unit[] = [
  { id: 'north', health: 'healthy' },
  { id: 'south', health: 'faulty' },
];
const INSTRUMENTS: readonly Instrument[] = [
  { id: 'bench meter', ohms: 10e6, gain: 0.5, random: 0.2, volts: 0.004 },
  { id: 'station scope', ohms: 1e6, gain: 2.5, random: 1, volts: 0.03 },
  { id: 'travelling scope', ohms: 10e6, gain: 3, random: 1, volts: 0.04 },
];

/** The machine, without readings. */
export function tideGauge(): Machine {
  const sheets = [supplyBoard(), clockBoard(), counterBoard(), adderBoard(), lineBoard()];
  const parts = sheets.flatMap((sheet) => sheet.parts);
  const flow = flowOf(sheets);
  return {
    name: 'Harbour tide gauge totaliser',
    summary:
      'Counts the steps of a float gauge in one decade, adds the datum correction bit by bit and sends the sum to a recorder. Two units, from the north and the south mole. Invented for demonstration.',
    reference: REFERENCE,
    ambient: 20,
    rails: RAILS,
    units: UNITS,
    instruments: INSTRUMENTS,
    parts,
    types: TYPES,
    conditions: [...SETTINGS.map(conditionOf), ...RUNNING.map(runningConditionOf)],
    points: points(REFERENCE, parts, flow),
    readings: [],
    flow,
    boards: BOARDS,
  };
}
