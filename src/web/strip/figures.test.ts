import { describe, expect, it } from 'vitest';
import { percent, plusMinus, spreads, verdictOf, volts } from './figures.ts';
import { stripWords } from './words.ts';

describe('figures', () => {
  it('of a level have their sign, a true minus, and none at zero', () => {
    expect([-6.08, 0.834, 0, -0.001, 104.26].map((value) => volts(value))).toEqual([
      '−6.08',
      '+0.83',
      '0.00',
      '0.00',
      '+104.3',
    ]);
    expect(volts(-0.1124, 0.004)).toBe('−0.112');
  });

  it('of spreads have one decimal below ten and end at fifty', () => {
    expect([0.34, -3, 9.94, 9.96, 36.2, -50.1].map(spreads)).toEqual([
      '0.3',
      '3.0',
      '9.9',
      '10',
      '36',
      '>50',
    ]);
  });

  it('of a share are whole percents, and say when they are not quite nothing or all', () => {
    expect([0, 0.004, 0.01, 0.384, 0.993, 1].map(percent)).toEqual(['0', '<1', '1', '38', '>99', '100']);
  });

  it('of a band are two spreads', () => {
    expect(plusMinus(0.17)).toBe('± 0.34');
    expect(plusMinus(0.004)).toBe('± 0.008');
  });
});

describe('the verdict', () => {
  it('changes at two and at four spreads', () => {
    expect([1.99, 2, -3.99, -4].map(verdictOf)).toEqual(['sound', 'doubtful', 'doubtful', 'departs']);
  });
});

describe('a strip for the ear', () => {
  const names = { point: 'Q6.b', unit: 'South', healthy: ['North'] };
  const sound = { value: -0.27, sigma: 0.05 };

  it('says value, verdict, direction, the sound level and the twin', () => {
    expect(stripWords({ sound, healthy: [-0.26], reading: 0.83 }, names)).toBe(
      'Q6.b, South +0.83 volts, departs, 22 spreads, towards positive. Sound −0.27. North −0.26.',
    );
  });

  it('says what is not known', () => {
    expect(stripWords({ sound }, names)).toBe('Q6.b, South not read. Sound −0.27.');
    expect(stripWords({ reading: 1 }, names)).toBe('Q6.b, South +1.00 volts. No expectation.');
    expect(stripWords({ sound, learnt: true, reading: -0.27 }, names)).toContain('Not traced; stated −0.27.');
    expect(stripWords({ sound, drawing: { value: -6, sigma: 1 } }, names)).toContain(
      'The drawing says −6.00.',
    );
    expect(stripWords({ sound, reading: 9, setAside: true }, names)).toContain('set aside as a likely slip');
  });
});
