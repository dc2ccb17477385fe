import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { WavesView } from '../../server/index.ts';
import { COMMON_TRIGGER, Pyramid } from '../../waveform/index.ts';
import { type Course, expectedOf, lineOf, traceOf } from './expected.ts';
import { type Group, type Loaded, lanesOf, withExpected } from './lanes.ts';

/** One turn of 10 s: low, with a pulse of 1 s. */
const TURN: Course = { from: 0, to: 10, repeats: true, instants: [0, 4, 4.01, 5, 5.01, 10] };
const PULSE = [-6, -6, 0, 0, -6, -6];
const SEEN = { from: 0, to: 40 };

describe('the line of what is expected', () => {
  it('goes through all corners of all turns that are seen', () => {
    const { xs, values } = lineOf(TURN, PULSE, COMMON_TRIGGER, { from: 0, to: 19.9 }, 1000);
    expect(values).toEqual([...PULSE, ...PULSE]);
    expect(xs[8]).toBeCloseTo(14.01 / 19.9, 12);
  });

  it('is moved as the capture lies: what is at 4 s of its own is at 1 s of a picture that is 3 s behind', () => {
    const { xs, values } = lineOf(TURN, PULSE, { offset: 3, rate: 1 }, SEEN, 1000);
    const up = values.indexOf(0);
    expect(40 * xs[up]!).toBeCloseTo(1.01, 9);
  });

  it('comes once where it does not repeat', () => {
    const once = { ...TURN, repeats: false };
    expect(lineOf(once, PULSE, COMMON_TRIGGER, SEEN, 1000).values).toEqual(PULSE);
    expect(traceOf(once, PULSE, 'C1', 5).values).toHaveLength(6);
  });

  it('of a thousand turns keeps least and greatest, and is no longer than the picture is wide', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 5000 }), fc.integer({ min: 20, max: 400 }), (turns, columns) => {
        const span = { from: 0, to: 10 * turns };
        const { xs, values } = lineOf(TURN, PULSE, COMMON_TRIGGER, span, columns);
        expect(Math.min(...values)).toBe(-6);
        expect(Math.max(...values)).toBe(0);
        expect(xs.length).toBeLessThanOrEqual(4 * columns + 12);
        expect(xs.every((x, i) => x >= (xs[i - 1] ?? 0) - 1e-9)).toBe(true);
        const high = lineOf(TURN, PULSE, COMMON_TRIGGER, span, columns, 'high').values;
        const low = lineOf(TURN, PULSE, COMMON_TRIGGER, span, columns, 'low').values;
        expect(Math.max(...high)).toBe(0);
        expect(Math.min(...low)).toBe(-6);
      }),
    );
  });

  it('as samples rises in time over the seams of its turns', () => {
    const { timebase, values } = traceOf(TURN, PULSE, 'C1', 3);
    const { stamps } = timebase as { stamps: Float64Array };
    expect(stamps.every((t, i) => t > (stamps[i - 1] ?? -1))).toBe(true);
    expect(stamps.at(-1)).toBe(30);
    expect(values.filter((v) => v === 0)).toHaveLength(6);
  });
});

const VIEW: WavesView = {
  ...{ revision: 1, state: 'turning', noAnswer: '', from: 0, to: 10, repeats: true },
  ...{ instants: TURN.instants, faultInstants: [0, 10] },
  fault: { key: 'A/Q1:open-b', part: 'A/Q1', words: 'base open', severity: '' },
  waves: [
    {
      ...{ point: 'C1', caution: '', volts: PULSE },
      ...{ low: PULSE.map((v) => v - 0.5), high: PULSE.map((v) => v + 0.5), faultVolts: [-9, -9] },
    },
  ],
};

function captured(point: string): Loaded {
  const trace = traceOf(TURN, PULSE, point, 2);
  const own = { key: `1/${point}`, title: point, point, unit: 'V', owner: 'east' };
  const shown = { hollow: false, second: false, low: -6, high: 0, extent: { from: 0, to: 20 } };
  return { ...own, ...shown, pyramid: new Pyramid(trace) };
}

describe('what is expected', () => {
  it('lies behind the lane of its point alone, whose scale holds the band and the fault', () => {
    const bare = { departures: [], referenceWords: [], otherWords: [] };
    const groups: Group[] = ['C1', 'B1'].map((point) => ({ ...bare, reference: captured(point) }));
    const lanes = lanesOf(groups, 'by point', 0, COMMON_TRIGGER);
    const map = { offset: 3, rate: 1 };
    const [first, second] = withExpected(lanes, groups, 0, expectedOf(VIEW), map);
    expect(first).toMatchObject({ low: -9, high: 0.5, expected: { map } });
    expect(first!.expected!.expected.fault).toMatchObject({ part: 'A/Q1', volts: [-9, -9] });
    expect(second).toEqual(lanes[1]);
    const [all] = withExpected(
      lanesOf(groups, 'overlay', 0, COMMON_TRIGGER),
      groups,
      0,
      expectedOf(VIEW),
      map,
    );
    expect(all!.expected!.expected.point).toBe('C1');
  });
});
