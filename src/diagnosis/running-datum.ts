/** Readings of running states as numbers with variances: which count, and what a sound unit showed at the same place. */
import { isRunning, type Machine, quantityOf, type Reading } from '../machine/index.ts';
import { day, VISIT_GAP_DAYS } from './datum.ts';
import { netOfPoint, type Site } from './site.ts';

/** A reading of a running state. Of hertz it is the period, in seconds. */
export interface RunningDatum {
  readonly reading: Reading;
  /** Number of the condition in the machine. */
  readonly condition: number;
  readonly site: Site;
  /** As readings.csv has it; `period` for hertz. */
  readonly quantity: string;
  readonly value: number;
  readonly variance: number;
  /** What sound units showed there, and with which variance. */
  readonly twin?: { readonly value: number; readonly variance: number };
}

/**
 * Standard uncertainties of what an oscilloscope shows, where none is stated: of volts, of seconds. Common practice, no source: two
 * to three per cent for gain and time base, and what the eye makes of the screen.
 */
const VOLTS_SHARE = 0.03;
const VOLTS = 0.03;
const SECONDS_SHARE = 0.03;
const SECONDS = 20e-9;

/** What is weighed of a waveform: a quantity in the unit that it is weighed in. */
function weighedQuantity(quantity: string): string {
  return quantity === 'Hz' ? 'period' : quantity;
}

export function isInVolts(quantity: string): boolean {
  return quantityOf(quantity)?.unit === 'V';
}

/** The standard uncertainty of a value of a running quantity, where the reading states none. */
export function usualSigma(quantity: string, value: number): number {
  if (quantity === 'moves') return 0;
  return isInVolts(quantity)
    ? VOLTS_SHARE * Math.abs(value) + VOLTS
    : SECONDS_SHARE * Math.abs(value) + SECONDS;
}

/** Value and variance in the unit that is weighed; undefined for a frequency of nothing. */
function measured(machine: Machine, r: Reading): { value: number; variance: number } | undefined {
  if (r.quantity === 'Hz') {
    if (!(r.value > 0)) return undefined;
    const value = 1 / r.value;
    const sigma = r.uncertainty === undefined ? usualSigma('period', value) : r.uncertainty * value * value;
    return { value, variance: sigma * sigma };
  }
  let sigma = r.uncertainty ?? usualSigma(r.quantity, r.value);
  const instrument = machine.instruments.find(({ id }) => id === r.instrument);
  if (r.uncertainty === undefined && instrument && isInVolts(r.quantity))
    sigma = Math.hypot(((instrument.gain + instrument.random) / 100) * r.value, instrument.volts);
  return { value: r.value, variance: sigma * sigma };
}

/**
 * The readings of a unit in running states that count: the latest of each point and quantity, of its last visit. Those of sound units
 * beside them count back to their last repair.
 */
export function runningData(
  machine: Machine,
  unit: string,
  siteOf: (point: string) => Site | undefined,
): RunningDatum[] {
  const healthy = machine.units.filter((u) => u.health === 'healthy' && u.id !== unit);
  const twins = healthy.map(({ id }) => latestOf(machine, id, 'twin'));
  return [...latestOf(machine, unit, 'trouble').values()].flatMap((reading): RunningDatum[] => {
    const key = placeOf(machine, reading);
    const own = measured(machine, reading);
    const site = siteOf(reading.point);
    if (own === undefined || site === undefined) return [];
    const shown = twins.flatMap((readings) => {
      const other = readings.get(key);
      return other === undefined ? [] : (measured(machine, other) ?? []);
    });
    const n = shown.length;
    const twin = {
      value: shown.reduce((sum, { value }) => sum + value, 0) / n,
      variance: shown.reduce((sum, { variance }) => sum + variance, 0) / (n * n),
    };
    return [
      {
        reading,
        condition: machine.conditions.findIndex(({ name }) => name === reading.condition),
        site,
        quantity: weighedQuantity(reading.quantity),
        ...own,
        ...(n > 0 ? { twin } : {}),
      },
    ];
  });
}

function placeOf(machine: Machine, { condition, point, quantity }: Reading): string {
  const read = weighedQuantity(quantity);
  // A delay counts from a wire, whichever pin of it was probed.
  const from = read.startsWith(DELAY) ? `${DELAY}${netOfPoint(machine, read.slice(DELAY.length)).net}` : read;
  return `${condition}\n${netOfPoint(machine, point).net}\n${from}`;
}
const DELAY = 'delay:';

function latestOf(machine: Machine, unit: string, time: 'trouble' | 'twin'): Map<string, Reading> {
  const running = new Set(machine.conditions.filter(isRunning).map(({ name }) => name));
  const own = machine.readings.filter((r) => r.unit === unit);
  const days = own.map((r) => day(r.takenAt));
  const last = Math.max(-Infinity, ...days.filter(Number.isFinite));
  const repairs = (machine.repairs ?? []).filter((r) => r.unit === unit).map(({ date }) => day(date));
  const repaired = Math.max(-Infinity, ...repairs.filter(Number.isFinite));
  const kept = new Map<string, { reading: Reading; day: number }>();
  own.forEach((reading, i) => {
    const quantity = quantityOf(reading.quantity);
    if (!running.has(reading.condition) || quantity === undefined) return;
    if (['V', 'ohm', 's'].includes(quantity.name)) return;
    const at = days[i]!;
    if (at < repaired || (time === 'trouble' && at < last - VISIT_GAP_DAYS)) return;
    const key = placeOf(machine, reading);
    // A pin and its net are two places of the unit that is in question, and one of a sound unit.
    const place = time === 'twin' ? key : `${key}\n${reading.point}`;
    const before = kept.get(place);
    if (before === undefined || !(at < before.day)) kept.set(place, { reading, day: at });
  });
  return new Map([...kept].map(([key, { reading }]) => [key, reading]));
}
