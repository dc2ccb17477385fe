/** The values of one code of a value change dump, with repeated ones and those replaced within a tick left out. */

import { growingDoubles } from './growing-floats.ts';

const REAL = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
const NOT_FINITE = /^[+-]?(nan|inf|infinity)$/i;

type Value = string | number;

export class Dumped {
  readonly type: 'logic' | 'real' | 'event';
  readonly width: number;
  readonly #states: string[] = [];
  readonly #ticks = growingDoubles();
  readonly #reals = growingDoubles();
  /** Value of the tick in hand, which another one of the same tick may still replace. */
  #tick = -1;
  #value: Value | undefined;
  #lastTick = -1;
  #lastValue: Value | undefined;

  constructor(type: 'logic' | 'real' | 'event', width: number) {
    this.type = type;
    this.width = width;
  }

  /**
   * A value as the file writes it: `1`, `b10x`, `r-0.31`.
   *
   * @returns  what is wrong with it, in words
   */
  change(tick: number, written: string): string | undefined {
    if (this.type === 'event') return undefined;
    const letter = written[0]!;
    if ((letter === 'r' || letter === 'R') !== (this.type === 'real')) {
      return `${written.slice(0, 40)} for a ${this.type === 'real' ? 'real variable' : 'signal of bits'}`;
    }
    if (this.type === 'real') {
      const text = written.slice(1);
      if (!REAL.test(text) && !NOT_FINITE.test(text)) return `${written.slice(0, 40)} is no real value`;
      this.#set(tick, REAL.test(text) ? Number(text) : Number.NaN);
      return undefined;
    }
    const bits = (letter === 'b' || letter === 'B' ? written.slice(1) : letter).toLowerCase();
    if (bits.length !== 1 && !/^[01xz]+$/.test(bits)) {
      return `${written.slice(0, 40)} has other letters than 0, 1, x and z`;
    }
    if (bits.length > this.width) return `${bits.length} bits for a signal of ${this.width}`;
    // IEEE Std 1364-2005, 18.2.2: a leading 1 or 0 extends with 0, x with x, z with z.
    this.#set(tick, bits.padStart(this.width, bits[0] === '1' ? '0' : bits[0]!));
    return undefined;
  }

  /** From this tick on nothing is recorded. */
  lose(tick: number): void {
    if (this.type !== 'event') this.#set(tick, this.type === 'real' ? Number.NaN : 'x'.repeat(this.width));
  }

  #set(tick: number, value: Value): void {
    if (this.#tick !== tick) this.#keep();
    this.#tick = tick;
    this.#value = value;
  }

  #keep(): void {
    const value = this.#value;
    const last = this.#lastValue;
    if (value === undefined || Object.is(value, last)) return;
    if (typeof value === 'number') {
      // A trace is a line between its samples: the old value holds until the tick before.
      if (last !== undefined && this.#tick - 1 > this.#lastTick) this.#add(this.#tick - 1, last as number);
      this.#add(this.#tick, value);
    } else {
      this.#ticks.add(this.#tick);
      this.#states.push(value);
    }
    this.#lastTick = this.#tick;
    this.#lastValue = value;
  }

  #add(tick: number, value: number): void {
    this.#ticks.add(tick);
    this.#reals.add(value);
  }

  /**
   * All values with their ticks, once: real values, or states from `first` on, unknown until the first is written. The record
   * lasts until `last`.
   */
  taken(
    first: number,
    last: number,
  ): { ticks: Float64Array; states: readonly string[]; reals: Float64Array } {
    this.#keep();
    if (this.type === 'real' && this.#lastValue !== undefined && this.#lastTick < last) {
      this.#add(last, this.#lastValue as number);
    }
    const ticks = this.#ticks.taken();
    if (this.type === 'logic' && ticks[0] !== first) {
      const unknown = 'x'.repeat(this.width);
      // Unknown until the first value, which may itself be unknown.
      const known = this.#states[0] === unknown ? 1 : 0;
      const states = [unknown].concat(known === 0 ? this.#states : this.#states.slice(1));
      const all = new Float64Array(states.length);
      all[0] = first;
      all.set(ticks.subarray(known), 1);
      return { ticks: all, states, reals: new Float64Array(0) };
    }
    return { ticks, states: this.#states, reals: this.#reals.taken() };
  }
}
