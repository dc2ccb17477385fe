import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { WaveView } from './wave-view.ts';

describe('what is looked at', () => {
  let view: WaveView;
  beforeEach(() => {
    vi.useFakeTimers();
    view = new WaveView();
    view.show({ from: -1, to: 9 }, 0.001);
  });
  afterEach(() => vi.useRealTimers());

  it('begins as the whole, and is the whole again at a key', () => {
    expect(view.span).toEqual({ from: -1, to: 9 });
    view.zoom(0.1);
    expect(view.span).toEqual({ from: 3.5, to: 4.5 });
    view.all();
    expect(view.span).toEqual(view.whole);
  });

  it('goes to either end', () => {
    view.zoom(0.1);
    view.start();
    expect(view.span.from).toBe(-1);
    view.end();
    expect(view.span.to).toBe(9);
  });

  it('comes closer about the cursor that is held, where that is in sight', () => {
    view.put('a', 0);
    view.zoom(0.5);
    expect(view.span).toEqual({ from: -0.5, to: 4.5 });
  });

  it('never shows fewer than a handful of samples', () => {
    for (let k = 0; k < 200; k++) view.zoom(0.5);
    expect(view.span.to - view.span.from).toBeCloseTo(0.008, 9);
  });

  it('follows a cursor that is moved out of it', () => {
    view.put('b', 4);
    view.zoom(0.01);
    for (let k = 0; k < 400; k++) view.nudge(0.005);
    const { from, to } = view.span;
    expect(view.cursors.b).toBeGreaterThanOrEqual(from);
    expect(view.cursors.b).toBeLessThanOrEqual(to);
  });

  it('is what lies between the cursors', () => {
    view.put('b', 2);
    view.put('a', 5);
    view.toCursors();
    expect(view.span).toEqual({ from: 2, to: 5 });
  });

  it('is told at each movement, and once more when it rests', () => {
    const [moved, rested] = [vi.fn(), vi.fn()];
    view.onMove(moved);
    const stop = view.onRest(rested);
    vi.runAllTimers();
    rested.mockClear();
    for (let k = 0; k < 5; k++) view.zoom(0.9);
    expect(moved).toHaveBeenCalledTimes(5);
    expect(rested).not.toHaveBeenCalled();
    vi.runAllTimers();
    expect(rested).toHaveBeenCalledTimes(1);
    expect(view.rested.span).toBe(view.span);
    stop();
    view.zoom(0.9);
    vi.runAllTimers();
    expect(rested).toHaveBeenCalledTimes(1);
  });

  it('stays where it is when the same whole is shown again, and not when another is', () => {
    view.zoom(0.5);
    const { span } = view;
    view.show({ from: -1, to: 9 }, 0.001);
    expect(view.span).toBe(span);
    view.show({ from: 0, to: 20 }, 0.001);
    expect(view.span).toEqual({ from: 0, to: 20 });
  });
});
