import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { tagsAt } from './tags.ts';

const BOX = { left: 0, top: 0, width: 900, height: 600 };
const place = fc.record({ x: fc.integer({ min: 0, max: 900 }), y: fc.integer({ min: 0, max: 600 }) });

describe('tags beside points', () => {
  it('stand within the picture, one for each point', () => {
    fc.assert(
      fc.property(fc.array(place, { maxLength: 30 }), (points) => {
        const wanted = points.map((at, i) => ({ name: String(i), at, width: 130, height: 28 }));
        const tags = tagsAt(wanted, points, BOX);
        expect(tags.map(({ name }) => name)).toEqual(wanted.map(({ name }) => name));
        for (const { left, top, width, height } of tags) {
          expect(left >= 0 && top >= 0 && left + width <= 900 && top + height <= 600).toBe(true);
        }
      }),
    );
  });

  it('cover neither a point nor each other where there is room', () => {
    const points = [
      { x: 300, y: 300 },
      { x: 326, y: 300 },
      { x: 352, y: 300 },
      { x: 890, y: 590 },
    ];
    const tags = tagsAt(
      points.map((at, i) => ({ name: String(i), at, width: 130, height: 28 })),
      points,
      BOX,
    );
    for (const [i, a] of tags.entries()) {
      for (const { x, y } of points) {
        expect(x > a.left && x < a.left + a.width && y > a.top && y < a.top + a.height).toBe(false);
      }
      for (const b of tags.slice(i + 1)) {
        const apart =
          a.left + a.width <= b.left ||
          b.left + b.width <= a.left ||
          a.top + a.height <= b.top ||
          b.top + b.height <= a.top;
        expect(apart).toBe(true);
      }
    }
  });
});
