import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Recorder } from './recorder.ts';

const walk = fc.array(
  fc.tuple(fc.double({ min: 0.01, max: 1, noNaN: true }), fc.double({ min: -1, max: 1, noNaN: true })),
  {
    minLength: 1,
    maxLength: 300,
  },
);

describe('a recorder', () => {
  it('keeps every sample where nothing is thinned', () => {
    const recorder = new Recorder(Int32Array.of(1), 0);
    for (let k = 0; k < 1000; k++) recorder.add(k, Float64Array.of(0, k * k));
    const { instants, volts } = recorder.result();
    expect(instants).toHaveLength(1000);
    expect(volts[0]![999]).toBe(999 * 999);
  });

  it('leaves out what a line between its neighbours tells, to the volts that it is given', () => {
    fc.assert(
      fc.property(walk, fc.constantFrom(0.05, 0.3), (steps, thin) => {
        const recorder = new Recorder(Int32Array.of(0, 1), thin);
        const all: [number, number, number][] = [];
        let t = 0;
        let v = 0;
        for (const [dt, dv] of steps) {
          t += dt;
          v += dv;
          all.push([t, v, -v / 2]);
          recorder.add(t, Float64Array.of(v, -v / 2));
        }
        const { instants, volts } = recorder.result();
        expect(instants[0]).toBe(all[0]![0]);
        expect(instants.at(-1)).toBe(t);
        let i = 0;
        for (const [at, a, b] of all) {
          while (i < instants.length - 2 && instants[i + 1]! < at) i++;
          const j = Math.min(i + 1, instants.length - 1);
          const share = j === i ? 0 : (at - instants[i]!) / (instants[j]! - instants[i]!);
          const line = (p: number): number => volts[p]![i]! + share * (volts[p]![j]! - volts[p]![i]!);
          expect(Math.abs(line(0) - a)).toBeLessThanOrEqual(thin + 1e-9);
          expect(Math.abs(line(1) - b)).toBeLessThanOrEqual(thin + 1e-9);
        }
      }),
    );
    const straight = new Recorder(Int32Array.of(0), 0.01);
    for (let k = 0; k < 1000; k++) straight.add(k, Float64Array.of(3 * k));
    expect(straight.result().instants).toHaveLength(2);
  });
});
