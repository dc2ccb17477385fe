/** What is measured on one trace, as the table beside the view lists it. Runs in a worker: it may take a second. */

import {
  delay,
  type Edges,
  type Estimate,
  edgesOfLogic,
  type LogicTrace,
  type Measurement,
  measurement,
  type Pulses,
  pulses,
  type TimeWindow,
  type Trace,
} from '../../waveform/index.ts';

export interface Quantity {
  /** Its name as a reading has it; absent where it is none. */
  readonly reading?: string;
  readonly words: string;
  /** `V`, `s`, `Hz`; `%` for a share of one, empty for a count. */
  readonly unit: string;
  readonly estimate: Estimate;
}

/** A channel whose edges delays are counted from. */
export interface DelayFrom {
  readonly point: string;
  readonly edges: Edges;
}

/** @param from  other channels of the same capture */
export function quantities(
  trace: Trace,
  window: TimeWindow | undefined,
  from: readonly DelayFrom[] = [],
): readonly Quantity[] {
  const stretch = window === undefined ? {} : { window };
  const all = measurement(trace, stretch);
  const low = measurement(trace, { ...stretch, polarity: 'negative', ...levelsOf(all) });
  return [...listed(all, low, trace.unit), ...delays(all.edges, from)];
}

/** Of a logic line: what its edges say. */
export function logicQuantities(
  trace: LogicTrace,
  window: TimeWindow | undefined,
  from: readonly DelayFrom[] = [],
): readonly Quantity[] {
  const edges = edgesOfLogic(trace, window);
  const [start, end] = [window?.from ?? trace.instants[0] ?? 0, window?.to ?? trace.end];
  const high = pulses(edges, start, end);
  const low = pulses(edges, start, end, { polarity: 'negative' });
  const moves: Estimate =
    edges.reason === 'no samples'
      ? { reason: edges.reason }
      : { value: edges.count > 0 ? 1 : 0, uncertainty: 0, count: trace.states.length };
  return [
    { reading: 'moves', words: 'moves at all', unit: '', estimate: moves },
    ...pulseQuantities(high, low),
    ...jitterQuantities(high),
    ...delays(edges, from),
  ];
}

/** The levels that were found, so that a second measurement need not find them again. */
function levelsOf({ levels }: Measurement): { readonly levels?: { low: number; high: number } } {
  const { low, high, method } = levels;
  return method !== 'one level' && 'value' in low && 'value' in high && low.value < high.value
    ? { levels: { low: low.value, high: high.value } }
    : {};
}

function listed(all: Measurement, low: Measurement, unit: string): Quantity[] {
  const { levels, rise, fall } = all;
  const still = levels.method === 'one level';
  const moves: Estimate =
    levels.method === 'nothing'
      ? { reason: 'no samples' }
      : { value: still ? 0 : 1, uncertainty: 0, count: levels.count };
  return [
    { reading: 'moves', words: 'moves at all', unit: '', estimate: moves },
    // What stands still is what a meter reads.
    ...(still ? [{ reading: 'V', words: 'level', unit, estimate: all.average }] : []),
    { reading: 'high', words: 'high level', unit, estimate: levels.high },
    { reading: 'low', words: 'low level', unit, estimate: levels.low },
    { words: 'amplitude', unit, estimate: levels.amplitude },
    { reading: 'average', words: 'average', unit, estimate: all.average },
    { words: 'root mean square', unit, estimate: all.rms },
    { reading: 'Vpp', words: 'peak to peak', unit, estimate: all.peakToPeak },
    ...pulseQuantities(all, low),
    { reading: 'rise', words: 'rise, 10 to 90 %', unit: 's', estimate: rise.duration },
    { reading: 'fall', words: 'fall, 90 to 10 %', unit: 's', estimate: fall.duration },
    { words: 'overshoot, rising', unit: '%', estimate: rise.overshoot },
    { words: 'overshoot, falling', unit: '%', estimate: fall.overshoot },
    { words: 'undershoot, rising', unit: '%', estimate: rise.undershoot },
    { words: 'undershoot, falling', unit: '%', estimate: fall.undershoot },
    { words: 'settles after rising', unit: 's', estimate: rise.settling },
    { words: 'settles after falling', unit: 's', estimate: fall.settling },
    ...jitterQuantities(all),
  ];
}

function pulseQuantities(all: Pulses, low: Pulses): Quantity[] {
  return [
    { reading: 'period', words: 'period', unit: 's', estimate: all.period },
    { reading: 'Hz', words: 'frequency', unit: 'Hz', estimate: all.frequency },
    { reading: 'width', words: 'pulse width, high', unit: 's', estimate: all.pulseDuration },
    { words: 'pulse width, low', unit: 's', estimate: low.pulseDuration },
    { words: 'duty', unit: '%', estimate: all.dutyFactor },
  ];
}

function jitterQuantities(all: Pulses): Quantity[] {
  return [
    { words: 'jitter of the period', unit: 's', estimate: all.periodJitter },
    { words: 'pulses', unit: '', estimate: { value: all.pulseCount, uncertainty: 0, count: all.pulseCount } },
    ...('reason' in all.bursts
      ? []
      : [
          { words: 'pulses in a burst', unit: '', estimate: all.bursts.pulses },
          { words: 'burst', unit: 's', estimate: all.bursts.duration },
          { words: 'burst to burst', unit: 's', estimate: all.bursts.period },
        ]),
  ];
}

function delays(edges: Edges, from: readonly DelayFrom[]): Quantity[] {
  return from.map(({ point, edges: first }) => ({
    reading: `delay:${point}`,
    words: `delay after ${point}`,
    unit: 's',
    estimate: delay(first, edges),
  }));
}

const LEVELS: readonly string[] = ['V', 'high', 'low', 'average', 'Vpp'];

/** Whether a quantity of a trace in this unit can be a reading: levels are in volts. */
export function isReading({ reading }: Quantity, unit: string): boolean {
  return reading !== undefined && (unit === 'V' || !LEVELS.includes(reading));
}

const REASONS: Readonly<Record<string, string>> = {
  'no samples': 'no samples here',
  'one level only': 'it rests on one level',
  'no full transition': 'no full transition here',
  'no whole pulse': 'no whole pulse here',
  'no whole period': 'no whole period here',
  'fewer than three periods': 'fewer than three periods here',
  'not settled in the window': 'it does not settle here',
  'noise wider than the settling band': 'its noise is wider than 5 %',
  'no instant follows': 'no edge follows',
};

/** Why there is no value, for a table. */
export function reasonWords(reason: string): string {
  return REASONS[reason] ?? reason;
}

/** A value as the field of a reading takes it, to as many digits as its uncertainty bears and two more. */
export function readingText(value: number, uncertainty: number): string {
  if (value === 0) return '0';
  const digits = uncertainty > 0 ? Math.ceil(Math.log10(Math.abs(value) / uncertainty)) + 3 : 7;
  return String(Number(value.toPrecision(Math.min(9, Math.max(3, digits)))));
}
