/** The two staves: how the whole of one is parted among the suspects, now and with one more reading. */

export interface Share {
  readonly key: string;
  readonly now: number;
  /** With the value in the field; undefined while there is none. */
  readonly after: number | undefined;
}

export interface Segment {
  readonly key: string;
  readonly from: number;
  readonly to: number;
}

/** Between two segments. */
const GAP = 2;
/** So that a segment of hardly anything can still be seen. */
const LEAST = 1.5;
/** Below this the shares are nothing together, and their ratios are rounding. */
const TINY = 1e-12;

/** Segments from 0 to `length`, in order, without gaps where there is only one. A share of nothing takes `LEAST`. */
export function segments(
  shares: readonly { readonly key: string; readonly share: number }[],
  length: number,
): Segment[] {
  const total = shares.reduce((sum, { share }) => sum + Math.max(0, share), 0);
  const room = length - GAP * Math.max(0, shares.length - 1) - LEAST * shares.length;
  let at = 0;
  return shares.map(({ key, share }) => {
    const size = LEAST + (total > TINY ? (room * Math.max(0, share)) / total : room / shares.length);
    const segment = { key, from: at, to: at + size };
    at += size + GAP;
    return segment;
  });
}
