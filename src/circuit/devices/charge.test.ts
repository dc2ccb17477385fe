import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { charged, chargedJunction, depletion, depletionCharge } from './charge.ts';
import { junction, junctionCurrent } from './junction.ts';

const volts = fc.double({ min: -30, max: 0.9, noNaN: true });
const layer = fc.record({
  farads: fc.constant(50e-12),
  phi: fc.constantFrom(0.4, 0.75),
  abrupt: fc.boolean(),
});

describe('the charge of a junction', () => {
  it('has its capacitance for its slope, rising, without a jump where the tangent takes over', () => {
    fc.assert(
      fc.property(layer, volts, (d, v) => {
        const h = 1e-5;
        depletionCharge(d, v + h);
        const up = depletion.q;
        depletionCharge(d, v - h);
        const slope = (up - depletion.q) / (2 * h);
        depletionCharge(d, v);
        expect(slope / depletion.c).toBeCloseTo(1, 4);
        expect(depletion.c).toBeGreaterThan(0);
      }),
    );
  });

  it('is C0 at no voltage, and falls with the root of an abrupt one, the cube root of a graded one', () => {
    depletionCharge({ farads: 1e-12, phi: 0.5, abrupt: true }, 0);
    expect(depletion).toEqual({ q: 0, c: 1e-12 });
    depletionCharge({ farads: 1e-12, phi: 0.5, abrupt: true }, -7.5);
    expect(depletion.c).toBeCloseTo(0.25e-12, 20);
    depletionCharge({ farads: 1e-12, phi: 0.5, abrupt: false }, -13);
    expect(depletion.c).toBeCloseTo(1e-12 / 3, 20);
  });

  it('leaves what the junction conducts as at DC, zeners and leakage included', () => {
    fc.assert(
      fc.property(volts, fc.constantFrom(6.8, Infinity), (v, vz) => {
        const j = { is: 1e-9, nvt: 0.04, rs: 0, leak: 1e-6, vz };
        junctionCurrent(j, v);
        const { i, g } = junction;
        chargedJunction(j, { farads: 1e-12, phi: 0.4, abrupt: true }, 1e-7, v);
        expect(Math.abs(charged.i - i)).toBeLessThanOrEqual(1e-12 * Math.abs(i));
        expect(Math.abs(charged.g - g)).toBeLessThanOrEqual(1e-12 * g);
      }),
    );
  });
});
