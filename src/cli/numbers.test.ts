import { describe, expect, it } from 'vitest';
import { figures, minutes, percent, plural, spreadsOff } from './numbers.ts';

describe('figures', () => {
  const { level, spread } = figures(true);

  it.each([
    [0.83, 0.2, '+0.83'],
    [-6.1, 0.25, '−6.10'],
    [-6.1, 0.004, '−6.100'],
    [-0.004, 0.2, '0.00'],
    [0, 0.2, '0.00'],
    [undefined, 0.2, '· · ·'],
    [Number.NaN, 0.2, '· · ·'],
  ])('a level of %d V with a spread of %d is %s', (value, sigma, text) => {
    expect(level(value, sigma, 'V')).toBe(text);
  });

  it('what is not volts stands with its unit', () => {
    expect(level(4700, 100, 'ohm')).toBe('4.700 kΩ');
    expect(figures(false).level(4700, 100, 'ohm')).toBe('4.700 kohm');
    expect(spread(47, 'ohm')).toBe('±47 Ω');
  });

  it('a spread has as many places as its level', () => {
    expect(spread(0.25, 'V')).toBe('±0.25');
    expect(spread(0.004, 'V')).toBe('±0.004');
    expect(spread(Number.NaN, 'V')).toBe('');
  });

  it('in plain ASCII there is no sign beyond it', () => {
    const ascii = figures(false);
    const all = [ascii.level(-6.1, 0.2, 'V'), ascii.spread(0.2, 'V'), ascii.level(undefined, 0.2, 'V')].join(
      '',
    );
    expect(all).toBe('-6.10+-0.20. . .');
  });

  it.each([
    [0.42, '0.4'],
    [-9.94, '9.9'],
    [9.96, '10'],
    [23.2, '23'],
    [50, '50'],
    [51, '>50'],
    [Number.NaN, ''],
  ])('%d spreads off are %s', (z, text) => {
    expect(spreadsOff(z)).toBe(text);
  });

  it.each([
    [0, '0 %'],
    [0.0004, '<1 %'],
    [0.614, '61 %'],
    [0.9996, '>99 %'],
    [1, '100 %'],
  ])('a probability of %d is %s', (probability, text) => {
    expect(percent(probability)).toBe(text);
  });

  it('one of a thing is one', () => {
    expect([plural(1, 'reading'), plural(2, 'reading'), plural(12000, 'reading')]).toEqual([
      '1 reading',
      '2 readings',
      '12,000 readings',
    ]);
    expect([minutes(1), minutes(2.5)]).toEqual(['1 minute', '2.5 minutes']);
  });
});
