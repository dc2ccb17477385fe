/** Numbers as they stand in the answers: signs always shown, places that suit the spread. */

import { quantityOf } from '../machine/index.ts';
import { formatValue, type UnitSymbol } from '../quantity/index.ts';

export interface Figures {
  /** A level with its sign, `+0.83`; with the unit where it is not volts. `...` or `· · ·` for none. */
  readonly level: (value: number | undefined, sigma: number, quantity: string) => string;
  /** `±0.25` */
  readonly spread: (sigma: number, quantity: string) => string;
  readonly none: string;
  readonly minus: string;
  readonly unicode: boolean;
}

/** How surely a point moves or stands still is no figure. */
const WHETHER = 'moves';

function unitOf(quantity: string): UnitSymbol | undefined {
  return quantityOf(quantity)?.unit;
}

export function figures(unicode: boolean): Figures {
  const minus = unicode ? '\u2212' : '-';
  const none = unicode ? '· · ·' : '. . .';
  const places = (sigma: number): number => (sigma < 0.02 ? 3 : 2);
  const plain = (text: string): string =>
    unicode ? text : text.replaceAll('\u2212', '-').replaceAll('Ω', 'ohm').replaceAll('µ', 'u');
  const isVolts = (quantity: string): boolean => unitOf(quantity) === 'V';
  return {
    minus,
    none,
    unicode,
    level(value, sigma, quantity) {
      if (value === undefined || !Number.isFinite(value)) return none;
      if (quantity === WHETHER) return value >= 0.5 ? 'moves' : 'still';
      if (!isVolts(quantity)) return plain(formatValue(value, unitOf(quantity) ?? '', 4));
      const digits = Math.abs(value).toFixed(places(sigma));
      // What rounds to nothing has no sign.
      const sign = Number(digits) === 0 ? '' : value < 0 ? minus : '+';
      return sign + digits;
    },
    spread(sigma, quantity) {
      if (!Number.isFinite(sigma) || quantity === WHETHER) return '';
      const sign = unicode ? '±' : '+-';
      if (!isVolts(quantity)) return sign + plain(formatValue(sigma, unitOf(quantity) ?? '', 2));
      return sign + sigma.toFixed(places(sigma));
    },
  };
}

/** A point with what is read there, where that is not its level: `OUT rise`. */
export function placeWords({
  point,
  quantity,
}: {
  readonly point: string;
  readonly quantity: string;
}): string {
  return quantity === 'V' ? point : `${point} ${quantity}`;
}

/** Spreads off, without direction: one decimal below 10, whole above, `>50` at most. */
export function spreadsOff(z: number): string {
  const off = Math.abs(z);
  if (!Number.isFinite(off)) return '';
  if (off > 50) return '>50';
  return off < 9.95 ? off.toFixed(1) : off.toFixed(0);
}

/** A probability in percent without decimals, with the sign: `61 %`, `<1 %`, `>99 %`. */
export function percent(probability: number): string {
  if (probability > 0 && probability < 0.01) return '<1 %';
  if (probability < 1 && probability > 0.99) return '>99 %';
  return `${Math.round(100 * probability)} %`;
}

/** `1 minute`, `2.5 minutes`. */
export function minutes(count: number): string {
  return `${Number(count.toFixed(1))} ${count === 1 ? 'minute' : 'minutes'}`;
}

export function plural(count: number, one: string, many = `${one}s`): string {
  return `${count.toLocaleString('en')} ${count === 1 ? one : many}`;
}
