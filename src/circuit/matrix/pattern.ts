/**
 * Which entries of a square matrix may differ from zero: rows one after the other, columns ascending in each,
 * structurally symmetric, with every diagonal entry present.
 */
export interface Pattern {
  readonly n: number;
  /** Length `n + 1`; row `i` holds the entries `rowStart[i]` to `rowStart[i + 1] - 1`. */
  readonly rowStart: Int32Array;
  /** Column of each entry. */
  readonly column: Int32Array;
}

/**
 * The smallest pattern that holds the given entries, their mirror images and the diagonal.
 *
 * @param n      unknowns
 * @param pairs  row and column of each entry, flat (`row, column, row, column, …`) or as pairs; repeats are allowed
 * @throws RangeError  when an index is not a whole number from 0 to `n - 1`
 */
export function patternOf(n: number, pairs: Int32Array | readonly (readonly [number, number])[]): Pattern {
  const flat = pairs instanceof Int32Array ? pairs : pairs.flat();
  if (flat.length % 2 !== 0) throw new RangeError(`${flat.length} indices do not make pairs`);
  const keys = new Float64Array(n + flat.length);
  for (let i = 0; i < n; i++) keys[i] = i * n + i;
  for (let e = 0; e < flat.length; e += 2) {
    const row = flat[e]!;
    const column = flat[e + 1]!;
    for (const index of [row, column]) {
      if (!Number.isInteger(index) || index < 0 || index >= n)
        throw new RangeError(`index ${index} is outside 0 to ${n - 1}`);
    }
    keys[n + e] = row * n + column;
    keys[n + e + 1] = column * n + row;
  }
  keys.sort();
  const rowStart = new Int32Array(n + 1);
  const column = new Int32Array(keys.length);
  let entries = 0;
  let previous = -1;
  for (const key of keys) {
    if (key === previous) continue;
    previous = key;
    const row = Math.floor(key / n);
    column[entries++] = key - row * n;
    rowStart[row + 1] = entries;
  }
  return { n, rowStart, column: column.slice(0, entries) };
}

/** Index of the entry (`row`, `column`) in the pattern's order, or -1 when the pattern does not hold it. */
export function entryAt(pattern: Pattern, row: number, column: number): number {
  let low = pattern.rowStart[row]!;
  let high = pattern.rowStart[row + 1]! - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const found = pattern.column[middle]!;
    if (found === column) return middle;
    if (found < column) low = middle + 1;
    else high = middle - 1;
  }
  return -1;
}
