import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  fieldName,
  gridOf,
  inPicture,
  moved,
  onScreen,
  pictureBox,
  shownAspect,
  shownPlace,
  takenPlace,
  WHOLE,
  zoomed,
} from './view.ts';

const share = fc.double({ min: 0, max: 1, noNaN: true });
const place = fc.record({ x: share, y: share });
const laying = fc.record({ turn: fc.constantFrom(0, 90, 180, 270), mirrored: fc.boolean() });
const BOX = { left: 40, top: 30, width: 900, height: 600 };
const near = (a: { x: number; y: number }, b: { x: number; y: number }) => {
  expect(a.x).toBeCloseTo(b.x, 9);
  expect(a.y).toBeCloseTo(b.y, 9);
};

describe('a picture that is turned and mirrored', () => {
  it('keeps its marks: there and back is where one was', () => {
    fc.assert(fc.property(place, laying, (at, how) => near(takenPlace(shownPlace(at, how), how), at)));
  });

  it('is turned clockwise first, and mirrored left to right then', () => {
    near(shownPlace({ x: 0, y: 0 }, { turn: 90, mirrored: false }), { x: 1, y: 0 });
    near(shownPlace({ x: 0, y: 0 }, { turn: 90, mirrored: true }), { x: 0, y: 0 });
    near(shownPlace({ x: 0.2, y: 0.1 }, { turn: 0, mirrored: true }), { x: 0.8, y: 0.1 });
    expect(shownAspect(1.5, { turn: 270, mirrored: false })).toBeCloseTo(1 / 1.5);
  });
});

describe('a picture in its box', () => {
  it('is seen whole at first, in the middle', () => {
    expect(pictureBox(BOX, 3, WHOLE)).toEqual({ left: 40, top: 180, width: 900, height: 300 });
  });

  it('comes nearer around the pointer: what is under it stays', () => {
    fc.assert(
      fc.property(place, fc.double({ min: 1.5, max: 6, noNaN: true }), (at, factor) => {
        const aspect = 1.5;
        const pointer = onScreen(at, BOX);
        const before = inPicture(pointer, pictureBox(BOX, aspect, WHOLE));
        const after = inPicture(
          pointer,
          pictureBox(BOX, aspect, zoomed(WHOLE, factor, pointer, BOX, aspect)),
        );
        near(after, before);
      }),
    );
  });

  it('never leaves its box, however it is moved', () => {
    const far = fc.double({ min: -5000, max: 5000, noNaN: true });
    fc.assert(
      fc.property(far, far, (x, y) => {
        const view = moved({ scale: 3, x: 0.5, y: 0.5 }, { x, y }, BOX, 1.5);
        const { left, top, width, height } = pictureBox(BOX, 1.5, view);
        expect(left).toBeLessThanOrEqual(BOX.left + 1e-6);
        expect(top).toBeLessThanOrEqual(BOX.top + 1e-6);
        expect(left + width).toBeGreaterThanOrEqual(BOX.left + BOX.width - 1e-6);
        expect(top + height).toBeGreaterThanOrEqual(BOX.top + BOX.height - 1e-6);
      }),
    );
  });
});

describe('fields along the margin', () => {
  it('are named by a letter and a number, without I', () => {
    const grid = gridOf(10 / 7);
    expect(grid).toEqual({ columns: 10, rows: 7 });
    expect(fieldName({ x: 0, y: 0 }, grid)).toBe('A1');
    expect(fieldName({ x: 0.56, y: 0.4 }, grid)).toBe('F3');
    expect(fieldName({ x: 0.85, y: 1 }, grid)).toBe('J7');
  });
});
