/** Traces on a canvas: vertical strokes from minimum to maximum where samples are many, straight lines and dots where few. */

import { firstAtOrAfter, instantAt, inverseMap, mapped, type Pyramid } from '../../waveform/index.ts';
import type { DrawnTrace } from './picture.ts';
import type { Span } from './span.ts';

/** Colours by their job, as the page has them. */
export interface Palette {
  readonly ground: string;
  readonly sheet: string;
  readonly ink: string;
  readonly ink2: string;
  readonly rule: string;
  readonly grid: string;
  readonly spot: string;
  readonly act: string;
  readonly actink: string;
}

/** A stretch of the canvas, in its own pixels. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface Values {
  readonly low: number;
  readonly high: number;
}

/** Line widths at size 100 % and ratio 1. */
const OUTER = { chosen: 4.6, other: 3.6 };
const INNER = { chosen: 2, other: 1.8 };
const SOLID = { chosen: 2, other: 1.4 };
const DEPARTED = 3.2;
/** Columns so many widths of the line high are full. */
const FULL = 4;
/** Samples nearer than this have no dots. */
const DOTS_FROM = 7;
/** Samples a column below which they are joined one by one. */
const FEW = 2;

export function yOf(value: number, box: Box, { low, high }: Values): number {
  return box.y + ((high - value) / (high - low)) * box.height;
}

/** @param scale  canvas pixels of one pixel at size 100 % */
export function paintTrace(
  ctx: CanvasRenderingContext2D,
  trace: DrawnTrace,
  span: Span,
  box: Box,
  values: Values,
  colours: Palette,
  scale: number,
): void {
  const stroke = strokeOf(trace.pyramid, span, trace.map, box, values);
  const departed = columnsOf(trace.departures, span, box.width);
  const as = trace.chosen ? 'chosen' : 'other';
  const ink = trace.chosen ? colours.ink : colours.ink2;
  if (trace.hollow) {
    stroke.paint(ctx, ink, OUTER[as] * scale);
    stroke.paint(ctx, colours.ground, INNER[as] * scale, colours.grid);
    if (stroke.dots) stroke.paintDots(ctx, ink, colours.ground, 3.4 * scale, scale);
  } else {
    stroke.paint(ctx, ink, SOLID[as] * scale);
    if (stroke.dots) stroke.paintDots(ctx, ink, ink, 2.6 * scale, 0);
    if (departed.length > 0) {
      ctx.save();
      ctx.beginPath();
      for (const [from, to] of departed)
        ctx.rect(box.x + from, box.y - 8 * scale, to - from, box.height + 16 * scale);
      ctx.clip();
      stroke.paint(ctx, colours.spot, DEPARTED * scale);
      ctx.restore();
    }
  }
}

interface Stroke {
  readonly dots: boolean;
  /** @param within  colour of columns that are far higher than the line is wide: what is full of edges is no empty frame */
  paint(ctx: CanvasRenderingContext2D, colour: string, width: number, within?: string): void;
  /** @param line  its width; 0 for dots without one */
  paintDots(ctx: CanvasRenderingContext2D, ink: string, fill: string, radius: number, line: number): void;
}

function strokeOf(pyramid: Pyramid, span: Span, map: DrawnTrace['map'], box: Box, values: Values): Stroke {
  const { timebase, values: samples } = pyramid.trace;
  const [from, to] = [mapped(map, span.from), mapped(map, span.to)];
  const begin = firstAtOrAfter(timebase, samples.length, from);
  const end = firstAtOrAfter(timebase, samples.length, to);
  if (end - begin > FEW * box.width) return dense(pyramid, from, to, box, values);
  const back = inverseMap(map);
  const perSecond = box.width / (span.to - span.from);
  // One more at each end, so that the line runs on out of the picture.
  const first = Math.max(0, begin - 1);
  const last = Math.min(samples.length - 1, end);
  const xs = new Float64Array(Math.max(0, last - first + 1));
  const ys = new Float64Array(xs.length);
  for (let k = 0; k < xs.length; k++) {
    xs[k] = box.x + (mapped(back, instantAt(timebase, first + k)) - span.from) * perSecond;
    ys[k] = yOf(samples[first + k]!, box, values);
  }
  return few(xs, ys, box, end - begin);
}

/** Samples joined by straight lines. */
function few(xs: Float64Array, ys: Float64Array, box: Box, seen: number): Stroke {
  const path = new Path2D();
  let open = false;
  for (let k = 0; k < xs.length; k++) {
    const y = ys[k]!;
    if (Number.isNaN(y)) open = false;
    else if (open) path.lineTo(xs[k]!, y);
    else {
      path.moveTo(xs[k]!, y);
      // A sample alone between gaps is a dot of the line's width.
      path.lineTo(xs[k]! + 0.01, y);
      open = true;
    }
  }
  return {
    dots: seen > 0 && box.width / seen >= DOTS_FROM,
    paint(ctx, colour, width) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.lineJoin = 'round';
      ctx.lineCap = 'round';
      ctx.stroke(path);
    },
    paintDots(ctx, ink, fill, radius, line) {
      ctx.beginPath();
      for (let k = 0; k < xs.length; k++) {
        if (Number.isNaN(ys[k]!)) continue;
        ctx.moveTo(xs[k]! + radius, ys[k]!);
        ctx.arc(xs[k]!, ys[k]!, radius, 0, 2 * Math.PI);
      }
      ctx.fillStyle = fill;
      ctx.fill();
      if (line === 0) return;
      ctx.strokeStyle = ink;
      ctx.lineWidth = 1.5 * line;
      ctx.stroke();
    },
  };
}

/** Each column of pixels from its least to its greatest sample, and on to its neighbour. */
function dense(pyramid: Pyramid, from: number, to: number, box: Box, values: Values): Stroke {
  const columns = pyramid.columns(from, to, box.width);
  const tops = new Float32Array(box.width);
  const bottoms = new Float32Array(box.width);
  const perValue = box.height / (values.high - values.low);
  let before = Number.NaN;
  for (let c = 0; c < box.width; c++) {
    let [low, high] = [columns.min[c]!, columns.max[c]!];
    // Joined to what came before, unless a gap lies between: NaN compares as false.
    if (before < low) low = before;
    if (before > high) high = before;
    tops[c] = box.y + (values.high - high) * perValue;
    bottoms[c] = box.y + (values.high - low) * perValue;
    before = columns.gap[c] === 1 ? Number.NaN : columns.last[c]!;
  }
  return {
    dots: false,
    paint(ctx, colour, width, within = colour) {
      const half = width / 2;
      for (let c = 0; c < tops.length; ) {
        const [top, bottom] = [tops[c]!, bottoms[c]!];
        let next = c + 1;
        // Level stretches are one rectangle.
        while (next < tops.length && tops[next] === top && bottoms[next] === bottom) next++;
        if (top <= bottom) {
          ctx.fillStyle = bottom - top > FULL * width ? within : colour;
          ctx.fillRect(box.x + c + 0.5 - half, top - half, next - c - 1 + width, bottom - top + width);
        }
        c = next;
      }
    },
    paintDots() {},
  };
}

/** Columns that stretches of time fall into, joined where they touch. */
export function columnsOf(stretches: readonly Span[], { from, to }: Span, width: number): [number, number][] {
  const found: [number, number][] = [];
  const perSecond = width / (to - from);
  let [low, high] = [0, stretches.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (stretches[middle]!.to < from) low = middle + 1;
    else high = middle;
  }
  for (let k = low; k < stretches.length && stretches[k]!.from <= to; k++) {
    const start = Math.max(0, Math.floor((stretches[k]!.from - from) * perSecond));
    const end = Math.min(width, Math.max(start + 1, Math.ceil((stretches[k]!.to - from) * perSecond)));
    const last = found.at(-1);
    if (last && start <= last[1]) last[1] = Math.max(last[1], end);
    else found.push([start, end]);
  }
  return found;
}
