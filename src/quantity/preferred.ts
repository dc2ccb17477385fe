import { scaled, significand } from './prefix.ts';

export type Series = 'E3' | 'E6' | 'E12' | 'E24' | 'E48' | 'E96' | 'E192';

/**
 * E24 is older than its rule: these places keep values that rounding would not give. (E12, E6 and E3 are every
 * second, fourth and eighth of E24.) Source: IEC 60063, from memory.
 */
const OLD_E24: Readonly<Record<number, number>> = {
  10: 27,
  11: 30,
  12: 33,
  13: 36,
  14: 39,
  15: 43,
  16: 47,
  22: 82,
};
/** The one value of the fine series off its rule, 920 and not 919. Source: IEC 60063, from memory. */
const OLD_E192: Readonly<Record<number, number>> = { 185: 920 };

/** `count` steps to the decade, rounded to whole numbers from `scale` up: 10^(i/count). */
function decade(
  count: number,
  scale: number,
  exceptions: Readonly<Record<number, number>>,
): readonly number[] {
  return Array.from({ length: count }, (_, i) => exceptions[i] ?? Math.round(scale * 10 ** (i / count)));
}
const E24 = decade(24, 10, OLD_E24);
const E192 = decade(192, 100, OLD_E192);

/** One decade of a series as whole numbers: two digits up to E24, three above. */
function steps(series: Series): { readonly whole: readonly number[]; readonly digits: 2 | 3 } {
  const count = Number(series.slice(1));
  const coarse = count <= 24;
  const all = coarse ? E24 : E192;
  return { whole: all.filter((_, i) => i % (all.length / count) === 0), digits: coarse ? 2 : 3 };
}

/**
 * One decade of a series of preferred values, ascending, from 1 to below 10.
 *
 * @source IEC 60063, from memory: 10^(i/n) rounded to two digits (E3 to E24) or three (E48 to E192), with exceptions
 */
export function preferredValues(series: Series): readonly number[] {
  const { whole, digits } = steps(series);
  return whole.map((step) => scaled(step, 1 - digits));
}

/**
 * The preferred value nearest to `value` in ratio: the one with the smallest relative departure, whichever side it is on.
 * A preferred value is its own nearest, to the bit.
 *
 * @throws RangeError  when the value is not positive and finite, or its neighbour is beyond what a number holds
 */
export function nearestPreferred(value: number, series: Series): number {
  if (!(value > 0 && value < Number.POSITIVE_INFINITY)) {
    throw new RangeError(`value to round to ${series} must be positive and finite, got ${value}`);
  }
  const { whole, digits } = steps(series);
  const { exponent } = significand(value, 17);
  let nearest = Number.NaN;
  let least = Number.POSITIVE_INFINITY;
  // The decade's own values and the first of the next.
  for (const step of [...whole, 10 ** digits]) {
    const candidate = scaled(step, exponent - digits + 1);
    const ratio = candidate > value ? candidate / value : value / candidate;
    if (ratio < least) {
      least = ratio;
      nearest = candidate;
    }
  }
  if (!Number.isFinite(nearest)) throw new RangeError(`no ${series} value near ${value}`);
  return nearest;
}
