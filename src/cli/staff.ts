/** The staff lying down: one line shared out among the suspects by their probability. */

/** What stands for others, none of these, and sound. */
export function staffSigns(unicode: boolean): { others: string; unexplained: string; sound: string } {
  return unicode
    ? { others: '·', unexplained: '╱', sound: '═' }
    : { others: '.', unexplained: '/', sound: '=' };
}

/** A suspect's letter by its rank, from 0: `a`, `b`, … `z`, `aa`, … */
export function letter(rank: number): string {
  const last = String.fromCharCode(97 + (rank % 26));
  return rank < 26 ? last : letter(Math.floor(rank / 26) - 1) + last;
}

/** Whole cells for each share, adding up to `width`; by largest remainder. */
export function shares(probabilities: readonly number[], width: number): number[] {
  const sum = probabilities.reduce((a, b) => a + b, 0);
  if (!(sum > 0)) return probabilities.map(() => 0);
  const exact = probabilities.map((p) => (p / sum) * width);
  const cells = exact.map(Math.floor);
  const left = width - cells.reduce((a, b) => a + b, 0);
  const order = exact
    .map((x, i) => ({ i, rest: x - Math.floor(x) }))
    .sort((a, b) => b.rest - a.rest || a.i - b.i);
  for (const { i } of order.slice(0, left)) cells[i]!++;
  return cells;
}

/**
 * The line: suspects by their letters, others as dots, none of these hatched, sound as a band.
 *
 * @param cells  for each of `lettered` suspects, then others, none of these, sound
 */
export function staff(cells: readonly number[], lettered: number, unicode: boolean): string {
  const { others, unexplained, sound } = staffSigns(unicode);
  return cells
    .map((count, i) => {
      if (i >= lettered) return [others, unexplained, sound][i - lettered]!.repeat(count);
      return letter(i).charAt(0).repeat(count);
    })
    .join('');
}
