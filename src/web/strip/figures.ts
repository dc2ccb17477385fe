/** Readings and spreads as the page writes them. */

/** Below 2 spreads sound, from 4 on it departs, doubtful between. */
export type Verdict = 'sound' | 'doubtful' | 'departs';

export function verdictOf(spreads: number): Verdict {
  const off = Math.abs(spreads);
  return off >= 4 ? 'departs' : off >= 2 ? 'doubtful' : 'sound';
}

/** A level in volts with its sign and two decimals, `−6.08`; three where the spread is below 10 mV, one from 100 V on. */
export function volts(value: number, sigma = Number.POSITIVE_INFINITY): string {
  const decimals = Math.abs(value) >= 100 ? 1 : sigma < 0.01 ? 3 : 2;
  const size = Math.abs(value).toFixed(decimals);
  const sign = Number(size) === 0 ? '' : value < 0 ? '−' : '+';
  return sign + size;
}

/** Half the width of a band in words: `± 0.34`. */
export function plusMinus(sigma: number): string {
  const half = 2 * sigma;
  return `± ${half.toFixed(half < 0.02 ? 3 : half >= 10 ? 1 : 2)}`;
}

/** Spreads off: one decimal below 10, whole above, `>50` at most. Without a sign: the mark shows the direction. */
export function spreads(off: number): string {
  const size = Math.abs(off);
  if (size > 50) return '>50';
  // 9.96 is ten, not 10.0.
  return size < 9.95 ? size.toFixed(1) : String(Math.round(size));
}

/** A share of one in percent: whole, `<1` below one, `>99` where it is not quite certain. */
export function percent(share: number): string {
  const hundredths = share * 100;
  if (hundredths <= 0) return '0';
  if (hundredths < 1) return '<1';
  if (hundredths > 99 && hundredths < 99.95) return '>99';
  return String(Math.round(hundredths));
}
