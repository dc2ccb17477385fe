/** What the picture of a view is made of, in plain data: lanes below one another on one axis of time. */

import type { LogicTrace, Pyramid, TimeMap } from '../../waveform/index.ts';
import type { Cursors } from './cursors.ts';
import type { Expected } from './expected.ts';
import type { Span } from './span.ts';

export interface DrawnTrace {
  readonly pyramid: Pyramid;
  /** From the seconds of the picture to those of the trace. */
  readonly map: TimeMap;
  /** The healthy unit's is a hollow line, any other's a solid one. */
  readonly hollow: boolean;
  /** That which is measured is drawn on top, and stronger. */
  readonly chosen: boolean;
  /** Stands at the trace. */
  readonly name: string;
  /** Where it departs from its twin, in seconds of the picture, rising. */
  readonly departures: readonly Span[];
}

export interface DrawnExpected {
  readonly expected: Expected;
  /** From the seconds of the picture to those of what is expected. */
  readonly map: TimeMap;
}

export interface DrawnWord {
  /** Most significant first. */
  readonly bits: string;
  /** The same in the order in which they came. */
  readonly inTime: string;
  /** Seconds of the picture at which each was read. */
  readonly instants: Float64Array;
}

export interface DrawnLogic {
  /** In seconds of the picture. */
  readonly trace: LogicTrace;
  readonly hollow: boolean;
  readonly name: string;
  readonly words: readonly DrawnWord[];
  readonly departures: readonly Span[];
}

export interface Lane {
  readonly key: string;
  /** Of its values. */
  readonly unit: string;
  /** Least and greatest value of all its traces. */
  readonly low: number;
  readonly high: number;
  readonly traces: readonly DrawnTrace[];
  readonly logic: readonly DrawnLogic[];
  /** Lies behind the traces. */
  readonly expected?: DrawnExpected;
  /** Where its twins first part, seconds. */
  readonly parts?: number;
}

export interface Picture {
  readonly lanes: readonly Lane[];
  readonly span: Span;
  readonly cursors: Cursors;
  readonly active: keyof Cursors;
  /** Values fitted to what is seen. */
  readonly fitted: boolean;
  /** The difference that was stepped to. */
  readonly looked?: Span;
}

/** Sizes in pixels at size 100 %. */
export const GUTTER = 54;
export const RIGHT = 14;
export const TOP = 62;
const LOGIC = 66;
const HEIGHTS: readonly number[] = [0, 400, 220, 160, 136];

/** Height of each lane: few lanes are high, many low, and all are seen. */
export function laneHeights(lanes: readonly Lane[]): number[] {
  const analogue = lanes.filter(({ traces }) => traces.length > 0).length;
  const high = HEIGHTS[Math.min(analogue, HEIGHTS.length - 1)]!;
  return lanes.map(({ traces, logic }) =>
    traces.length > 0 ? high : LOGIC + (logic.some(({ words }) => words.length > 0) ? 22 * logic.length : 0),
  );
}

/** Height of the whole. */
export function pictureHeight(lanes: readonly Lane[]): number {
  return TOP + laneHeights(lanes).reduce((sum, height) => sum + height, 0);
}
