/** How a point drifts over the years: a straight line through its readings, and what it means in words. */

import { spreads } from '../strip/index.ts';
import { leastSquares } from './least-squares.ts';

export interface Trend {
  /** Volts in a year, positive when the point goes more positive. */
  readonly perYear: number;
  /** Standard error of that; NaN with two readings. */
  readonly error: number;
  /** Between the first reading and the last. */
  readonly years: number;
  readonly readings: number;
  /** Of the line, at the last reading, volts. */
  readonly last: number;
}

const YEAR_MS = 365.25 * 24 * 3600 * 1000;
/** Readings of one afternoon are no trend. */
const LEAST_YEARS = 0.1;
/** A slope below so many standard errors may be chance. */
const CHANCE = 2;
/** A point that will leave the band in more years than this is not worth a warning. */
const FAR_YEARS = 50;
/** From here on it departs, in spreads. */
const DEPARTS = 4;

/** @param readings  of one point; without a date they do not count */
export function trendOf(
  readings: readonly { readonly takenAt: string; readonly value: number }[],
): Trend | undefined {
  const dated = readings
    .map(({ takenAt, value }) => ({ at: Date.parse(takenAt) / YEAR_MS, value }))
    .filter(({ at }) => !Number.isNaN(at))
    .sort((a, b) => a.at - b.at);
  const years = (dated.at(-1)?.at ?? 0) - (dated[0]?.at ?? 0);
  if (years < LEAST_YEARS) return undefined;
  const start = dated[0]!.at;
  const line = leastSquares(
    dated.map(({ at }) => at - start),
    dated.map(({ value }) => value),
  );
  if (line === undefined) return undefined;
  return {
    perYear: line.slope,
    error: line.slopeError,
    years,
    readings: dated.length,
    last: line.intercept + line.slope * years,
  };
}

/** The trend in a sentence or two, with what it comes to in spreads where the sound band is known. */
export function trendWords(
  trend: Trend,
  sound?: { readonly value: number; readonly sigma: number } | null,
): string {
  const { perYear, error, years, readings, last } = trend;
  const over = `over ${yearsWords(years)}`;
  if (Math.abs(perYear) < CHANCE * error) {
    return `No trend: ${small(perYear)} a year is no more than chance in ${readings} readings ${over}.`;
  }
  const way = perYear > 0 ? 'rises' : 'falls';
  const sure = Number.isNaN(error)
    ? '; two readings alone cannot tell drift from chance'
    : ` (standard error ${small(error)})`;
  const moved = sound ? `, ${spreads((perYear * years) / sound.sigma)} spreads` : '';
  const first = `It ${way} ${small(perYear)} a year${sure}: ${small(perYear * years)} ${over}${moved}.`;
  const left = sound ? yearsLeft(trend, last, sound) : undefined;
  return left === undefined ? first : `${first} ${left}`;
}

function yearsLeft(
  { perYear }: Trend,
  last: number,
  { value, sigma }: { readonly value: number; readonly sigma: number },
): string | undefined {
  const off = (last - value) / sigma;
  const rate = perYear / sigma;
  if (Math.abs(off) >= DEPARTS) return 'It departs already.';
  const years = (Math.sign(rate) * DEPARTS - off) / rate;
  if (years > FAR_YEARS) return undefined;
  return `At this rate it departs in ${years < 1 ? 'less than a year' : `about ${yearsWords(years)}`}.`;
}

function yearsWords(years: number): string {
  if (years < 1) {
    const months = Math.max(1, Math.round(years * 12));
    return months === 1 ? '1 month' : `${months} months`;
  }
  const size = years < 9.95 ? years.toFixed(1).replace(/\.0$/, '') : String(Math.round(years));
  return size === '1' ? '1 year' : `${size} years`;
}

/** Volts without a sign: millivolts below one volt. */
function small(volts: number): string {
  const size = Math.abs(volts);
  if (size >= 1) return `${size.toFixed(2)} V`;
  const milli = size * 1000;
  return `${milli < 9.95 ? milli.toFixed(1) : Math.round(milli)} mV`;
}
