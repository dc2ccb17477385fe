/**
 * Readings as numbers with variances: which count, which are history, and what the meter adds.
 */
import type { Machine, Reading } from '../machine/index.ts';
import type { Site } from './site.ts';

export interface Datum {
  readonly reading: Reading;
  /** Index of the condition in the machine. */
  readonly condition: number;
  readonly site: Site;
  readonly value: number;
  /** Variance of the reading itself, V². */
  readonly variance: number;
  /** Gain error common to a visit: standard deviation, relative, and the name of the visit. */
  readonly gain: number;
  readonly visit: string;
  readonly meterOhms: number;
  readonly ambient: number;
}

/** The standard uncertainty of a reading: its own, the instrument's, or 1 % and 10 mV as the folder's format says. */
export function readingSigma(machine: Machine, r: Reading): number {
  if (r.uncertainty !== undefined) return Math.max(r.uncertainty, 1e-4);
  const instrument = machine.instruments.find((i) => i.id === r.instrument);
  if (instrument) return Math.hypot((instrument.random / 100) * r.value, instrument.volts, 1e-4);
  return 0.01 * Math.abs(r.value) + 0.01;
}

/** Two visits are taken for different times of a unit's life when so many days lie between them. */
export const VISIT_GAP_DAYS = 45;

/** Days since 1970; a time without a zone is taken as it stands, so that no answer depends on where it is computed. */
export function day(takenAt: string): number {
  const zoned = !/[T ]/.test(takenAt) || /(Z|[+-]\d\d(:?\d\d)?)$/i.test(takenAt);
  const t = Date.parse(zoned ? takenAt : `${takenAt}Z`);
  return Number.isFinite(t) ? t / 86_400_000 : Number.NaN;
}

/**
 * The readings of one unit: those that count now, and those of earlier visits.
 *
 * The latest reading of a point in a condition counts. A visit is what was read without a gap of more than VISIT_GAP_DAYS. The last one
 * counts; an earlier one at which the unit was not sound is of the same trouble and counts too, unless the unit was sound, or
 * repaired, in between. What is before that is history. Of a unit that serves as the sound one it is the other way round: visits at which
 * it was sound are of one good time of its life, and count back to a repair or to the last one at which it was not.
 *
 * @param known  data of readings of the same machine and the same sites, to be given again
 * @param wasSound  whether a visit's readings are those of a sound unit; without it, it was
 * @param time  the time of its life that counts: that of its `trouble`, or the good time of a `twin`
 */
export function readingsOf(
  machine: Machine,
  unit: string,
  sites: ReadonlyMap<string, Site>,
  known: WeakMap<Reading, Datum> = new WeakMap(),
  wasSound: (visit: readonly Datum[]) => boolean = () => true,
  time: 'trouble' | 'twin' = 'trouble',
): { now: Datum[]; history: Datum[] } {
  const index = new Map(machine.conditions.map((c, i) => [c.name, i]));
  const days = new Map<string, number>();
  const dayOf = (takenAt: string): number => {
    let found = days.get(takenAt);
    if (found === undefined) {
      found = day(takenAt);
      days.set(takenAt, found);
    }
    return found;
  };
  const own: { reading: Reading; order: number; day: number }[] = [];
  machine.readings.forEach((reading, order) => {
    if (reading.unit === unit && reading.quantity === 'V' && index.has(reading.condition))
      own.push({ reading, order, day: dayOf(reading.takenAt) });
  });
  // A reading without a date has no day and does not count here.
  const last = own.reduce((most, x) => Math.max(most, Number.isNaN(x.day) ? most : x.day), -Infinity);
  const toDatum = (r: Reading): Datum => {
    const before = known.get(r);
    if (before) return before;
    const datum = newDatum(r);
    known.set(r, datum);
    return datum;
  };
  const newDatum = (r: Reading): Datum => {
    const instrument = machine.instruments.find((i) => i.id === r.instrument);
    return {
      reading: r,
      condition: index.get(r.condition)!,
      site: sites.get(r.point)!,
      value: r.value,
      variance: readingSigma(machine, r) ** 2,
      gain: instrument ? instrument.gain / 100 : 0.005,
      visit: `${unit} ${r.instrument} ${r.takenAt.slice(0, 10)}`,
      meterOhms: instrument?.ohms ?? 1e7,
      ambient: r.ambient ?? machine.ambient,
    };
  };
  const latest = (list: typeof own): Datum[] => {
    const kept = new Map<string, (typeof own)[number]>();
    for (const x of list) {
      const key = `${x.reading.condition}\n${x.reading.point}`;
      const old = kept.get(key);
      if (!old || !(x.day < old.day)) kept.set(key, x);
    }
    return [...kept.values()].sort((a, b) => a.order - b.order).map((x) => toDatum(x.reading));
  };
  const repaired = Math.max(
    -Infinity,
    ...(machine.repairs ?? [])
      .map((r) => (r.unit === unit ? dayOf(r.date) : -Infinity))
      .filter(Number.isFinite),
  );
  const recent = own.filter((x) => !(x.day < last - VISIT_GAP_DAYS));
  let older = own.filter((x) => x.day < last - VISIT_GAP_DAYS);
  while (older.length > 0) {
    const end = older.reduce((most, x) => Math.max(most, x.day), -Infinity);
    const visit = older.filter((x) => x.day >= end - VISIT_GAP_DAYS);
    if (end <= repaired || wasSound(latest(visit)) !== (time === 'twin')) break;
    recent.push(...visit);
    older = older.filter((x) => !visit.includes(x));
  }
  return { now: latest(recent), history: latest(older) };
}
