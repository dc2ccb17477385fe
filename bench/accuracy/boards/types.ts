/** Invented type numbers of the trial boards: round values in the range of the period's devices. */
import type { DeviceType, Polarity } from '../../../src/machine/model.ts';

const SOURCE = 'invented for the trials';

function transistor(
  type: string,
  polarity: Polarity,
  material: 'ge' | 'si',
  [vj, ij]: readonly [number, number],
  [hfeMin, hfeTyp, hfeMax]: readonly [number, number, number],
  icbo: number,
  vceo: number,
  ic: number,
): DeviceType {
  return {
    type,
    kind: 'transistor',
    polarity,
    material,
    vj,
    ij,
    hfeMin,
    hfeTyp,
    hfeMax,
    icbo,
    rs: 0,
    n: 1,
    vceo,
    ic,
    source: SOURCE,
  };
}

function junction(
  type: string,
  kind: 'diode' | 'zener',
  material: 'ge' | 'si',
  [vj, ij]: readonly [number, number],
  n: number,
  icbo: number,
  rs: number,
): DeviceType {
  return { type, kind, material, vj, ij, n, icbo, rs, source: SOURCE };
}

export const TYPES: readonly DeviceType[] = [
  transistor('PG21', 'pnp', 'ge', [0.24, 0.005], [32, 55, 96], 3e-6, 24, 0.1),
  transistor('PG22', 'pnp', 'ge', [0.23, 0.003], [55, 95, 165], 4e-6, 20, 0.1),
  transistor('PG35', 'pnp', 'ge', [0.32, 0.05], [40, 70, 120], 10e-6, 30, 0.5),
  transistor('PG60', 'pnp', 'ge', [0.35, 0.3], [35, 60, 105], 80e-6, 40, 3),
  transistor('NG21', 'npn', 'ge', [0.25, 0.005], [32, 55, 96], 4e-6, 20, 0.1),
  transistor('NG35', 'npn', 'ge', [0.32, 0.05], [40, 70, 120], 12e-6, 25, 0.5),
  transistor('NS10', 'npn', 'si', [0.68, 0.01], [45, 80, 140], 2e-8, 40, 0.2),
  transistor('NS30', 'npn', 'si', [0.74, 0.1], [45, 75, 130], 1e-7, 40, 1),
  transistor('NS60', 'npn', 'si', [0.75, 0.3], [35, 60, 105], 1e-6, 60, 4),
  transistor('NS90', 'npn', 'si', [0.66, 0.003], [40, 70, 120], 5e-8, 140, 0.05),
  transistor('PS10', 'pnp', 'si', [0.68, 0.01], [45, 75, 130], 3e-8, 40, 0.2),
  transistor('PS30', 'pnp', 'si', [0.74, 0.1], [40, 70, 120], 1e-7, 40, 1),
  junction('DG10', 'diode', 'ge', [0.34, 0.002], 1.8, 6e-6, 14),
  junction('DG20', 'diode', 'ge', [0.36, 0.01], 1.7, 4e-6, 3),
  junction('DS10', 'diode', 'si', [0.66, 0.005], 1.9, 2e-8, 1.5),
  junction('DS40', 'diode', 'si', [0.78, 0.2], 1.8, 2e-7, 0.2),
  junction('ZS5', 'zener', 'si', [0.75, 0.02], 1.2, 1e-7, 14),
  junction('ZS7', 'zener', 'si', [0.75, 0.02], 1.2, 1e-7, 6),
];
