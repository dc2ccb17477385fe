import type { MachineEntry, RecordReading } from '../records/index.ts';
import { type Desk, type UnitAnswer, verdict } from '../workbench/index.ts';
import { readingValue } from './reading-text.ts';
import type { ReadingView } from './record-views.ts';
import type { BenchRow, BenchView, LevelView } from './views.ts';

type Levels = Awaited<ReturnType<Desk['levels']>>;

/** From so many spreads on, the drawing's own level is shown beside the one that a healthy unit has taught. */
const DRAWING_SPREADS = 4;

/**
 * The column of the bench page.
 *
 * @param readings  of the state, of all units
 * @param answer  where there is one: it knows which readings look like slips
 * @param against  the unit whose readings stand beside; all others without it
 */
export function benchView(
  entry: MachineEntry,
  unit: string,
  state: string,
  levels: Levels,
  readings: readonly RecordReading[],
  answer: UnitAnswer | undefined,
  against: string | undefined,
): BenchView {
  const standing = new Map<string, RecordReading[]>();
  for (const one of readings) {
    if (one.superseded || one.withdrawn || one.quantity !== 'V') continue;
    const list = standing.get(one.point);
    if (list === undefined) standing.set(one.point, [one]);
    else list.push(one);
  }
  const aside = new Set(
    (answer?.diagnosis.setAside ?? []).filter((one) => one.condition === state).map(({ point }) => point),
  );
  const rows = levels.levels.map((level): BenchRow => {
    const here = standing.get(level.point) ?? [];
    const own = level.reading === undefined ? undefined : here.find((one) => one.unit === unit);
    return {
      point: level.point,
      sound: level.sound ?? null,
      drawing: drawingLevel(level),
      learnt: level.learnt,
      twins: here
        .filter((one) => one.unit !== unit && (against === undefined || one.unit === against))
        .map((one) => ({ unit: one.unit, value: readingValue('V', one.value) ?? Number.NaN, id: one.id }))
        .filter(({ value }) => Number.isFinite(value)),
      reading:
        own === undefined
          ? null
          : {
              id: own.id,
              value: level.reading!,
              text: own.value,
              takenAt: own.takenAt,
              instrument: own.instrument,
              ambient: own.ambient.trim() === '' ? null : Number(own.ambient),
              setAside: aside.has(level.point),
            },
      off: level.z ?? null,
      verdict: level.z === undefined ? null : verdict(level.z),
    };
  });
  return {
    revision: entry.revision,
    unit,
    state,
    rows,
    noPoint: levels.noPoint ?? null,
    stateLost: levels.stateLost,
  };
}

function drawingLevel({ sound, drawing }: Levels['levels'][number]): LevelView | null {
  if (sound === undefined || drawing === undefined || !Number.isFinite(drawing)) return null;
  return Math.abs(drawing - sound.value) >= DRAWING_SPREADS * sound.sigma
    ? { value: drawing, sigma: sound.sigma }
    : null;
}

export function readingView(reading: RecordReading): ReadingView {
  const { id, unit, condition, point, quantity, value, uncertainty, ambient, instrument, note } = reading;
  return {
    ...{ id, unit, state: condition, point, quantity, text: value, uncertainty, ambient, instrument, note },
    value: readingValue(quantity, value) ?? null,
    takenAt: reading.takenAt,
    standing: reading.withdrawn ? 'withdrawn' : reading.superseded ? 'superseded' : 'counts',
  };
}
