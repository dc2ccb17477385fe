import { describe, expect, it, test } from 'vitest';
import { gainRatio, leakageRatio, saturationRatio, thermalVoltage } from './temperature.ts';

describe('the thermal voltage', () => {
  // constants.csv, kT/q from the exact k and q of the SI of 2019.
  test.each([
    [0, 0.02353824581],
    [20, 0.02526171246],
    [22, 0.02543405912],
    [25, 0.02569257912],
    [27, 0.02586492579],
    [40, 0.02698517911],
    [50, 0.02784691244],
  ])('at %d °C is %d V', (celsius, volts) => {
    expect(thermalVoltage(celsius)).toBeCloseTo(volts, 11);
  });
});

describe('the saturation current', () => {
  it('doubles every 7.3 °C from 25 to 35 °C in germanium', () => {
    // constants.csv, T^3 exp(-Eg/kT) with Eg 0.67 eV: 7.3331 K.
    expect(10 / Math.log2(saturationRatio('ge', 1, 35))).toBeCloseTo(7.3331, 4);
  });
  it('is the stated one at 25 °C, and follows the n-th root of the law with an emission coefficient n', () => {
    for (const material of ['ge', 'si'] as const) {
      expect(saturationRatio(material, 1, 25)).toBeCloseTo(1, 12);
      expect(saturationRatio(material, 1.8, 60) ** 1.8 / saturationRatio(material, 1, 60)).toBeCloseTo(1, 12);
    }
  });
  it('has the gap of its material for the slope of its logarithm over 1/kT, with the cube of T taken out', () => {
    // constants.csv: round values 1.12 and 0.66 to 0.67 eV.
    for (const [material, least, most] of [
      ['si', 1.12, 1.12],
      ['ge', 0.66, 0.67],
    ] as const) {
      const cube = 3 * Math.log((50 + 273.15) / 273.15);
      const gap =
        (Math.log(saturationRatio(material, 1, 50) / saturationRatio(material, 1, 0)) - cube) /
        (1 / thermalVoltage(0) - 1 / thermalVoltage(50));
      expect(gap).toBeGreaterThan(least - 1e-9);
      expect(gap).toBeLessThan(most + 1e-9);
    }
  });
});

it('lets leakage double every 10 °C and gain rise by half a percent a kelvin', () => {
  expect(leakageRatio(25)).toBe(1);
  expect(leakageRatio(55)).toBeCloseTo(8, 12);
  expect(leakageRatio(15)).toBeCloseTo(0.5, 12);
  expect(gainRatio(25)).toBe(1);
  expect(gainRatio(45)).toBeCloseTo(1.1, 12);
  expect(gainRatio(-300)).toBeGreaterThan(0);
});
