/** What is looked at and where the cursors stand: one place that keys, wheel, fingers and the picture share. */

import { between, type CursorName, type Cursors, placed } from './cursors.ts';
import { about, moved, type Span, zoomed } from './span.ts';

/** Milliseconds without movement after which the view rests, and is said to the ear. */
const RESTS_AFTER = 400;
/** Samples that are seen at least. */
const LEAST_SAMPLES = 8;

export class WaveView {
  whole: Span = { from: 0, to: 1 };
  span: Span = this.whole;
  cursors: Cursors = {};
  /** The cursor that the keys move. */
  active: CursorName = 'a';
  /** Volts fitted to what is seen, rather than to the whole. */
  fitted = false;
  /** What is seen since the view rested last; a new object each time. */
  rested: Pick<WaveView, 'span' | 'cursors' | 'active'> = this;
  #step = 0;
  readonly #moved = new Set<() => void>();
  readonly #atRest = new Set<() => void>();
  #timer: ReturnType<typeof setTimeout> | undefined;

  /** Told at every movement, to draw. */
  readonly onMove = (listener: () => void): (() => void) => {
    this.#moved.add(listener);
    return () => this.#moved.delete(listener);
  };

  /** Told when it rests, for what is slower than drawing. */
  readonly onRest = (listener: () => void): (() => void) => {
    this.#atRest.add(listener);
    return () => this.#atRest.delete(listener);
  };

  /**
   * The stretch that there is to see, shown whole unless it is the same as before.
   *
   * @param step  seconds between samples
   */
  show(whole: Span, step: number): void {
    this.#step = step;
    if (whole.from === this.whole.from && whole.to === this.whole.to) return;
    this.whole = whole;
    this.cursors = {};
    this.#to(whole);
    this.#rest();
  }

  zoom(share: number, at?: number): void {
    const chosen = this.cursors[this.active];
    const { from, to } = this.span;
    const seen = chosen !== undefined && chosen >= from && chosen <= to;
    const instant = at ?? (seen ? chosen : (from + to) / 2);
    this.#to(zoomed(this.span, share, instant, this.whole, LEAST_SAMPLES * this.#step));
  }

  pan(by: number): void {
    this.#to(moved(this.span, by, this.whole));
  }

  all(): void {
    this.#to(this.whole);
  }

  start(): void {
    this.pan(Number.NEGATIVE_INFINITY);
  }

  end(): void {
    this.pan(Number.POSITIVE_INFINITY);
  }

  /** To the stretch between the cursors. */
  toCursors(): void {
    const span = between(this.cursors);
    if (span) this.#to(span);
  }

  goTo(target: Span): void {
    this.#to(about(target, this.span, this.whole));
  }

  fit(): void {
    this.fitted = !this.fitted;
    this.#tell();
  }

  put(name: CursorName, instant: number): void {
    this.cursors = placed(this.cursors, name, instant, this.whole);
    this.active = name;
    this.#tell();
  }

  /** The cursor of that name, put in the middle where it is not to be seen. */
  take(name: CursorName): void {
    const { from, to } = this.span;
    const at = this.cursors[name];
    if (at === undefined || at < from || at > to) this.put(name, (from + to) / 2);
    else this.put(name, at);
  }

  clear(): void {
    this.cursors = {};
    this.#tell();
  }

  /** @param by  share of what is seen */
  nudge(by: number): void {
    const { from, to } = this.span;
    this.put(this.active, (this.cursors[this.active] ?? (from + to) / 2) + by * (to - from));
    const at = this.cursors[this.active]!;
    if (at < from || at > to) this.goTo({ from: at, to: at });
  }

  #to(span: Span): void {
    this.span = span;
    this.#tell();
  }

  #tell(): void {
    for (const listener of this.#moved) listener();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#rest(), RESTS_AFTER);
  }

  #rest(): void {
    clearTimeout(this.#timer);
    const { span, cursors, active } = this;
    this.rested = { span, cursors, active };
    for (const listener of this.#atRest) listener();
  }
}
