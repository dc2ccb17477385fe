import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type Comparison,
  comparison,
  type DifferenceKind,
  differenceTrace,
  mapped,
  type TimeMap,
  type Trace,
} from './index.ts';

function gaussian(seed: number): () => number {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return (state + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

interface Pulse {
  readonly at: number;
  readonly width: number;
  readonly height: number;
  readonly edge: number;
}

/** Twenty pulses of 40 samples every 100, the tenth as asked. */
function wave(change: Partial<Pulse> = {}, others: readonly Pulse[] = []): (t: number) => number {
  const pulses = Array.from({ length: 20 }, (_, k) => ({ at: 100 * k + 30, width: 40, height: 10, edge: 4 }));
  Object.assign(pulses[9]!, change);
  return (t) =>
    [...pulses, ...others].reduce((sum, { at, width, height, edge }) => {
      const rise = Math.min(1, Math.max(0, (t - at) / edge));
      const fall = Math.min(1, Math.max(0, (t - at - width) / edge));
      return sum + height * (rise - fall);
    }, -11);
}

function captured(v: (t: number) => number, seed: number, noise = 0.05, map?: TimeMap): Trace {
  const random = gaussian(seed);
  const { offset, rate } = map ?? { offset: 0, rate: 1 };
  const values = Float32Array.from({ length: 2000 }, (_, i) => v((i - offset) / rate) + noise * random());
  return { name: 'A', unit: 'V', timebase: { start: 0, step: 1 }, values };
}

function compared(first: Trace, second: Trace, map?: TimeMap): Comparison {
  const result = comparison(first, second, map ? { map } : {});
  if ('reason' in result) throw new Error(result.reason);
  return result;
}

const sound = wave();

describe('comparison of twins', () => {
  it('finds nothing between captures of the same waveform, whatever their noise, shift and clock', () => {
    fc.assert(
      fc.property(
        fc.nat(),
        fc.double({ min: 0.001, max: 0.3, noNaN: true }),
        fc.double({ min: -60, max: 60, noNaN: true }),
        fc.double({ min: 0.99, max: 1.01, noNaN: true }),
        (seed, noise, offset, rate) => {
          const map = { offset, rate };
          const result = compared(captured(sound, seed, noise), captured(sound, seed + 1, noise, map), map);
          expect(result.differences).toEqual([]);
          expect(result.rms).toBeLessThan(2 * noise + 0.2);
        },
      ),
      { numRuns: 40 },
    );
  });

  it.each<[DifferenceKind, (t: number) => number, number, number]>([
    ['level', wave({ height: 8 }), 930, 974],
    ['missing pulse', wave({ height: 0 }), 930, 974],
    ['timing', wave({ at: 938 }), 930, 982],
    ['timing', wave({ width: 55 }), 970, 989],
    ['extra pulse', wave({}, [{ at: 980, width: 20, height: 10, edge: 4 }]), 980, 1004],
    ['missing pulse', wave({ height: 2 }), 930, 974],
    ['shape', wave({ edge: 30 }), 930, 1000],
    ['shape', (t) => sound(t) + 3 * Math.exp(-0.5 * ((t - 650) / 5) ** 2) * Math.sin(t - 650), 635, 665],
  ])('names %s, and where', (kind, changed, from, to) => {
    const map = { offset: 33.4, rate: 1.003 };
    const { differences, count } = compared(captured(sound, 1), captured(changed, 2, 0.05, map), map);
    expect(differences.length).toBe(count);
    expect(differences.length).toBeGreaterThan(0);
    for (const difference of differences) {
      expect(difference.kind).toBe(kind);
      expect(difference.from).toBeGreaterThan(from - 3);
      expect(difference.to).toBeLessThan(to + 3);
    }
  });

  it('says by how much', () => {
    const level = compared(captured(sound, 1), captured(wave({ height: 8 }), 2)).differences[0]!;
    expect(Math.abs(level.meanVolts + 2)).toBeLessThan(0.1);
    expect(Math.abs(level.volts + 2)).toBeLessThan(0.4);
    const timing = compared(captured(sound, 1), captured(wave({ width: 55 }), 2)).differences[0]!;
    expect(Math.abs(timing.seconds! - 15)).toBeLessThan(0.2);
    expect(timing.volts).toBeGreaterThan(9);
  });

  it('gives all of them in the order of time', () => {
    const v = wave({ height: 0 }, [{ at: 280, width: 15, height: 10, edge: 4 }]);
    const { differences } = compared(
      captured(sound, 1),
      captured((t) => (t > 1500 ? v(t) - 1 : v(t)), 2),
    );
    expect(differences.map(({ kind }) => kind)).toEqual(['extra pulse', 'missing pulse', 'level']);
    expect(differences.map(({ from }) => Math.round(from / 10) * 10)).toEqual([280, 930, 1500]);
  });

  it('of a wave the other way round names a shape: no edge has moved', () => {
    const { differences } = compared(
      captured(sound, 1),
      captured((t) => -sound(t), 2),
    );
    expect(differences.map(({ kind, seconds }) => [kind, seconds])).toEqual([['shape', undefined]]);
  });

  it('turned about finds the same places, missing for extra', () => {
    const [one, two] = [captured(sound, 1), captured(wave({ height: 0 }), 2)];
    const [there, back] = [compared(one, two).differences, compared(two, one).differences];
    expect(there.map(({ kind }) => kind)).toEqual(['missing pulse']);
    expect(back.map(({ kind }) => kind)).toEqual(['extra pulse']);
    expect(back[0]!.from).toBeCloseTo(there[0]!.from, 6);
    expect(back[0]!.volts).toBeCloseTo(-there[0]!.volts, 6);
  });

  it('of a dead unit finds every pulse missing', () => {
    const { differences } = compared(
      captured(sound, 1),
      captured(() => -11, 2),
    );
    expect(differences.map(({ kind }) => kind)).toEqual(Array(20).fill('missing pulse'));
  });

  it('keeps to the tolerances that are given', () => {
    const [one, two] = [captured(sound, 1), captured(wave({ width: 55, height: 9.5 }), 2)];
    const lenient = comparison(one, two, { amplitudeTolerance: 1, timingTolerance: 16 });
    expect(lenient).toMatchObject({ differences: [], amplitudeTolerance: 1, timingTolerance: 16 });
    const strict = comparison(one, two, { amplitudeTolerance: 1, timingTolerance: 12 });
    expect(strict).toMatchObject({ count: 1 });
    expect(() => comparison(one, two, { timingTolerance: -1 })).toThrow(/timingTolerance -1/);
  });

  it('does not judge gaps, nor what only one has', () => {
    const [one, two] = [captured(sound, 1), captured(wave({ height: 0 }), 2)];
    // A gap that begins with the pulse hides it as well as one that covers it.
    for (const begin of [930, 920]) {
      two.values.fill(Number.NaN, begin, 990);
      expect(compared(one, two).differences).toEqual([]);
      expect(compared(two, one).differences).toEqual([]);
    }
    const later = { ...two, timebase: { start: 5000, step: 1 } };
    expect(comparison(one, later)).toEqual({ reason: 'no overlap' });
    expect(comparison(one, { ...two, values: new Float32Array(0) })).toEqual({ reason: 'no samples' });
  });

  it('is as quick with stamps, and the same', () => {
    const [one, two] = [captured(sound, 1), captured(wave({ at: 938 }), 2)];
    const stamped = { ...two, timebase: { stamps: Float64Array.from(two.values, (_, i) => i) } };
    expect(compared(one, stamped)).toEqual(compared(one, two));
  });
});

describe('a difference trace', () => {
  it("is second less first at the first one's instants, interpolated", () => {
    const map = { offset: 10.25, rate: 1.001 };
    const [one, two] = [captured((t) => t, 1, 0), captured((t) => 3 * t + 1, 2, 0)];
    const { values } = differenceTrace(one, two, map);
    for (const i of [0, 700, 1900]) expect(values[i]).toBeCloseTo(3 * mapped(map, i) + 1 - i, 2);
    expect(values[1999]).toBeNaN();
  });
});
