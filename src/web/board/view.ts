/**
 * Where things stand on the screen when a picture is turned, mirrored, moved and seen from nearer. A place is a pair of shares,
 * 0 to 1 from the upper left corner: of the picture as it was taken for what is on record, of the picture as it is shown here.
 */

export interface Place {
  readonly x: number;
  readonly y: number;
}

export type Turn = 0 | 90 | 180 | 270;

/** How a picture is laid: first turned clockwise, then mirrored left to right. */
export interface Laying {
  readonly turn: number;
  readonly mirrored: boolean;
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** Nearer by `scale`; `x` and `y` are the shares of the shown picture in the middle of the box. */
export interface View {
  readonly scale: number;
  readonly x: number;
  readonly y: number;
}

export const WHOLE: View = { scale: 1, x: 0.5, y: 0.5 };
const NEAREST = 12;

/** From the picture as it was taken to the picture as it is shown. */
export function shownPlace({ x, y }: Place, { turn, mirrored }: Laying): Place {
  const turned =
    turn === 90
      ? { x: 1 - y, y: x }
      : turn === 180
        ? { x: 1 - x, y: 1 - y }
        : turn === 270
          ? { x: y, y: 1 - x }
          : { x, y };
  return mirrored ? { x: 1 - turned.x, y: turned.y } : turned;
}

/** The way back: from the picture as it is shown to the picture as it was taken. */
export function takenPlace({ x, y }: Place, { turn, mirrored }: Laying): Place {
  const at = mirrored ? { x: 1 - x, y } : { x, y };
  return shownPlace(at, { turn: (360 - turn) % 360, mirrored: false });
}

/** Width over height of the picture as it is shown. */
export function shownAspect(aspect: number, { turn }: Laying): number {
  return turn === 90 || turn === 270 ? 1 / aspect : aspect;
}

/** The picture on the screen, in pixels: wholly within the box at scale 1, and around the middle of the view beyond. */
export function pictureBox(box: Box, aspect: number, { scale, x, y }: View): Box {
  const fit = Math.min(box.width / aspect, box.height);
  const height = fit * scale;
  const width = height * aspect;
  return {
    left: box.left + box.width / 2 - x * width,
    top: box.top + box.height / 2 - y * height,
    width,
    height,
  };
}

export function onScreen({ x, y }: Place, picture: Box): Place {
  return { x: picture.left + x * picture.width, y: picture.top + y * picture.height };
}

export function inPicture({ x, y }: Place, picture: Box): Place {
  return { x: (x - picture.left) / picture.width, y: (y - picture.top) / picture.height };
}

/** Nearer or wider by a factor; what is under `at`, in pixels, stays there. */
export function zoomed(view: View, factor: number, at: Place, box: Box, aspect: number): View {
  const scale = Math.min(NEAREST, Math.max(1, view.scale * factor));
  const under = inPicture(at, pictureBox(box, aspect, view));
  const { width, height } = pictureBox(box, aspect, { ...view, scale });
  return settled(
    {
      scale,
      x: under.x + (box.left + box.width / 2 - at.x) / width,
      y: under.y + (box.top + box.height / 2 - at.y) / height,
    },
    box,
    aspect,
  );
}

/** The picture moved by so many pixels. */
export function moved(view: View, by: Place, box: Box, aspect: number): View {
  const { width, height } = pictureBox(box, aspect, view);
  return settled({ ...view, x: view.x - by.x / width, y: view.y - by.y / height }, box, aspect);
}

/** No farther than to the picture's edges; a picture smaller than its box stands in the middle. */
export function settled(view: View, box: Box, aspect: number): View {
  const { width, height } = pictureBox(box, aspect, view);
  const within = (middle: number, part: number) =>
    part >= 1 ? 0.5 : Math.min(1 - part / 2, Math.max(part / 2, middle));
  return { ...view, x: within(view.x, box.width / width), y: within(view.y, box.height / height) };
}

/** A view with a place in sight: the same where it is seen already, else with it in the middle. */
export function inSight(view: View, place: Place, box: Box, aspect: number): View {
  const at = onScreen(place, pictureBox(box, aspect, view));
  const edge = 40;
  const seen =
    at.x >= box.left + edge &&
    at.x <= box.left + box.width - edge &&
    at.y >= box.top + edge &&
    at.y <= box.top + box.height - edge;
  return seen ? view : settled({ ...view, x: place.x, y: place.y }, box, aspect);
}

/** Letters along the margin; I and O are left out, since they look like figures. */
const LETTERS = 'ABCDEFGHJKLMNPQRSTUVWXYZ';
const ALONG = 10;

export interface Grid {
  readonly columns: number;
  readonly rows: number;
}

/** About ten fields along the longer side, and fields about as high as wide. */
export function gridOf(aspect: number): Grid {
  const [columns, rows] = aspect >= 1 ? [ALONG, ALONG / aspect] : [ALONG * aspect, ALONG];
  return { columns: Math.max(2, Math.round(columns)), rows: Math.max(2, Math.round(rows)) };
}

export function gridLetter(column: number): string {
  return LETTERS[column] ?? String(column + 1);
}

/** `F3` */
export function fieldName({ x, y }: Place, { columns, rows }: Grid): string {
  const field = (share: number, count: number) => Math.min(count - 1, Math.max(0, Math.floor(share * count)));
  return `${gridLetter(field(x, columns))}${field(y, rows) + 1}`;
}
