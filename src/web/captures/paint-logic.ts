/** Logic traces on a canvas: high and low lines, what is unknown hatched, several bits as a value between two lines, words below. */

import { firstAtOrAfter, type LogicTrace } from '../../waveform/index.ts';
import { type Box, columnsOf, type Palette } from './paint.ts';
import type { DrawnLogic, DrawnWord } from './picture.ts';
import type { Span } from './span.ts';

const OUTER = 4.6;
const INNER = 2;
const SOLID = 2;
const DEPARTED = 3.2;
/** Changes a column above which only that there are some is seen. */
const FEW = 0.5;

export function paintLogic(
  ctx: CanvasRenderingContext2D,
  { trace, hollow, departures }: DrawnLogic,
  span: Span,
  box: Box,
  colours: Palette,
  scale: number,
): void {
  const path = course(trace, span, box, scale);
  const stroke = (colour: string, width: number): void => {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width * scale;
    ctx.lineJoin = 'miter';
    ctx.lineCap = 'butt';
    ctx.stroke(path.lines);
  };
  ctx.save();
  ctx.beginPath();
  ctx.rect(box.x, box.y - 4 * scale, box.width, box.height + 8 * scale);
  ctx.clip();
  if (hollow) {
    stroke(colours.ink, OUTER);
    stroke(colours.ground, INNER);
  } else stroke(colours.ink, SOLID);
  ctx.strokeStyle = colours.ink2;
  ctx.lineWidth = scale;
  ctx.stroke(path.unknown);
  const departed = hollow ? [] : columnsOf(departures, span, box.width);
  if (departed.length > 0) {
    ctx.beginPath();
    for (const [from, to] of departed)
      ctx.rect(box.x + from, box.y - 4 * scale, to - from, box.height + 8 * scale);
    ctx.clip();
    stroke(colours.spot, DEPARTED);
  }
  ctx.restore();
}

interface Course {
  readonly lines: Path2D;
  readonly unknown: Path2D;
}

function course(trace: LogicTrace, span: Span, box: Box, scale: number): Course {
  const lines = new Path2D();
  const unknown = new Path2D();
  const { instants, states } = trace;
  const x = (t: number): number => box.x + ((t - span.from) / (span.to - span.from)) * box.width;
  const stop = Math.min(span.to, trace.end);
  const begin = Math.max(0, firstAtOrAfter({ stamps: instants }, instants.length, span.from) - 1);
  const end = firstAtOrAfter({ stamps: instants }, instants.length, stop);
  const [top, bottom, middle] = [box.y, box.y + box.height, box.y + box.height / 2];
  if (end - begin > FEW * box.width) {
    many(trace, span, box, lines, begin, end);
    return { lines, unknown };
  }
  let before: number | undefined;
  for (let i = begin; i < end; i++) {
    const [from, to] = [Math.max(box.x, x(instants[i]!)), x(Math.min(stop, instants[i + 1] ?? stop))];
    if (to <= from) continue;
    const state = states[i]!;
    if (/x/i.test(state)) {
      for (const y of [top, bottom]) {
        unknown.moveTo(from, y);
        unknown.lineTo(to, y);
      }
      for (let at = from - (from % (6 * scale)); at < to; at += 6 * scale) {
        const [left, right] = [Math.max(from, at), Math.min(to, at + box.height)];
        unknown.moveTo(left, bottom - (left - at));
        unknown.lineTo(right, bottom - (right - at));
      }
      before = undefined;
    } else if (trace.width > 1) {
      const slant = Math.min(3 * scale, (to - from) / 2);
      lines.moveTo(from, middle);
      lines.lineTo(from + slant, top);
      lines.lineTo(to - slant, top);
      lines.lineTo(to, middle);
      lines.lineTo(to - slant, bottom);
      lines.lineTo(from + slant, bottom);
      lines.closePath();
    } else {
      const y = state === '1' ? top : state === '0' ? bottom : middle;
      if (before === undefined) lines.moveTo(from, y);
      else lines.lineTo(from, y);
      lines.lineTo(to, y);
      before = y;
    }
  }
  return { lines, unknown };
}

/** A stroke over the whole height where anything changes within a column. */
function many(trace: LogicTrace, span: Span, box: Box, lines: Path2D, begin: number, end: number): void {
  const { instants, states } = trace;
  const perColumn = (span.to - span.from) / box.width;
  let i = begin;
  for (let c = 0; c < box.width; c++) {
    const bound = span.from + (c + 1) * perColumn;
    const first = i;
    while (i + 1 < end && instants[i + 1]! < bound) i++;
    const x = box.x + c + 0.5;
    if (i > first || trace.width > 1) {
      lines.moveTo(x, box.y);
      lines.lineTo(x, box.y + box.height);
    } else {
      const y = states[i] === '1' ? box.y : box.y + box.height;
      lines.moveTo(x - 0.5, y);
      lines.lineTo(x + 0.5, y);
    }
  }
}

/** Values of several bits, where there is room: in binary, else in sixteens. */
export function paintValues(
  ctx: CanvasRenderingContext2D,
  { instants, states, end }: LogicTrace,
  span: Span,
  box: Box,
  colours: Palette,
  scale: number,
): void {
  ctx.fillStyle = colours.ink;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  const x = (t: number): number => box.x + ((t - span.from) / (span.to - span.from)) * box.width;
  const begin = Math.max(0, firstAtOrAfter({ stamps: instants }, instants.length, span.from) - 1);
  for (let i = begin; i < instants.length && instants[i]! < span.to; i++) {
    const [from, to] = [
      Math.max(box.x, x(instants[i]!)),
      Math.min(box.x + box.width, x(instants[i + 1] ?? end)),
    ];
    if (to - from < 24 * scale) continue;
    const room = to - from - 8 * scale;
    const text = [states[i]!, sixteens(states[i]!)].find((one) => ctx.measureText(one).width < room);
    if (text !== undefined) ctx.fillText(text, (from + to) / 2, box.y + box.height / 2);
  }
}

/** Bits below their line where there is room, else whole words; what differs from the twin's is bold above a spot-coloured line. */
export function paintWords(
  ctx: CanvasRenderingContext2D,
  words: readonly DrawnWord[],
  departures: readonly Span[],
  span: Span,
  box: Box,
  colours: Palette,
  scale: number,
  font: (size: number, weight: number) => string,
): void {
  const x = (t: number): number => box.x + ((t - span.from) / (span.to - span.from)) * box.width;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  const middle = box.y + box.height / 2;
  let [low, high] = [0, words.length];
  while (low < high) {
    const at = (low + high) >> 1;
    if (words[at]!.instants.at(-1)! < span.from) low = at + 1;
    else high = at;
  }
  let room = Number.NEGATIVE_INFINITY;
  for (let w = low; w < words.length && words[w]!.instants[0]! <= span.to; w++) {
    const { bits, inTime, instants } = words[w]!;
    const [first, last] = [x(instants[0]!), x(instants.at(-1)!)];
    const apart = instants.length > 1 ? (last - first) / (instants.length - 1) : box.width;
    const off = departures.some(({ from, to }) => to >= instants[0]! && from <= instants.at(-1)!);
    const weight = off ? 700 : 400;
    if (apart >= 11 * scale) {
      for (let k = 0; k < instants.length; k++) {
        const at = x(instants[k]!);
        if (at < box.x || at > box.x + box.width) continue;
        const wrong = departures.some(({ from, to }) => instants[k]! >= from && instants[k]! <= to);
        ctx.font = font(15, wrong ? 700 : 400);
        ctx.fillStyle = colours.ink;
        ctx.fillText(inTime[k]!, at, middle);
        if (!wrong) continue;
        ctx.fillStyle = colours.spot;
        ctx.fillRect(at - 5 * scale, box.y + box.height - 3 * scale, 10 * scale, 2.5 * scale);
      }
      continue;
    }
    ctx.font = font(15, weight);
    const centre = (first + last) / 2;
    const fits = (text: string): boolean => {
      const width = ctx.measureText(text).width;
      return width <= last - first + apart && centre - width / 2 >= room;
    };
    const text = [bits, sixteens(bits)].find(fits);
    if (text === undefined) continue;
    const width = ctx.measureText(text).width;
    ctx.fillStyle = colours.ink;
    ctx.fillText(text, centre, middle);
    if (off) {
      ctx.fillStyle = colours.spot;
      ctx.fillRect(centre - width / 2, box.y + box.height - 3 * scale, width, 2.5 * scale);
    }
    room = centre + width / 2 + 8 * scale;
  }
}

function sixteens(bits: string): string {
  return /^[01]+$/.test(bits) ? BigInt(`0b${bits}`).toString(16).toUpperCase() : bits;
}
