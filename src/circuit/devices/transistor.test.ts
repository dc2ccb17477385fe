import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { gainRatio, leakageRatio, saturationRatio, thermalVoltage } from './temperature.ts';
import {
  BASE,
  COLLECTOR,
  EMITTER,
  openTransistorCurrents,
  type Transistor,
  transistor,
  transistorByParameters,
  transistorCurrents,
} from './transistor.ts';

const NVT = 0.02569258;
const some: fc.Arbitrary<Transistor> = fc.record({
  sign: fc.constantFrom(1, -1),
  is: fc.constantFrom(1e-15, 1e-9, 3e-7),
  nvt: fc.constantFrom(0.022, 0.0257),
  bf: fc.constantFrom(5, 60, 300),
  br: fc.constantFrom(3, 8),
  leak: fc.constantFrom(0, 5e-9, 2e-6, 1e-4),
});
const volt = fc.double({ min: -13, max: 13, noNaN: true });
const TERMINALS = [BASE, COLLECTOR, EMITTER];

/** Base-emitter and base-collector voltages in the polarity of an NPN, from pin voltages. */
function currents(q: Transistor, v: ArrayLike<number>): number[] {
  transistorCurrents(q, q.sign * (v[BASE]! - v[EMITTER]!), q.sign * (v[BASE]! - v[COLLECTOR]!));
  return [...transistor.current];
}

/** Pin voltages whose junctions are forward by less than half a volt more than they carry at 100 mA. */
const pins = (q: Transistor): fc.Arbitrary<number[]> => {
  const most = q.nvt * Math.log(0.1 / q.is);
  return fc.tuple(volt, volt, volt).map(([b, c, e]) => {
    const s = q.sign;
    return [s * Math.min(s * b, s * c + most, s * e + most), c, e];
  });
};
const case_ = some.chain((q) => fc.tuple(fc.constant(q), pins(q)));

describe('a transistor', () => {
  it('takes as much current as it gives, and more power than it gives', () => {
    fc.assert(
      fc.property(case_, ([q, v]) => {
        const i = currents(q, v);
        const flow = i.reduce((sum, x) => sum + Math.abs(x), 0);
        expect(Math.abs(i[0]! + i[1]! + i[2]!)).toBeLessThanOrEqual(1e-15 * flow);
        const power = TERMINALS.reduce((sum, t) => sum + v[t]! * i[t]!, 0);
        expect(power).toBeGreaterThanOrEqual(-1e-14 * flow);
      }),
      { seed: 1, numRuns: 500 },
    );
  });

  it('of one polarity is the mirror image of the other', () => {
    fc.assert(
      fc.property(case_, ([q, v]) => {
        const mirror = currents(
          { ...q, sign: -q.sign },
          v.map((x) => -x),
        );
        currents(q, v).forEach((x, t) => {
          expect(mirror[t]).toBeCloseTo(-x, 15);
        });
      }),
      { seed: 2 },
    );
  });

  it('states the slopes of its currents', () => {
    fc.assert(
      fc.property(case_, ([q, v]) => {
        currents(q, v);
        const jacobian = [...transistor.jacobian];
        const h = 1e-6;
        for (const u of TERMINALS) {
          const up = currents(
            q,
            v.map((x, t) => (t === u ? x + h : x)),
          );
          const down = currents(
            q,
            v.map((x, t) => (t === u ? x - h : x)),
          );
          for (const t of TERMINALS) {
            const slope = (up[t]! - down[t]!) / (2 * h);
            expect(Math.abs(jacobian[3 * t + u]! - slope)).toBeLessThan(
              1e-9 + 1e-5 * Math.abs(slope) + 1e-3 * q.leak,
            );
          }
        }
      }),
      { seed: 3, numRuns: 300 },
    );
  });

  it('cut off by an open emitter leaks ICBO, and by an open base ICBO times the gain and one', () => {
    // As in every textbook of the period: ICEO = (1 + hFE) ICBO.
    const q: Transistor = {
      sign: -1,
      is: 3e-7,
      nvt: NVT,
      bf: 60,
      br: 8,
      leak: 2e-6 - 3e-7 * (1 / 8 + 1 / 61),
    };
    const emitterOpen = Float64Array.of(0, -10, 0);
    openTransistorCurrents(q, EMITTER, emitterOpen, 0);
    expect(transistor.current[COLLECTOR]).toBeCloseTo(-2e-6, 12);
    expect(transistor.current[BASE]).toBeCloseTo(2e-6, 12);
    const baseOpen = Float64Array.of(0, -10, 0);
    openTransistorCurrents(q, BASE, baseOpen, 0);
    expect(transistor.current[COLLECTOR]! / (61 * -2e-6)).toBeCloseTo(1, 3);
    expect(transistor.current[EMITTER]).toBeCloseTo(-transistor.current[COLLECTOR]!, 15);
  });

  it('needs about 1.7 mV less base-emitter voltage a kelvin in germanium, 1.9 in silicon, at a constant current', () => {
    // Rule of thumb of the textbooks, from memory: -2 mV/K, a little less where VBE is near the gap.
    for (const [material, is, most] of [
      ['ge', 5e-3 / Math.expm1(0.25 / NVT), -1.4e-3],
      ['si', 2e-3 / Math.expm1(0.65 / NVT), -1.7e-3],
    ] as const) {
      const vbe = (celsius: number): number =>
        thermalVoltage(celsius) * Math.log(2e-3 / (is * saturationRatio(material, 1, celsius)));
      const slope = (vbe(45) - vbe(15)) / 30;
      expect(slope).toBeLessThan(most);
      expect(slope).toBeGreaterThan(-2.2e-3);
    }
  });

  it('leaks eight times as much with an open base at 55 °C as at 25 °C, and more by what its gain has risen', () => {
    const at = (celsius: number): number => {
      const q: Transistor = {
        sign: 1,
        is: 1e-14 * saturationRatio('si', 1, celsius),
        nvt: thermalVoltage(celsius),
        bf: 100 * gainRatio(celsius),
        br: 3,
        leak: 1e-6 * leakageRatio(celsius),
      };
      openTransistorCurrents(q, BASE, Float64Array.of(0, 10, 0), 0);
      return transistor.current[COLLECTOR]!;
    };
    expect(at(55) / at(25)).toBeCloseTo((8 * (1 + 100 * gainRatio(55))) / 101, 3);
  });
});

describe('a transistor with an open terminal', () => {
  const opened = fc.tuple(case_, fc.constantFrom(...TERMINALS), fc.constantFrom(0, 1e-7, 1e-6));
  it('carries through that terminal what a meter draws, and nothing without one', () => {
    fc.assert(
      fc.property(opened, ([[q, v], open, siemens]) => {
        const volts = Float64Array.from(v);
        openTransistorCurrents(q, open, volts, siemens);
        const outer = [...transistor.current];
        const all = currents(q, volts);
        const flow = all.reduce((sum, x) => sum + Math.abs(x), 1e-15);
        expect(Math.abs(all[open]! + siemens * volts[open]!)).toBeLessThan(1e-9 * flow + 1e-15);
        for (const t of TERMINALS) {
          if (t === open) expect(outer[t]).toBe(0);
          else expect(Math.abs(outer[t]! - all[t]!)).toBeLessThan(1e-9 * flow + 1e-15);
        }
      }),
      { seed: 4, numRuns: 500 },
    );
  });

  it('gives one answer, whatever the first guess of its inner voltage', () => {
    fc.assert(
      fc.property(opened, volt, ([[q, v], open, siemens], guess) => {
        const one = Float64Array.from(v);
        openTransistorCurrents(q, open, one, siemens);
        const first = [...transistor.current];
        const other = Float64Array.from(v);
        other[open] = guess;
        openTransistorCurrents(q, open, other, siemens);
        for (const t of TERMINALS)
          expect(Math.abs(transistor.current[t]! - first[t]!)).toBeLessThan(
            1e-14 + 1e-9 * Math.abs(first[t]!),
          );
      }),
      { seed: 5, numRuns: 500 },
    );
  });

  it('states the slopes of the two currents that are left, and what they owe to each parameter', () => {
    const out = new Float64Array(9);
    fc.assert(
      fc.property(opened, ([[q, v], open, siemens]) => {
        const outer = (own: Transistor, at: readonly number[]): number[] => {
          openTransistorCurrents(own, open, Float64Array.from(at), siemens);
          return [...transistor.current];
        };
        const volts = Float64Array.from(v);
        openTransistorCurrents(q, open, volts, siemens);
        const jacobian = [...transistor.jacobian];
        transistorByParameters(q, volts, open, siemens, out);
        const own = [...out];
        const h = 1e-5;
        const size = outer(q, v).reduce((sum, x) => sum + Math.abs(x), 0);
        const near = (found: number, up: number, down: number): void => {
          const slope = (up - down) / (2 * h);
          expect(Math.abs(found - slope)).toBeLessThan(
            1e-9 + 1e-4 * Math.abs(slope) + 1e-4 * size + 1e-3 * q.leak,
          );
        };
        for (const u of TERMINALS) {
          if (u === open) continue;
          const up = outer(
            q,
            v.map((x, t) => (t === u ? x + h : x)),
          );
          const down = outer(
            q,
            v.map((x, t) => (t === u ? x - h : x)),
          );
          for (const t of TERMINALS) near(jacobian[3 * t + u]!, up[t]!, down[t]!);
        }
        (['is', 'bf', 'leak'] as const).forEach((name, row) => {
          const up = outer({ ...q, [name]: q[name] * (1 + h) }, v);
          const down = outer({ ...q, [name]: q[name] * (1 - h) }, v);
          for (const t of TERMINALS) near(own[3 * row + t]!, up[t]!, down[t]!);
        });
      }),
      { seed: 6, numRuns: 300 },
    );
  });
});
