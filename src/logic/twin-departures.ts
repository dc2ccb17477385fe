/** Running readings of a unit against those of its healthy twin: what can be told where nothing is computed. */
import { type Machine, quantityOf, type Reading } from '../machine/index.ts';

/** Spread of a level between two sound units: a share of it, and volts. Common practice, no source. */
const TWIN_LEVEL_SHARE = 0.06;
const TWIN_VOLTS = 0.1;
/**
 * Spread of a time between two sound units, a share of it: a resistor of 10 % and a capacitor of 20 %, evenly spread, in each of two units:
 * sqrt(2 (0.1^2 + 0.2^2) / 3). Common practice for the tolerances, no source.
 */
const TWIN_TIME_SHARE = 0.18;
/** The same for edges, which go with the gain of a transistor, three to one between sound ones. Common practice, no source. */
const TWIN_EDGE_SHARE = 0.4;
/** A reading without an uncertainty of its own: a share of it, as the folder's format has it. */
const READING_SHARE = 0.01;

/** How far a running reading is from the twin's, in spreads of two sound units. */
export interface TwinDeparture {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly value: number;
  readonly twin: number;
  /** Positive when the unit reads more; without limit where one moves and the other does not. */
  readonly z: number;
}

/** Every running reading of the unit that a healthy unit has beside it, the latest of each. */
export function twinDepartures(machine: Machine, unit: string): TwinDeparture[] {
  const healthy = new Set(
    machine.units.filter(({ id, health }) => health === 'healthy' && id !== unit).map(({ id }) => id),
  );
  const own = new Map<string, Reading>();
  const twins = new Map<string, Reading>();
  for (const reading of machine.readings) {
    const list = reading.unit === unit ? own : healthy.has(reading.unit) ? twins : undefined;
    const key = `${reading.condition}\n${reading.point}\n${reading.quantity}`;
    const there = list?.get(key);
    if (there === undefined || there.takenAt <= reading.takenAt) list?.set(key, reading);
  }
  return [...own].flatMap(([key, reading]) => {
    const twin = twins.get(key);
    const z = twin === undefined ? undefined : departure(reading, twin);
    if (twin === undefined || z === undefined) return [];
    const { condition, point, quantity, value } = reading;
    return [{ condition, point, quantity, value, twin: twin.value, z }];
  });
}

function departure(reading: Reading, twin: Reading): number | undefined {
  const name = quantityOf(reading.quantity)?.name;
  const off = reading.value - twin.value;
  if (name === 'moves') return off === 0 ? 0 : off * Number.POSITIVE_INFINITY;
  const size = Math.abs(twin.value);
  const between = spreadOf(name, size);
  if (between === undefined) return undefined;
  const error = (one: Reading) => one.uncertainty ?? READING_SHARE * Math.abs(one.value);
  const sigma = Math.hypot(between, error(reading), error(twin));
  return off === 0 ? 0 : off / sigma;
}

/** Standard deviation between two sound units; `undefined` for what is no running quantity. */
function spreadOf(name: string | undefined, size: number): number | undefined {
  switch (name) {
    case 'high':
    case 'low':
    case 'average':
    case 'Vpp':
      return Math.hypot(TWIN_LEVEL_SHARE * size, TWIN_VOLTS);
    case 'width':
    case 'period':
    case 'Hz':
    case 'delay':
      return TWIN_TIME_SHARE * size;
    case 'rise':
    case 'fall':
      return TWIN_EDGE_SHARE * size;
    default:
      return undefined;
  }
}
