/**
 * How device parameters move with temperature.
 *
 * Saturation current follows the diffusion law Is ∝ T^3 exp(-Eg / kT); collector and diode leakage beyond
 * it has surface parts and doubles every 10 °C (rule of the period, common practice).
 */

import type { Material } from '../../machine/index.ts';

/** k/q in volts per kelvin; both constants exact in the SI of 2019. */
const BOLTZMANN_OVER_CHARGE = 1.380649e-23 / 1.602176634e-19;
const KELVIN = 273.15;
/** Temperature at which types.csv states its values, °C. */
export const STATED_CELSIUS = 25;

/** Thermal voltage kT/q in volts at `celsius`. */
export function thermalVoltage(celsius: number): number {
  return BOLTZMANN_OVER_CHARGE * (celsius + KELVIN);
}

/** Band gap in volts used by the diffusion law (round values, common practice). */
function gapVolts(material: Material): number {
  return material === 'ge' ? 0.67 : 1.12;
}

/**
 * Saturation current at `celsius` over that at 25 °C: (T/T0)^(3/n) exp(Eg/n (1/Vt0 - 1/Vt)), no unit.
 *
 * @param n emission coefficient; the law of an n > 1 junction is the diffusion law's n-th root
 */
export function saturationRatio(material: Material, n: number, celsius: number): number {
  const t = celsius + KELVIN;
  const t0 = STATED_CELSIUS + KELVIN;
  const eg = gapVolts(material);
  return Math.exp(
    (3 * Math.log(t / t0) + eg / thermalVoltage(STATED_CELSIUS) - eg / thermalVoltage(celsius)) / n,
  );
}

/** Leakage at `celsius` over that at 25 °C: doubles every 10 °C. */
export function leakageRatio(celsius: number): number {
  return 2 ** ((celsius - STATED_CELSIUS) / 10);
}

/** Current gain at `celsius` over that at 25 °C: rises 0.5 % a kelvin (common practice, no source). */
export function gainRatio(celsius: number): number {
  return Math.max(0.2, 1 + 0.005 * (celsius - STATED_CELSIUS));
}
