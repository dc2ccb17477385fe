/** Two invented oscilloscopes: what each makes of a waveform, and how each writes it down. */
import type { Trace } from '../src/waveform/index.ts';
import type { Chance } from './random.ts';
import type { Waveforms } from './running-unit.ts';

export interface Scope {
  /** As machine.json names it. */
  readonly id: string;
  /** By how much its volts are wrong today, a factor. */
  readonly gain: number;
  /** By how much its time base runs fast, a factor. */
  readonly rate: number;
  /** Noise of a sample, share of the screen (standard deviation). */
  readonly noise: number;
  /** Text of a capture. */
  readonly text: (capture: ScopeCapture) => string;
}

/** What is on a screen at once. */
export interface ScopeCapture {
  readonly channels: readonly Trace[];
  /** Volts of the whole screen, by channel. */
  readonly screens: readonly number[];
}

/** Names of the scopes with their errors of volts and of time, standard deviations, and their noise. */
const MAKES = {
  'station scope': { gain: 0.025, rate: 0.004, noise: 0.003, text: commaText },
  'travelling scope': { gain: 0.03, rate: 0.006, noise: 0.005, text: semicolonText },
} as const;
export type ScopeName = keyof typeof MAKES;

/** A scope as it is on one day. */
export function scopeOf(id: ScopeName, chance: Chance): Scope {
  const { gain, rate, noise, text } = MAKES[id];
  return { id, gain: 1 + gain * chance.normal(), rate: 1 + rate * chance.normal(), noise, text };
}

const COUNTS = 256;
/** Volts of a whole screen, eight divisions. */
const SCREENS = [0.4, 0.8, 1.6, 4, 8, 16, 40, 80, 160];

/** Volts of the screen on which a waveform has room, and its middle, a whole division. */
function screenOf(low: number, high: number): { volts: number; middle: number } {
  const volts = SCREENS.find((s) => s >= 1.15 * (high - low) + 0.02) ?? SCREENS.at(-1)!;
  const division = volts / 8;
  return { volts, middle: division * Math.round((low + high) / 2 / division) };
}

/**
 * One channel: `count` samples from `from` to `to` seconds of the scope's own time, eight bits of the screen each. A scope whose time
 * base runs fast looks at less than it says.
 */
export function sampled(
  scope: Scope,
  waveforms: Waveforms,
  point: string,
  window: { readonly from: number; readonly to: number; readonly count: number },
  chance: Chance,
): { trace: Trace; screen: number } {
  const { instants } = waveforms;
  const volts = waveforms.of(point);
  if (!volts) throw new Error(`${point} is on no board that is in`);
  const { from, to, count } = window;
  const step = Number(((to - from) / count).toPrecision(4));
  const start = Number(from.toPrecision(6));
  const shown = new Float64Array(count);
  let i = 0;
  for (let k = 0; k < count; k++) {
    const t = (start + k * step) / scope.rate;
    while (i + 2 < instants.length && instants[i + 1]! < t) i++;
    const share = Math.max(0, Math.min(1, (t - instants[i]!) / (instants[i + 1]! - instants[i]!)));
    shown[k] = scope.gain * (volts[i]! + share * (volts[i + 1]! - volts[i]!));
  }
  const screen = screenOf(Math.min(...shown), Math.max(...shown));
  const count8 = screen.volts / COUNTS;
  const values = Float32Array.from(shown, (v) => {
    const noisy = v + scope.noise * screen.volts * chance.normal();
    const code = Math.round((noisy - screen.middle) / count8);
    return screen.middle + count8 * Math.max(-COUNTS / 2, Math.min(COUNTS / 2 - 1, code));
  });
  return {
    trace: { name: point, unit: 'V', timebase: { start, step }, values },
    screen: screen.volts,
  };
}

function timebase(trace: Trace): { start: number; step: number } {
  if ('stamps' in trace.timebase) throw new Error('a scope samples evenly');
  return trace.timebase;
}

/** The station scope writes commas, points and every instant. */
function commaText({ channels, screens }: ScopeCapture): string {
  const { start, step } = timebase(channels[0]!);
  const names = channels.map((_, i) => `CH${i + 1}`);
  const head = [
    'Station scope,record of the screen',
    `Volts of the screen,${screens.join(',')}`,
    `Samples,${channels[0]!.values.length}`,
    '',
    ['Time', ...names].join(','),
    ['s', ...names.map(() => 'V')].join(','),
  ];
  const rows = Array.from(channels[0]!.values, (_, k) =>
    [(start + k * step).toExponential(6), ...channels.map(({ values }) => values[k]!.toFixed(3))].join(','),
  );
  return `${[...head, ...rows].join('\n')}\n`;
}

/** The travelling scope writes semicolons, decimal commas and microseconds. */
function semicolonText({ channels, screens }: ScopeCapture): string {
  const { start, step } = timebase(channels[0]!);
  const names = ['A', 'B', 'C', 'D'].slice(0, channels.length);
  const comma = (text: string): string => text.replace('.', ',');
  const head = [
    'Travelling scope No. 2',
    `screen;${screens.map((s) => comma(`${s} V`)).join(';')}`,
    `interval;${comma(`${Number((step * 1e6).toPrecision(4))}`)};us`,
    '',
    ['t', ...names].join(';'),
    ['us', ...names.map(() => 'V')].join(';'),
  ];
  const rows = Array.from(channels[0]!.values, (_, k) =>
    [((start + k * step) * 1e6).toFixed(3), ...channels.map(({ values }) => values[k]!.toFixed(3))]
      .map(comma)
      .join(';'),
  );
  // Its makers end lines as teleprinters do.
  return `${[...head, ...rows].join('\r\n')}\r\n`;
}
