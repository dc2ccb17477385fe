/** The units that a caller may name. */
export type UnitSymbol = 'Ω' | 'F' | 'H' | 'V' | 'A' | 'W' | 's' | 'Hz' | '°C' | '%';

/** How each unit is written by people; the first is how it is written here. U+2126 is the old ohm sign. */
const SPELLINGS: Readonly<Record<UnitSymbol, readonly string[]>> = {
  Ω: ['Ω', '\u2126', 'ohm', 'ohms', 'Ohm', 'Ohms'],
  F: ['F'],
  H: ['H'],
  V: ['V'],
  A: ['A'],
  W: ['W'],
  s: ['s'],
  Hz: ['Hz'],
  '°C': ['°C', '℃', 'C'],
  '%': ['%'],
};
const UNITS = Object.keys(SPELLINGS) as UnitSymbol[];

/** Whether prefixes go with the unit: millidegrees and kilopercent are nobody's idea of legible. */
export function takesPrefix(unit: UnitSymbol): boolean {
  return unit !== '°C' && unit !== '%';
}

/** Whether `text` spells `unit`. */
export function spells(text: string, unit: UnitSymbol): boolean {
  return SPELLINGS[unit].includes(text);
}

/** The unit that `text` spells, with or without a prefix letter before it; `undefined` when it spells none. */
export function unitSpelt(text: string): UnitSymbol | undefined {
  return UNITS.find((unit) => spells(text, unit)) ?? UNITS.find((unit) => spells(text.slice(1), unit));
}

/**
 * The letter that stands for the decimal point where no prefix does: R for ohms, F for farads (IEC 60062, from
 * memory), and V for volts (4V7 on zener diodes; common practice, no source).
 */
export function pointLetter(unit: UnitSymbol | undefined): string {
  if (unit === undefined || unit === 'Ω') return 'R';
  return unit === 'F' || unit === 'V' ? unit : '';
}
