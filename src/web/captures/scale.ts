/** Round numbers along an axis, and values in words with the prefix that suits them. */

import type { Span } from './span.ts';

const PREFIXES: readonly [number, string][] = [
  [1e9, 'G'],
  [1e6, 'M'],
  [1e3, 'k'],
  [1, ''],
  [1e-3, 'm'],
  [1e-6, 'µ'],
  [1e-9, 'n'],
  [1e-12, 'p'],
];

export interface Mark {
  readonly value: number;
  readonly label: string;
}

export interface Scale {
  readonly marks: readonly Mark[];
  /** Prefix and unit that the labels are in. */
  readonly unit: string;
  /** Where the labels count from, when that is not 0: far from it they would be all digits. */
  readonly origin: number;
  /** `origin` in words, empty for 0. */
  readonly originLabel: string;
}

/** The greatest prefix that leaves at least one before the point; the least one for less. */
function prefixOf(size: number): readonly [number, string] {
  return PREFIXES.find(([unit]) => size >= unit * (1 - 1e-12)) ?? PREFIXES.at(-1)!;
}

/** One, two or five of a decade, at least `least`. */
export function roundStep(least: number): number {
  const decade = 10 ** Math.floor(Math.log10(least) + 1e-12);
  const step = [1, 2, 5, 10].find((n) => n * decade >= least * (1 - 1e-12))!;
  return Number((step * decade).toPrecision(12));
}

/**
 * Marks at round instants.
 *
 * @param most  marks that there is room for
 */
export function timeScale({ from, to }: Span, most: number): Scale {
  const step = roundStep((to - from) / Math.max(1, most));
  const [unit, prefix] = prefixOf(Math.max(to - from, step));
  const far = Math.max(Math.abs(from), Math.abs(to)) / unit >= 10_000;
  const origin = far ? Number((Math.floor(from / (1000 * unit)) * 1000 * unit).toPrecision(15)) : 0;
  return {
    marks: multiples(step, from - origin, to - origin).map((value) => ({
      value: origin + value,
      label: signed(value / unit, decimals(step / unit), origin === 0 ? '' : '+'),
    })),
    unit: `${prefix}s`,
    origin,
    originLabel: origin === 0 ? '' : quantity(origin, 's', 12),
  };
}

/** Marks at round values of one lane, in its unit with a prefix. */
export function valueScale(low: number, high: number, unit: string, most: number): Scale {
  const step = roundStep((high - low) / Math.max(1, most));
  const [size, prefix] = unit === '' ? ([1, ''] as const) : prefixOf(Math.max(Math.abs(low), Math.abs(high)));
  return {
    marks: multiples(step, low, high).map((value) => ({
      value,
      label: signed(value / size, decimals(step / size), '+'),
    })),
    unit: prefix + unit,
    origin: 0,
    originLabel: '',
  };
}

function multiples(step: number, from: number, to: number): number[] {
  const found: number[] = [];
  for (let n = Math.ceil(from / step - 1e-9); n * step <= to + 1e-9 * step; n++) {
    found.push(Number((n * step).toPrecision(14)));
  }
  return found;
}

/** Decimals that tell multiples of a step apart. */
function decimals(step: number): number {
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
}

function signed(value: number, places: number, plus: '+' | ''): string {
  const size = Math.abs(value).toFixed(places);
  if (Number(size) === 0) return '0';
  return `${value < 0 ? '−' : plus}${size}`;
}

/** `−6.14 V`, `+12.5 µs`, `4.00 kHz`: `digits` significant figures, a sign where `plus` asks for one. */
export function quantity(value: number, unit: string, digits = 4, plus: '+' | '' = ''): string {
  if (!Number.isFinite(value)) return '—';
  const [size, prefix] = unit === '' || value === 0 ? ([1, ''] as const) : prefixOf(Math.abs(value));
  const scaled = Math.abs(value) / size;
  const text = scaled === 0 ? '0' : plain(scaled, digits);
  const sign = Number(text) === 0 ? '' : value < 0 ? '−' : plus;
  return unit === '' ? sign + text : `${sign}${text} ${prefix}${unit}`;
}

/** A value rounded where its uncertainty has its second digit, volts from a millivolt on in volts: `−6.142 V`, `1.2346 µs`. */
export function bounded(value: number, uncertainty: number, unit: string): string {
  if (!(uncertainty > 0)) return quantity(value, unit, 6);
  const most = Math.max(Math.abs(value), uncertainty);
  const [size, prefix] = unit === '' || (unit === 'V' && most >= 1e-3) ? ([1, ''] as const) : prefixOf(most);
  // Nobody's instrument is good for less than a tenth of a millivolt.
  const finest = unit === 'V' && size === 1 ? 4 : 9;
  const places = Math.min(finest, Math.max(0, 1 - Math.floor(Math.log10(uncertainty / size) + 1e-9)));
  const text = signed(value / size, places, '');
  return unit === '' ? text : `${text} ${prefix}${unit}`;
}

/** An uncertainty to two digits, in the prefix of its value unless that would be mostly noughts: `± 0.41 µs`, `± 2.5 mV`. */
export function plusMinus(uncertainty: number, value: number, unit: string): string {
  const [size, prefix] =
    unit === '' || (unit === 'V' && Math.abs(value) >= 1e-3)
      ? ([1, ''] as const)
      : prefixOf(Math.max(Math.abs(value), uncertainty));
  const own = uncertainty / size < 0.01 && unit !== '';
  // Of volts, thousandths are spoken of, and nothing finer.
  if (own && unit === 'V' && uncertainty > 1e-5) return `± ${Number((1000 * uncertainty).toPrecision(2))} mV`;
  const text = own
    ? quantity(Number(uncertainty.toPrecision(2)), unit, 2)
    : String(Number((uncertainty / size).toPrecision(2)));
  return own || unit === '' ? `± ${text}` : `± ${text} ${prefix}${unit}`;
}

function plain(size: number, digits: number): string {
  const whole = Math.floor(Math.log10(size)) + 1;
  return whole >= digits ? String(Math.round(size)) : String(Number(size.toPrecision(digits)));
}
