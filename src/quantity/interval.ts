import type { Tolerance } from './tolerance.ts';

/**
 * All numbers from `lo` to `hi`, both included: what a value may be when its tolerance is known and nothing else is.
 *
 * A result holds every value that the operation, done in floating point, has for numbers of its operands; ends are
 * rounded to nearest and not outwards. Operands count as independent, so `a.sub(a)` is not zero but twice as wide as `a`.
 */
export class Interval {
  readonly lo: number;
  readonly hi: number;

  /** @throws RangeError  when an end is not finite or `lo` lies above `hi` */
  constructor(lo: number, hi: number) {
    if (!(Number.isFinite(lo) && Number.isFinite(hi) && lo <= hi)) {
      throw new RangeError(`interval must have finite ends in order, got ${lo} to ${hi}`);
    }
    this.lo = lo;
    this.hi = hi;
  }

  /**
   * What a part marked `nominal` may be. A bare number is percent either way; percent are of the size of `nominal`,
   * picofarads go with a `nominal` in farads.
   *
   * @throws RangeError  when `nominal` is not finite or the tolerance negative
   */
  static fromTolerance(nominal: number, tolerance: Tolerance | number): Interval {
    const { below, above, unit } =
      typeof tolerance === 'number'
        ? ({ below: tolerance, above: tolerance, unit: '%' } as const)
        : tolerance;
    if (!(below >= 0 && above >= 0)) {
      throw new RangeError(`tolerance must not be negative, got ${below} below and ${above} above`);
    }
    const width = (size: number): number => (unit === '%' ? (Math.abs(nominal) * size) / 100 : size * 1e-12);
    return new Interval(nominal - width(below), nominal + width(above));
  }

  contains(value: number): boolean {
    return this.lo <= value && value <= this.hi;
  }

  /** @throws RangeError  as all four operations, when an end overflows */
  add(other: Interval): Interval {
    return new Interval(this.lo + other.lo, this.hi + other.hi);
  }

  sub(other: Interval): Interval {
    return new Interval(this.lo - other.hi, this.hi - other.lo);
  }

  mul(other: Interval): Interval {
    return hull(this.lo * other.lo, this.lo * other.hi, this.hi * other.lo, this.hi * other.hi);
  }

  /** @throws RangeError  also when the divisor contains zero */
  div(other: Interval): Interval {
    if (other.contains(0)) throw new RangeError(`divisor contains zero, got ${other.lo} to ${other.hi}`);
    return hull(this.lo / other.lo, this.lo / other.hi, this.hi / other.lo, this.hi / other.hi);
  }
}

function hull(...ends: readonly number[]): Interval {
  return new Interval(Math.min(...ends), Math.max(...ends));
}
