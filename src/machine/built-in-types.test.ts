import { describe, expect, it } from 'vitest';
import { BUILT_IN_TYPES, GENERIC_TYPES } from './built-in-types.ts';

/** k T / q at 25 °C, volts. */
const THERMAL = 0.025693;

describe('the built-in types', () => {
  it('begin with names of our own for parts whose number is not known', () => {
    expect(GENERIC_TYPES).toEqual([
      'GE-PNP',
      'GE-NPN',
      'SI-PNP',
      'SI-NPN',
      'GE-DIODE',
      'GE-GOLD-DIODE',
      'SI-DIODE',
      'ZENER',
    ]);
    for (const type of GENERIC_TYPES) expect(BUILT_IN_TYPES.has(type)).toBe(true);
  });

  it('all state a drop, a leakage and a source', () => {
    expect(BUILT_IN_TYPES.size).toBe(84);
    for (const { type, kind, material, vj, icbo, source, polarity } of BUILT_IN_TYPES.values()) {
      expect(vj, type).toBeGreaterThan(material === 'ge' ? 0.1 : 0.2);
      expect(vj, type).toBeLessThan(material === 'ge' ? 0.4 : 0.8);
      expect(icbo, type).toBeGreaterThan(0);
      expect(source, type).not.toBe('');
      expect(polarity !== undefined, type).toBe(kind === 'transistor');
    }
  });

  // 2N404: distributor data page (looked up); OC72: component data page (looked up); 2N3904: maker's chip list
  // (looked up); 2N1305: reissued maker's sheet for VCBO, IC, PD. Currents in mA and powers in mW there.
  it.each([
    [
      '2N404',
      { polarity: 'pnp', material: 'ge', vcbo: 25, vebo: 12, ic: 0.1, pd: 0.15, hfeMin: 30, ft: 4e6 },
    ],
    [
      'OC72',
      { polarity: 'pnp', material: 'ge', vceo: 16, vebo: 10, ic: 0.125, pd: 0.165, hfeMin: 30, ft: 250e3 },
    ],
    ['2N3904', { polarity: 'npn', material: 'si', vceo: 40, vcbo: 60, hfeMin: 100, hfeMax: 300, ft: 300e6 }],
    ['2N1305', { polarity: 'pnp', material: 'ge', vcbo: 30, ic: 0.3, pd: 0.15 }],
  ])('state the published ratings of %s', (type, facts) => {
    expect(BUILT_IN_TYPES.get(type)).toMatchObject(facts);
  });

  // NTE109: maker's sheet (looked up). The others are from memory of the sheets. Volts at amperes.
  it.each([
    ['NTE109', 1.0, 0.2],
    ['1N34A', 1.0, 0.005],
    ['1N60', 1.0, 0.004],
    ['OA47', 0.54, 0.03],
    ['OA90', 1.5, 0.01],
    ['1N100', 1.0, 0.02],
    ['BAT46', 0.45, 0.01],
    ['BAT46', 1.0, 0.25],
    ['BAT85', 0.4, 0.01],
  ])('give %s its forward drop of %f V at %f A', (type, volts, amperes) => {
    const { vj, ij, n, rs } = BUILT_IN_TYPES.get(type)!;
    const drop = vj + n * THERMAL * Math.log(amperes / ij) + rs * (amperes - ij);
    // Series resistances are given in three figures.
    expect(Math.abs(drop / volts - 1)).toBeLessThan(0.01);
  });
});
