/** How the time of one trace goes over into that of another. */

/** An event at `t` seconds in the first trace is at `offset + rate t` in the second. */
export interface TimeMap {
  /** Seconds. */
  readonly offset: number;
  /** Seconds of the second for one of the first: above 1 where the second unit's clock runs slow. */
  readonly rate: number;
}

/** Both traces count from a trigger that is common to them: the same instant is the same event. */
export const COMMON_TRIGGER: TimeMap = { offset: 0, rate: 1 };

/** Instant in the second trace. */
export function mapped({ offset, rate }: TimeMap, t: number): number {
  return offset + rate * t;
}

/** The map from the second trace to the first. */
export function inverseMap({ offset, rate }: TimeMap): TimeMap {
  return { offset: -offset / rate, rate: 1 / rate };
}

export interface Alignment {
  readonly map: TimeMap;
  /** Standard uncertainty of the offset at the middle of what was compared, seconds. */
  readonly offsetUncertainty: number;
  /** Standard uncertainty of the rate; 0 where it was held at 1. */
  readonly rateUncertainty: number;
  /** Correlation coefficient of the aligned samples, or share of the edges that found their like: 1 is perfect. */
  readonly likeness: number;
  /** Another offset that fits nearly as well (periodic traces): its seconds. */
  readonly rival?: number;
}

export type NoAlignment = {
  readonly reason: 'no samples' | 'one level only' | 'nothing alike' | 'no overlap';
};

export interface AlignmentOptions {
  /** Largest difference of the clock rates that is looked for, as a share: 0.01 for 1 %; 0, where absent, holds the rate at 1. */
  readonly rate?: number;
  /** Largest shift in seconds that is looked for; any where absent. */
  readonly within?: number;
}
