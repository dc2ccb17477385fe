import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bandsFromValue, COLOURS, valueFromBands } from './index.ts';

const TOLERANCES = [0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 5, 10, 20];
const COEFFICIENTS = [1, 5, 10, 15, 20, 25, 50, 100, 250];

describe('laws', () => {
  it('a resistor coded in three to six bands and read again is the same', () => {
    const options = fc.oneof(
      fc.constant({ bands: 3 as const, tolerance: 20 }),
      fc.record({ bands: fc.constant(4 as const), tolerance: fc.constantFrom(...TOLERANCES) }),
      fc.record({ bands: fc.constant(5 as const), tolerance: fc.constantFrom(...TOLERANCES.slice(0, -1)) }),
      fc.record({
        bands: fc.constant(6 as const),
        tolerance: fc.constantFrom(...TOLERANCES.slice(0, -1)),
        ppmPerKelvin: fc.constantFrom(...COEFFICIENTS),
      }),
    );
    fc.assert(
      fc.property(
        fc.integer({ min: 10, max: 999 }),
        fc.integer({ min: -3, max: 9 }),
        options,
        (whole, power, opts) => {
          const digits = opts.bands < 5 ? Math.min(whole, 10 + (whole % 90)) : Math.max(whole, 100);
          const ohms = Number(`${digits}e${power}`);
          const bands = bandsFromValue(ohms, opts);
          expect(bands).toHaveLength(opts.bands);
          expect(valueFromBands(bands)).toEqual({
            ok: true,
            value: {
              ohms,
              tolerance: opts.tolerance,
              ppmPerKelvin: 'ppmPerKelvin' in opts ? opts.ppmPerKelvin : undefined,
            },
          });
        },
      ),
      { numRuns: 2000 },
    );
  });

  it('bands that are taken are the ones that their value is coded in', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...COLOURS), { minLength: 3, maxLength: 6 }), (bands) => {
        const read = valueFromBands(bands);
        fc.pre(read.ok);
        if (!read.ok) return;
        const { ohms, tolerance, ppmPerKelvin } = read.value;
        const count = bands.length as 3 | 4 | 5 | 6;
        const options = { bands: count, tolerance, ...(ppmPerKelvin === undefined ? {} : { ppmPerKelvin }) };
        expect(bandsFromValue(ohms, options)).toEqual(bands);
      }),
    );
  });
});

describe('cases', () => {
  it('colours are read in any case and in both spellings', () => {
    expect(valueFromBands(['Gray', ' RED', 'purple'])).toMatchObject({ value: { ohms: 820e6 } });
  });

  it.each([
    [['red', 'red'], 'band-count'],
    [['red', 'red', 'red', 'red', 'red', 'red', 'red'], 'band-count'],
    [['red', 'mauve', 'red'], 'unknown-colour'],
    [['red', 'gold', 'red'], 'wrong-colour'],
    [['black', 'red', 'red'], 'wrong-colour'],
    [['red', 'red', 'none'], 'wrong-colour'],
    [['red', 'red', 'red', 'black'], 'wrong-colour'],
    [['red', 'red', 'red', 'red', 'none'], 'wrong-colour'],
    [['red', 'red', 'red', 'red', 'red', 'gold'], 'wrong-colour'],
  ])('%j is refused as %s', (bands, code) => {
    expect(valueFromBands(bands)).toMatchObject({ ok: false, code });
  });

  it('a part read from the wrong end is told so', () => {
    expect(valueFromBands(['silver', 'orange', 'violet', 'yellow'])).toMatchObject({
      ok: false,
      reason:
        'band 1 of 4 must be a digit, black to white, found silver; from the other end the bands say 47 kΩ, 10 %',
    });
  });

  it('what has no bands throws with the number', () => {
    expect(() => bandsFromValue(123, { bands: 4 })).toThrow(
      '4 bands hold 2 significant digits, got 123 ohms',
    );
    expect(() => bandsFromValue(0, { bands: 4 })).toThrow('positive and finite, got 0 ohms');
    expect(() => bandsFromValue(1e12, { bands: 4 })).toThrow('beyond the multipliers');
    expect(() => bandsFromValue(1e11, { bands: 4 })).toThrow('beyond the multipliers');
    expect(() => bandsFromValue(1e-3, { bands: 4 })).toThrow('beyond the multipliers');
    expect(() => bandsFromValue(100, { bands: 3, tolerance: 5 })).toThrow('three bands mean 20 %, got 5 %');
    expect(() => bandsFromValue(100, { bands: 4, tolerance: 7 })).toThrow('tolerance of 7 % has no colour');
    expect(() => bandsFromValue(100, { bands: 5 })).toThrow('tolerance of 20 % has no colour for 5 bands');
    expect(() => bandsFromValue(100, { bands: 6, tolerance: 1 })).toThrow('goes with six bands');
    expect(() => bandsFromValue(100, { bands: 4, ppmPerKelvin: 50 })).toThrow('goes with six bands');
    expect(() => bandsFromValue(100, { bands: 6, tolerance: 1, ppmPerKelvin: 7 })).toThrow(
      '7 ppm/K has no colour',
    );
  });
});
