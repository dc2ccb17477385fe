/** The staff lying down: one line shared out among the suspects by their probability. */

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
  const [others, unexplained, sound] = unicode ? ['·', '╱', '═'] : ['.', '/', '='];
  return cells
    .map((count, i) => {
      if (i >= lettered) return [others, unexplained, sound][i - lettered]!.repeat(count);
      const fill = String.fromCharCode(97 + i);
      return fill.repeat(count);
    })
    .join('');
}
