import { describe, expect, it } from 'vitest';
import {
  bandsFromValue,
  type CodedKind,
  letterCode,
  letterFromTolerance,
  parseValue,
  toleranceFromLetter,
  valueFromBands,
  valueFromLetterCode,
} from '../../src/quantity/index.ts';

describe('colours', () => {
  // Source: IEC 60062 as reprinted on a chart page that names it (band rows of colour_code.csv).
  const MULTIPLIERS = {
    silver: 1e-2,
    gold: 1e-1,
    black: 1,
    brown: 1e1,
    red: 1e2,
    orange: 1e3,
    yellow: 1e4,
    green: 1e5,
    blue: 1e6,
    violet: 1e7,
    grey: 1e8,
    white: 1e9,
    pink: 1e-3, // newer editions only
  };
  const DIGITS = ['black', 'brown', 'red', 'orange', 'yellow', 'green', 'blue', 'violet', 'grey', 'white'];

  it.each(DIGITS.map((colour, digit) => [colour, digit] as const))('%s is the digit %d', (colour, digit) => {
    expect(valueFromBands(['brown', colour, 'black'])).toMatchObject({ value: { ohms: 10 + digit } });
  });

  it.each(Object.entries(MULTIPLIERS))('%s is the multiplier %d', (colour, multiplier) => {
    const read = valueFromBands(['brown', 'red', colour]);
    expect(read.ok && read.value.ohms / (12 * multiplier)).toBeCloseTo(1, 14);
  });

  // Column `letter` belongs to the same percentage; grey from memory of the 2016 edition (older charts: 0.05).
  it.each([
    ['brown', 1, 'F'],
    ['red', 2, 'G'],
    ['orange', 0.05, 'W'],
    ['yellow', 0.02, 'P'],
    ['green', 0.5, 'D'],
    ['blue', 0.25, 'C'],
    ['violet', 0.1, 'B'],
    ['grey', 0.01, 'L'],
    ['gold', 5, 'J'],
    ['silver', 10, 'K'],
    ['none', 20, 'M'],
  ])('%s is a tolerance of %d %%, letter %s', (colour, tolerance, letter) => {
    expect(valueFromBands(['brown', 'black', 'red', colour])).toMatchObject({
      value: { ohms: 1000, tolerance },
    });
    expect(letterFromTolerance(tolerance)).toBe(letter);
  });

  it.each([
    ['black', 250],
    ['brown', 100],
    ['red', 50],
    ['orange', 15],
    ['yellow', 25],
    ['green', 20],
    ['blue', 10],
    ['violet', 5],
    ['grey', 1],
  ])('%s is a temperature coefficient of %d ppm/K', (colour, ppmPerKelvin) => {
    expect(valueFromBands(['brown', 'black', 'black', 'red', 'brown', colour])).toEqual({
      ok: true,
      value: { ohms: 10_000, tolerance: 1, ppmPerKelvin },
    });
  });

  // Computed by the rule (example_bands rows of colour_code.csv).
  it.each([
    ['brown black red gold', 1000, 5],
    ['yellow violet orange silver', 47_000, 10],
    ['red red black', 22, 20],
    ['yellow violet gold gold', 4.7, 5],
    ['brown black black brown brown', 1000, 1],
    ['orange orange silver red', 0.33, 2],
    ['yellow violet black red brown', 47_000, 1],
    ['blue grey green none', 6_800_000, 20],
  ])('%s is %d ohms, %d %%, and back', (text, ohms, tolerance) => {
    const bands = text.split(' ');
    expect(valueFromBands(bands)).toEqual({ ok: true, value: { ohms, tolerance, ppmPerKelvin: undefined } });
    expect(bandsFromValue(ohms, { bands: bands.length as 3 | 4 | 5, tolerance })).toEqual(bands);
  });
});

describe('letters', () => {
  // Source: IEC 60062, from memory (letter rows of colour_code.csv).
  it.each([
    ['E', 0.005],
    ['L', 0.01],
    ['P', 0.02],
    ['W', 0.05],
    ['B', 0.1],
    ['C', 0.25],
    ['D', 0.5],
    ['F', 1],
    ['G', 2],
    ['H', 3],
    ['J', 5],
    ['K', 10],
    ['M', 20],
    ['N', 30],
  ])('%s is %d %% either way', (letter, size) => {
    expect(toleranceFromLetter(letter)).toEqual({ ok: true, value: { below: size, above: size, unit: '%' } });
    expect(letterFromTolerance(size)).toBe(letter);
  });

  it.each([
    ['Q', 10, 30],
    ['T', 10, 50],
    ['S', 20, 50],
    ['Z', 20, 80],
  ])('%s is -%d +%d %%', (letter, below, above) => {
    expect(toleranceFromLetter(letter)).toEqual({ ok: true, value: { below, above, unit: '%' } });
    expect(letterFromTolerance({ below, above, unit: '%' })).toBe(letter);
  });

  it.each([
    ['B', 0.1],
    ['C', 0.25],
    ['D', 0.5],
    ['F', 1],
    ['G', 2],
  ])('%s on a capacitor below 10 pF is %d pF either way', (letter, size) => {
    const small = { below: size, above: size, unit: 'pF' } as const;
    expect(toleranceFromLetter(letter, 8.2e-12)).toEqual({ ok: true, value: small });
    expect(letterFromTolerance(small, 8.2e-12)).toBe(letter);
  });

  // Source: IEC 60062, from memory (value_letter rows); u stands for the Greek letter.
  it.each<[string, CodedKind, number]>([
    ['R', 'ohms', 1],
    ['K', 'ohms', 1e3],
    ['M', 'ohms', 1e6],
    ['G', 'ohms', 1e9],
    ['T', 'ohms', 1e12],
    ['p', 'farads', 1e-12],
    ['n', 'farads', 1e-9],
    ['u', 'farads', 1e-6],
    ['m', 'farads', 1e-3],
    ['F', 'farads', 1],
  ])('the letter %s on %s is worth %d', (letter, kind, worth) => {
    expect(valueFromLetterCode(`1${letter}0`, kind)).toMatchObject({ value: { value: worth } });
    expect(parseValue(`1${letter}0`, { unit: kind === 'ohms' ? 'Ω' : 'F' })).toEqual({
      ok: true,
      value: worth,
    });
  });

  // Computed by the rule (example_value rows).
  it.each<[string, CodedKind, number]>([
    ['R47', 'ohms', 0.47],
    ['4R7', 'ohms', 4.7],
    ['47R', 'ohms', 47],
    ['470R', 'ohms', 470],
    ['4K7', 'ohms', 4700],
    ['59K04', 'ohms', 59_040],
    ['1M0', 'ohms', 1_000_000],
    ['p10', 'farads', 1e-13],
    ['3n32', 'farads', 3.32e-9],
    ['2u2', 'farads', 2.2e-6],
    ['4m7', 'farads', 4.7e-3],
  ])('%s on %s is %d, and back', (code, kind, value) => {
    expect(valueFromLetterCode(code, kind)).toEqual({ ok: true, value: { value, tolerance: undefined } });
    expect(parseValue(code)).toEqual({ ok: true, value });
    expect(letterCode(value, kind)).toBe(code.replace('u', 'µ'));
  });
});
