/** A measured value with its standard uncertainty, or why there is none. */

export interface Measured {
  readonly value: number;
  /** Standard uncertainty (one sigma), in the unit of the value. */
  readonly uncertainty: number;
  /** Pulses, edges or samples that it was taken from. */
  readonly count: number;
  /** Standard deviation of the single values; absent where there is one only. */
  readonly spread?: number;
}

/** Why a value cannot be had. */
export type Reason =
  | 'no samples'
  | 'one level only'
  | 'no full transition'
  | 'no whole pulse'
  | 'no whole period'
  | 'fewer than three periods'
  | 'not settled in the window'
  | 'noise wider than the settling band'
  | 'no gaps between groups of pulses'
  | 'no whole burst'
  | 'no instant follows';

export type Estimate = Measured | { readonly reason: Reason };

export function isMeasured(estimate: Estimate): estimate is Measured {
  return 'value' in estimate;
}

/**
 * Mean of single values with its standard uncertainty
 *
 *     u^2 = max(s^2, u_random^2) / n + u_common^2
 *
 * where `s` is their standard deviation. What the samples' noise alone explains is a floor, since few values may agree by chance;
 * what all values share (interpolation, resolution) does not average out.
 *
 * @source JCGM 100:2008 (GUM), 4.2 and 5.1: type A and type B evaluation, combined
 */
export class Mean {
  #count = 0;
  #mean = 0;
  #squares = 0;

  get count(): number {
    return this.#count;
  }

  /** Welford's running update: no cancellation where a small spread stands on a large mean. */
  add(value: number): void {
    this.#count++;
    const off = value - this.#mean;
    this.#mean += off / this.#count;
    this.#squares += off * (value - this.#mean);
  }

  /** Standard deviation of the single values; 0 for fewer than two. */
  get spread(): number {
    return this.#count > 1 ? Math.sqrt(this.#squares / (this.#count - 1)) : 0;
  }

  estimate(reason: Reason, random: number, common: number): Estimate {
    if (this.#count === 0) return { reason };
    const s = this.spread;
    return {
      value: this.#mean,
      uncertainty: Math.hypot(Math.max(s, random) / Math.sqrt(this.#count), common),
      count: this.#count,
      ...(this.#count > 1 ? { spread: s } : {}),
    };
  }
}
