import { formatValue, type UnitSymbol } from '../quantity/index.ts';
import { type Estimate, isMeasured } from '../waveform/index.ts';

/** Figures of waveforms: as many digits as the uncertainty leaves, and in plain ASCII where that is asked for. */
export interface Amounts {
  /** `12.3 µs ± 0.2 µs`, or why there is none. */
  readonly estimate: (estimate: Estimate, unit: string) => string;
  /** `−6.10 V` */
  readonly amount: (value: number, unit: string, digits?: number) => string;
}

const KNOWN: readonly string[] = ['V', 'A', 's', 'Hz', '%'] satisfies UnitSymbol[];
const MOST_DIGITS = 9;

export function amounts(unicode: boolean): Amounts {
  const plain = (text: string): string =>
    unicode
      ? text
      : text.replaceAll('\u2212', '-').replaceAll('µ', 'u').replaceAll('±', '+-').replaceAll('…', '...');
  const amount = (value: number, unit: string, digits?: number): string => {
    if (!Number.isFinite(value)) return plain('· · ·'.replaceAll('·', unicode ? '·' : '.'));
    if (KNOWN.includes(unit)) return plain(formatValue(value, unit as UnitSymbol, digits));
    return plain(`${formatValue(value, '', digits)}${unit === '' ? '' : ` ${unit}`}`);
  };
  return {
    amount,
    estimate(estimate, unit) {
      if (!isMeasured(estimate)) return estimate.reason;
      const { value, uncertainty } = estimate;
      if (!(uncertainty > 0)) return amount(value, unit);
      // The last digit is that of the uncertainty's second one.
      const size = Math.floor(Math.log10(Math.abs(value) || uncertainty));
      const digits = size - Math.floor(Math.log10(uncertainty)) + 2;
      return plain(
        `${amount(value, unit, Math.min(MOST_DIGITS, Math.max(1, digits)))} ± ${amount(uncertainty, unit, 2)}`,
      );
    },
  };
}
