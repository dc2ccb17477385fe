import { describe, expect, it } from 'vitest';
import { edgesOfLogic } from './logic.ts';
import { pulses } from './pulses.ts';
import type { LogicTrace } from './trace.ts';

function line(changes: readonly [number, string][], end: number): LogicTrace {
  return {
    name: 'a',
    width: 1,
    instants: Float64Array.from(changes, ([t]) => t),
    states: changes.map(([, state]) => state),
    end,
  };
}

describe('transitions of a logic trace', () => {
  const train = line(
    [0, 10, 20, 30, 40, 50].map((t, i): [number, string] => [
      t + (i % 2 === 1 ? -4 : 0),
      i % 2 === 1 ? '1' : '0',
    ]),
    60,
  );

  it('give pulses as those of an analogue one do', () => {
    const edges = edgesOfLogic(train);
    expect([...edges.mid]).toEqual([6, 20, 26, 40, 46]);
    expect([...edges.rising]).toEqual([1, 0, 1, 0, 1]);
    const { period, pulseDuration, pulseCount } = pulses(edges, 0, 60);
    expect(pulseCount).toBe(3);
    expect(period).toMatchObject({ value: 20, count: 2 });
    expect(pulseDuration).toMatchObject({ value: 14, count: 2 });
    // The shortest interval is 6: no finer did anybody look, as far as is known.
    expect(edges.instantResolution).toBeCloseTo(6 / Math.sqrt(12), 12);
  });

  it('are none where the line was not known, and pulses are not counted across', () => {
    const edges = edgesOfLogic(
      line(
        [
          [0, '0'],
          [1, '1'],
          [2, 'x'],
          [8, '0'],
          [9, '1'],
          [10, '0'],
        ],
        12,
      ),
    );
    expect([...edges.mid]).toEqual([1, 9, 10]);
    const { period, pulseDuration } = pulses(edges, 0, 12);
    expect(period).toEqual({ reason: 'no whole period' });
    expect(pulseDuration).toMatchObject({ value: 1, count: 1 });
  });

  it('are those of a window, and say why there are none', () => {
    expect([...edgesOfLogic(train, { from: 15, to: 30 }).mid]).toEqual([20, 26]);
    expect(edgesOfLogic(line([[0, '1']], 5)).reason).toBe('one level only');
    expect(edgesOfLogic(line([[0, 'x']], 5)).reason).toBe('no samples');
    expect(() => edgesOfLogic({ ...train, width: 2 })).toThrow('2 bits wide');
  });
});
