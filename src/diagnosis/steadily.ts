/**
 * An order that rounding does not upset: faults that no reading can tell apart have the same evidence but for the last digits,
 * and which of them comes first must not depend on the way in which the readings came.
 */

/** Numbers that differ by less are equal: natural logs of probabilities, bits, bits a minute. */
const EQUAL = 1e-6;

/**
 * Sorts a list in place, largest first; equals by their marks, smaller first.
 *
 * @param mark  numbers that tell any two members apart
 * @returns the list
 */
export function steadily<T>(
  list: T[],
  size: (member: T) => number,
  mark: (member: T) => readonly number[],
): T[] {
  const rounded = new Map(list.map((x) => [x, Math.round(size(x) / EQUAL)]));
  return list.sort((a, b) => {
    const larger = rounded.get(b)! - rounded.get(a)!;
    if (larger !== 0 && !Number.isNaN(larger)) return larger;
    const [f, g] = [mark(a), mark(b)];
    for (let k = 0; k < f.length || k < g.length; k++) {
      const apart = (f[k] ?? -1) - (g[k] ?? -1);
      if (apart !== 0) return apart;
    }
    return 0;
  });
}
