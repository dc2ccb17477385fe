/** Where tags stand beside their points: near, within the picture, on no point and on no other tag. */

import type { Box, Place } from './view.ts';

export interface Wanted {
  readonly name: string;
  readonly at: Place;
  readonly width: number;
  readonly height: number;
  /** Where to look for a place first, radians clockwise from the right; below without it. */
  readonly toward?: number;
}

export interface Tag extends Box {
  readonly name: string;
}

/** Pixels between a tag and its point at the nearest, and further on. */
const DISTANCES = [18, 34, 56, 84, 120, 170];
const AROUND = 16;
/** Room that a point keeps, pixels either way. */
const POINT = 11;

/**
 * Tags in the order in which they are wanted; each at the nearest free place around its point. Where there is none it stands
 * where it covers least, within the box all the same.
 *
 * @param points  all that no tag may cover, those of the tags included
 */
export function tagsAt(wanted: readonly Wanted[], points: readonly Place[], box: Box): Tag[] {
  const tags: Tag[] = [];
  for (const { name, at, width, height, toward = Math.PI / 2 } of wanted) {
    let best: Tag | undefined;
    let least = Number.POSITIVE_INFINITY;
    search: for (const distance of DISTANCES) {
      for (let i = 0; i < AROUND; i++) {
        const angle = toward + (Math.PI / 8) * (i % 2 === 0 ? i / 2 : -(i + 1) / 2);
        const tag = {
          name,
          ...held(around(at, angle, distance, width, height), box, width, height),
          width,
          height,
        };
        const covered = cover(tag, tags, points);
        if (covered < least) [best, least] = [tag, covered];
        if (covered === 0) break search;
      }
    }
    if (best) tags.push(best);
  }
  return tags;
}

/** The box of a tag whose nearest edge is `distance` from the point, in the direction of `angle`. */
function around(at: Place, angle: number, distance: number, width: number, height: number): Place {
  const [dx, dy] = [Math.cos(angle), Math.sin(angle)];
  const reach = Math.min(
    Math.abs(dx) < 1e-9 ? Number.POSITIVE_INFINITY : width / 2 / Math.abs(dx),
    Math.abs(dy) < 1e-9 ? Number.POSITIVE_INFINITY : height / 2 / Math.abs(dy),
  );
  const away = distance + reach;
  return { x: at.x + dx * away - width / 2, y: at.y + dy * away - height / 2 };
}

function held({ x, y }: Place, box: Box, width: number, height: number): { left: number; top: number } {
  const within = (from: number, least: number, most: number) => Math.max(least, Math.min(most, from));
  return {
    left: within(x, box.left, box.left + box.width - width),
    top: within(y, box.top, box.top + box.height - height),
  };
}

/** How much a tag covers: other tags, and points. */
function cover(tag: Tag, tags: readonly Tag[], points: readonly Place[]): number {
  const gap = 3;
  const overlap = tags.reduce(
    (sum, other) =>
      sum +
      span(tag.left - gap, tag.left + tag.width + gap, other.left, other.left + other.width) *
        span(tag.top - gap, tag.top + tag.height + gap, other.top, other.top + other.height),
    0,
  );
  const hidden = points.filter(
    ({ x, y }) =>
      x > tag.left - POINT &&
      x < tag.left + tag.width + POINT &&
      y > tag.top - POINT &&
      y < tag.top + tag.height + POINT,
  ).length;
  return overlap + hidden * 1000;
}

function span(a: number, b: number, c: number, d: number): number {
  return Math.max(0, Math.min(b, d) - Math.max(a, c));
}
