import { formatValue, parseValue, type UnitSymbol } from '../quantity/index.ts';
import type { PartKind } from './model.ts';

/** What a kind's `value` is. */
export interface ValueRule {
  readonly unit: UnitSymbol;
  readonly name: string;
  /** What can be at all; outside it is an error. */
  readonly possible: readonly [number, number];
  /** What is met with in machines of the period; outside it is a warning. */
  readonly usual: readonly [number, number];
  /** Whether nothing can be computed without it. */
  readonly needed: boolean;
}

export interface KindRule {
  /** The pins, all of them needed; `undefined` where any names do, `windings` for a transformer. */
  readonly pins: readonly string[] | 'windings' | undefined;
  readonly value?: ValueRule;
  /** Percent, where the folder gives none. */
  readonly tolerance: number;
  readonly typed: boolean;
}

const TWO = ['1', '2'];

/**
 * Pins, values and usual tolerances of the kinds. Tolerances of resistors, capacitors and zeners are the format's. The
 * others are common practice, no source: a carbon track, a choke, a winding's copper and a filament
 * are good to 20 %; where nothing is computed from a value there is no tolerance. So are the usual ranges.
 */
export const KIND_RULES: Readonly<Record<PartKind, KindRule>> = {
  resistor: {
    pins: TWO,
    value: { unit: 'Ω', name: 'resistance', possible: [1e-3, 1e12], usual: [0.1, 1e8], needed: true },
    tolerance: 10,
    typed: false,
  },
  trimmer: {
    pins: ['1', '2', 'w'],
    value: { unit: 'Ω', name: 'whole resistance', possible: [0.1, 1e9], usual: [1, 1e7], needed: true },
    tolerance: 20,
    typed: false,
  },
  capacitor: {
    pins: TWO,
    value: { unit: 'F', name: 'capacitance', possible: [1e-14, 1], usual: [5e-13, 0.1], needed: false },
    tolerance: 20,
    typed: false,
  },
  inductor: {
    pins: TWO,
    value: { unit: 'H', name: 'inductance', possible: [1e-10, 1e4], usual: [1e-7, 100], needed: false },
    tolerance: 20,
    typed: false,
  },
  transformer: {
    pins: 'windings',
    value: { unit: 'Ω', name: 'winding resistance', possible: [1e-4, 1e6], usual: [1e-2, 1e5], needed: true },
    tolerance: 20,
    typed: false,
  },
  diode: { pins: ['a', 'k'], tolerance: 0, typed: true },
  zener: {
    pins: ['a', 'k'],
    value: { unit: 'V', name: 'zener voltage', possible: [0.5, 2000], usual: [1.8, 200], needed: true },
    tolerance: 5,
    typed: true,
  },
  transistor: { pins: ['e', 'b', 'c'], tolerance: 0, typed: true },
  lamp: {
    pins: TWO,
    value: { unit: 'Ω', name: 'hot resistance', possible: [0.05, 1e7], usual: [1, 1e5], needed: true },
    tolerance: 20,
    typed: false,
  },
  fuse: {
    pins: TWO,
    value: { unit: 'A', name: 'rated current', possible: [1e-4, 1000], usual: [0.01, 60], needed: false },
    tolerance: 0,
    typed: false,
  },
  switch: { pins: TWO, tolerance: 0, typed: false },
  connector: { pins: undefined, tolerance: 0, typed: false },
  other: { pins: undefined, tolerance: 0, typed: false },
};

/**
 * A part's value as the folder holds it: with a prefix, `4.7k`, where that is the same double, else plain. Ohms below a
 * thousand are plain: nobody writes 470m on a resistor.
 */
export function valueText(value: number, unit?: UnitSymbol): string {
  if (unit === 'Ω' && value < 1000) return String(value);
  const short = formatValue(value).replace('−', '-').replace('µ', 'u');
  const back = parseValue(short);
  return back.ok && back.value === value ? short : String(value);
}
