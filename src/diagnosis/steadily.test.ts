import { expect, it } from 'vitest';
import { steadily } from './steadily.ts';

it('puts the largest first, and what is equal but for rounding by its marks', () => {
  const list = [
    { size: 1, mark: [7] },
    { size: 2, mark: [5, 3] },
    { size: 2 + 1e-10, mark: [5, 4] },
    { size: 2 - 1e-10, mark: [5] },
    { size: -Infinity, mark: [1] },
  ];
  const order = (members: typeof list) =>
    steadily(
      [...members],
      (x) => x.size,
      (x) => x.mark,
    ).map(({ mark }) => mark.join(' '));
  expect(order(list)).toEqual(['5', '5 3', '5 4', '7', '1']);
  expect(order([...list].reverse())).toEqual(order(list));
});
