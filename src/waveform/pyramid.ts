/** Minima and maxima of a trace at rising scales, so that a picture of any stretch of it costs what it is wide, not what it is long. */

import { firstAtOrAfter } from './extent.ts';
import { instantAt, type Trace } from './trace.ts';

/** Samples in a block of the lowest level, and blocks in one of the next: 16 keeps the whole to an eighth of the samples. */
const BRANCH = 16;
const SHIFT = 4;

/** What a column of pixels shows, one entry a column in all the arrays. */
export interface Columns {
  /** Least and greatest sample; NaN where the column has none. */
  readonly min: Float32Array;
  readonly max: Float32Array;
  /** First and last sample that is a number: what joins a column to its neighbours. */
  readonly first: Float32Array;
  readonly last: Float32Array;
  /** Samples in the column, gaps included. */
  readonly count: Uint32Array;
  /** 1 where a sample of the column is not a number. */
  readonly gap: Uint8Array;
  /** Index of the first sample at or after the start of the first column. */
  readonly begin: number;
}

/** One level: what `BRANCH ** level` samples span. */
class Level {
  min = new Float32Array(64);
  max = new Float32Array(64);
  gap = new Uint8Array(64);
  blocks = 0;

  push(min: number, max: number, gap: number): void {
    if (this.blocks === this.min.length) {
      const size = 2 * this.blocks;
      const [min, max, gap] = [new Float32Array(size), new Float32Array(size), new Uint8Array(size)];
      min.set(this.min);
      max.set(this.max);
      gap.set(this.gap);
      [this.min, this.max, this.gap] = [min, max, gap];
    }
    this.min[this.blocks] = min;
    this.max[this.blocks] = max;
    this.gap[this.blocks++] = gap;
  }
}

/**
 * Built over a trace that may grow: `extend` takes the longer one and reckons the new blocks only. The samples are not copied; they
 * must stay as they are.
 */
export class Pyramid {
  #trace: Trace;
  readonly #levels: Level[] = [];

  constructor(trace: Trace) {
    this.#trace = trace;
    this.#build();
  }

  get trace(): Trace {
    return this.#trace;
  }

  /**
   * @param trace  the same trace with more samples at its end
   * @throws RangeError  when it is shorter than what is already here
   */
  extend(trace: Trace): void {
    const [had, has] = [this.#trace.values.length, trace.values.length];
    if (has < had) throw new RangeError(`a trace of ${has} samples does not continue one of ${had}`);
    this.#trace = trace;
    this.#build();
  }

  #build(): void {
    const { values } = this.#trace;
    const lowest = this.#level(0);
    for (let block = lowest.blocks; (block + 1) << SHIFT <= values.length; block++) {
      let min = Number.POSITIVE_INFINITY;
      let max = Number.NEGATIVE_INFINITY;
      let gap = 0;
      for (let i = block << SHIFT; i < (block + 1) << SHIFT; i++) {
        const v = values[i]!;
        if (v < min) min = v;
        if (v > max) max = v;
        if (Number.isNaN(v)) gap = 1;
      }
      lowest.push(min, max, gap);
    }
    for (let k = 1; this.#levels[k - 1]!.blocks >= BRANCH; k++) {
      const [below, level] = [this.#levels[k - 1]!, this.#level(k)];
      for (let block = level.blocks; (block + 1) << SHIFT <= below.blocks; block++) {
        let min = Number.POSITIVE_INFINITY;
        let max = Number.NEGATIVE_INFINITY;
        let gap = 0;
        for (let i = block << SHIFT; i < (block + 1) << SHIFT; i++) {
          min = Math.min(min, below.min[i]!);
          max = Math.max(max, below.max[i]!);
          gap |= below.gap[i]!;
        }
        level.push(min, max, gap);
      }
    }
  }

  #level(k: number): Level {
    this.#levels[k] ??= new Level();
    return this.#levels[k];
  }

  /**
   * The trace as `width` columns from one instant to another, exact to the sample: column `c` holds the samples at or after
   * `from + c (to - from) / width` and before the next column; the last one also those at `to`.
   *
   * @param from, to  seconds, rising
   * @throws RangeError  when there is no column, or no time in them
   */
  columns(from: number, to: number, width: number): Columns {
    if (!(Number.isInteger(width) && width > 0))
      throw new RangeError(`${width} columns: a whole number above 0`);
    if (!(from < to)) throw new RangeError(`columns from ${from} to ${to}: the end must be after the start`);
    const { timebase, values } = this.#trace;
    const { length } = values;
    const columns = {
      min: new Float32Array(width).fill(Number.NaN),
      max: new Float32Array(width).fill(Number.NaN),
      first: new Float32Array(width).fill(Number.NaN),
      last: new Float32Array(width).fill(Number.NaN),
      count: new Uint32Array(width),
      gap: new Uint8Array(width),
      begin: firstAtOrAfter(timebase, length, from),
    };
    let begin = columns.begin;
    for (let c = 0; c < width; c++) {
      const bound = c + 1 === width ? to : from + ((c + 1) * (to - from)) / width;
      let end = firstAtOrAfter(timebase, length, bound);
      if (c + 1 === width) while (end < length && instantAt(timebase, end) <= to) end++;
      if (end > begin) this.#column(columns, c, begin, end);
      begin = Math.max(begin, end);
    }
    return columns;
  }

  #column(columns: Columns, c: number, begin: number, end: number): void {
    const { values } = this.#trace;
    let min = Number.POSITIVE_INFINITY;
    let max = Number.NEGATIVE_INFINITY;
    let gap = 0;
    for (let i = begin; i < end; ) {
      // The widest whole block that starts here and ends within the column.
      let k = -1;
      let size = 1;
      while (k + 1 < this.#levels.length) {
        const wider = size * BRANCH;
        if (i % wider !== 0 || i + wider > end || i / wider >= this.#levels[k + 1]!.blocks) break;
        size = wider;
        k++;
      }
      if (k < 0) {
        const v = values[i]!;
        if (v < min) min = v;
        if (v > max) max = v;
        if (Number.isNaN(v)) gap = 1;
      } else {
        const level = this.#levels[k]!;
        const block = i / size;
        min = Math.min(min, level.min[block]!);
        max = Math.max(max, level.max[block]!);
        gap |= level.gap[block]!;
      }
      i += size;
    }
    columns.count[c] = end - begin;
    columns.gap[c] = gap;
    if (min > max) return;
    columns.min[c] = min;
    columns.max[c] = max;
    columns.first[c] = values[this.#number(begin, 1)]!;
    columns.last[c] = values[this.#number(end - 1, -1)]!;
  }

  /** Nearest sample that is a number, from `i` on or back; blocks that are all gap are passed over whole. */
  #number(i: number, direction: 1 | -1): number {
    const { values } = this.#trace;
    while (Number.isNaN(values[i])) {
      let size = 1;
      for (let k = 0; k < this.#levels.length; k++) {
        const wider = size * BRANCH;
        const block = Math.floor(i / wider);
        const level = this.#levels[k]!;
        if (block >= level.blocks || level.min[block]! <= level.max[block]!) break;
        size = wider;
      }
      i = direction > 0 ? (Math.floor(i / size) + 1) * size : Math.floor(i / size) * size - 1;
    }
    return i;
  }
}
