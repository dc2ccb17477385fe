/** The stretch of time that is looked at: closer and wider about an instant, to and fro, never out of the whole. */

export interface Span {
  /** Seconds. */
  readonly from: number;
  readonly to: number;
}

/**
 * @param share  length of the new stretch as a share of the old one: below 1 is closer
 * @param about  instant that keeps its place on the screen
 * @param whole  what the new one stays within
 * @param least  seconds that it keeps at least
 */
export function zoomed(span: Span, share: number, about: number, whole: Span, least: number): Span {
  const length = span.to - span.from;
  const most = whole.to - whole.from;
  // Instants of a double are no finer than this: closer, the axis would stand still.
  const finest = 64 * Number.EPSILON * Math.max(Math.abs(whole.from), Math.abs(whole.to));
  const wanted = Math.min(most, Math.max(length * share, Math.min(most, Math.max(least, finest))));
  const place = Math.min(1, Math.max(0, (about - span.from) / length));
  return within({ from: about - place * wanted, to: about + (1 - place) * wanted }, whole);
}

/** @param by  share of the stretch: 0.1 a tenth of it later; infinite to the end */
export function moved(span: Span, by: number, whole: Span): Span {
  const length = whole.to - whole.from;
  const seconds = Math.min(length, Math.max(-length, by * (span.to - span.from)));
  return within({ from: span.from + seconds, to: span.to + seconds }, whole);
}

/** The same length, pushed back to inside the whole. */
export function within(span: Span, whole: Span): Span {
  const length = Math.min(span.to - span.from, whole.to - whole.from);
  const from = Math.max(whole.from, Math.min(span.from, whole.to - length));
  return { from, to: Math.min(whole.to, from + length) };
}

/** What is looked at of a stretch that is to be seen: so much about it that it takes a fifth, or at least that it lies within. */
export function about(target: Span, span: Span, whole: Span): Span {
  const length = span.to - span.from;
  const wanted = Math.max(target.to - target.from, Math.min(length, 5 * (target.to - target.from) || length));
  const middle = (target.from + target.to) / 2;
  return within({ from: middle - wanted / 2, to: middle + wanted / 2 }, whole);
}
