/** In which order to read on. */

export interface Place {
  readonly state: string;
  readonly point: string;
}

/**
 * The best reading first; what cannot be reached now comes last, in the same order. Of the points of one wire in one state the first
 * that can be reached is enough.
 */
export function askingOrder<T extends Place>(
  next: readonly T[],
  unreachable: ReadonlySet<string>,
  netOf: (point: string) => string = (point) => point,
): T[] {
  const reached = next.filter((place) => !unreachable.has(place.point));
  const wire = ({ state, point }: Place) => `${state}\n${netOf(point)}`;
  const wires = new Set<string>();
  const now = reached.filter((place) => !wires.has(wire(place)) && wires.add(wire(place)));
  return [...now, ...next.filter((place) => unreachable.has(place.point))];
}

/** 1, 2, 3 for the rows of one state. */
export function orderMarks(order: readonly Place[], state: string): ReadonlyMap<string, number> {
  const marks = new Map<string, number>();
  for (const [i, place] of order.slice(0, 3).entries()) {
    if (place.state === state && !marks.has(place.point)) marks.set(place.point, i + 1);
  }
  return marks;
}

/** Who is given a letter: the first `most` of a ranking that readings made. One by experience alone is in no order worth a name. */
export function lettered(
  suspects: readonly { readonly key: string; readonly reasons: readonly unknown[] }[],
  most: number,
): string[] {
  if (!suspects.some(({ reasons }) => reasons.length > 0)) return [];
  return suspects.slice(0, most).map(({ key }) => key);
}

/** A letter for each suspect, given when it is first ranked; it stays for the visit. */
export function lettersFor(
  known: ReadonlyMap<string, string>,
  keys: readonly string[],
): ReadonlyMap<string, string> {
  const fresh = keys.filter((key) => !known.has(key));
  if (fresh.length === 0) return known;
  const all = new Map(known);
  for (const key of fresh) all.set(key, letter(all.size));
  return all;
}

/** a to z, then aa, ab and so on. */
function letter(place: number): string {
  const last = String.fromCharCode(97 + (place % 26));
  return place < 26 ? last : letter(Math.floor(place / 26) - 1) + last;
}
