/** The whole picture of a view: engraved axis of time, lanes with their values, traces, departures and cursors. */

import { type Box, columnsOf, type Palette, paintTrace, type Values, yOf } from './paint.ts';
import { faultAtRight, paintExpected } from './paint-expected.ts';
import { paintLogic, paintValues, paintWords } from './paint-logic.ts';
import { type DrawnTrace, GUTTER, type Lane, laneHeights, type Picture, RIGHT, TOP } from './picture.ts';
import { timeScale, valueScale } from './scale.ts';
import type { Span } from './span.ts';
import { valuesSeen } from './values-seen.ts';

export interface Sheet {
  /** Canvas pixels. */
  readonly width: number;
  /** Canvas pixels of one pixel at size 100 %. */
  readonly scale: number;
  readonly family: string;
}

/** Room above and below the values of a lane, and between marks of a scale. */
const PAD = 20;
const MARK_GAP = 80;
const VALUE_GAP = 34;

/** Where the axis of time lies across the canvas, in canvas pixels. */
export function across({ width, scale }: Pick<Sheet, 'width' | 'scale'>): { x: number; width: number } {
  const x = Math.round(GUTTER * scale);
  return { x, width: Math.max(1, width - x - Math.round(RIGHT * scale)) };
}

export function paintPicture(
  ctx: CanvasRenderingContext2D,
  picture: Picture,
  sheet: Sheet,
  colours: Palette,
): void {
  const { scale, width, family } = sheet;
  const plot = across(sheet);
  const heights = laneHeights(picture.lanes).map((height) => height * scale);
  const bottom = TOP * scale + heights.reduce((sum, height) => sum + height, 0);
  const font = (size: number, weight: number): string => `${weight} ${size * scale}px ${family}`;
  const { span } = picture;
  ctx.fillStyle = colours.ground;
  ctx.fillRect(0, 0, width, bottom + scale);
  const xOf = (t: number): number => plot.x + ((t - span.from) / (span.to - span.from)) * plot.width;

  if (picture.looked) {
    const [[from, to] = [0, 0]] = columnsOf([picture.looked], span, plot.width);
    ctx.fillStyle = colours.sheet;
    if (to > from) ctx.fillRect(plot.x + from, TOP * scale, Math.max(to - from, scale), bottom - TOP * scale);
  }
  paintTime(ctx, span, plot, bottom, colours, scale, font);
  let y = TOP * scale;
  picture.lanes.forEach((lane, i) => {
    const height = heights[i]!;
    if (i > 0) line(ctx, 0, y, width, y, colours.rule, scale);
    ctx.save();
    ctx.beginPath();
    ctx.rect(0, y, width, height);
    ctx.clip();
    if (lane.traces.length > 0) {
      const box = { x: plot.x, y: y + PAD * scale, width: plot.width, height: height - 2 * PAD * scale };
      paintLane(ctx, lane, picture, box, colours, scale, font);
    } else {
      const box = { x: plot.x, y: y + PAD * scale, width: plot.width, height: 30 * scale };
      paintLogicLane(ctx, lane, span, box, colours, scale, font);
    }
    ctx.restore();
    y += height;
  });
  paintParting(ctx, picture, heights, xOf, plot, colours, scale);
  paintCursors(ctx, picture, xOf, plot, bottom, colours, scale, font);
}

type Font = (size: number, weight: number) => string;

function line(
  ctx: CanvasRenderingContext2D,
  x1: number,
  y1: number,
  x2: number,
  y2: number,
  colour: string,
  width: number,
): void {
  ctx.strokeStyle = colour;
  ctx.lineWidth = width;
  ctx.lineCap = 'butt';
  ctx.beginPath();
  ctx.moveTo(x1, y1);
  ctx.lineTo(x2, y2);
  ctx.stroke();
}

function paintTime(
  ctx: CanvasRenderingContext2D,
  span: Span,
  plot: { readonly x: number; readonly width: number },
  bottom: number,
  colours: Palette,
  scale: number,
  font: Font,
): void {
  const { marks, unit, originLabel } = timeScale(span, plot.width / (MARK_GAP * scale));
  const axis = (TOP - 8) * scale;
  ctx.textBaseline = 'alphabetic';
  line(ctx, plot.x, axis, plot.x + plot.width, axis, colours.ink, 2 * scale);
  ctx.fillStyle = colours.ink;
  ctx.font = font(15, 450);
  ctx.textAlign = 'left';
  ctx.fillText(originLabel === '' ? unit : `${originLabel} +, ${unit}`, 2 * scale, axis - 13 * scale);
  ctx.font = font(17, 500);
  ctx.textAlign = 'center';
  const taken = originLabel === '' ? plot.x - 8 * scale : plot.x + 80 * scale;
  for (const { value, label } of marks) {
    const x = plot.x + ((value - span.from) / (span.to - span.from)) * plot.width;
    line(ctx, x, axis - 8 * scale, x, axis, colours.ink, 1.5 * scale);
    line(ctx, x, TOP * scale, x, bottom, colours.grid, scale);
    const half = ctx.measureText(label).width / 2;
    ctx.fillStyle = colours.ink;
    const at = Math.max(plot.x + half - 8 * scale, Math.min(x, plot.x + plot.width + RIGHT * scale - half));
    if (at - half > taken - plot.x || originLabel === '') ctx.fillText(label, at, axis - 13 * scale);
  }
}

function paintLane(
  ctx: CanvasRenderingContext2D,
  lane: Lane,
  picture: Picture,
  box: Box,
  colours: Palette,
  scale: number,
  font: Font,
): void {
  const { span, fitted } = picture;
  const values = roomy(fitted ? valuesSeen(lane, span, box.width) : lane);
  const { marks, unit } = valueScale(values.low, values.high, lane.unit, box.height / (VALUE_GAP * scale));
  ctx.font = font(15, 450);
  ctx.textAlign = 'right';
  ctx.textBaseline = 'middle';
  for (const { value, label } of marks) {
    const y = yOf(value, box, values);
    const zero = value === 0;
    line(
      ctx,
      zero ? box.x : box.x - 5 * scale,
      y,
      zero ? box.x + box.width : box.x,
      y,
      colours.ink2,
      (zero ? 1.5 : 1) * scale,
    );
    ctx.fillStyle = colours.ink2;
    ctx.fillText(label, box.x - 9 * scale, y);
  }
  if (unit !== '') {
    ctx.textAlign = 'left';
    ctx.fillText(unit, 2 * scale, box.y - 8 * scale);
  }
  const order = [...lane.traces].sort((p, q) => rank(p) - rank(q));
  ctx.save();
  ctx.beginPath();
  ctx.rect(box.x, box.y - PAD * scale, box.width, box.height + 2 * PAD * scale);
  ctx.clip();
  if (lane.expected) paintExpected(ctx, lane.expected, span, box, values, colours, scale);
  for (const trace of order) paintTrace(ctx, trace, span, box, values, colours, scale);
  ctx.restore();
  paintNames(ctx, lane, span, box, values, colours, scale, font);
}

/** What is drawn first: what is not looked at, then the chosen; of either the healthy unit's, so that the other's fills it. */
function rank({ hollow, chosen }: DrawnTrace): number {
  return (chosen ? 2 : 0) + (hollow ? 0 : 1);
}

/** A little beyond both ends; a flat trace in the middle. */
function roomy({ low, high }: Values): Values {
  if (!(low <= high)) return { low: -1, high: 1 };
  const over = high > low ? 0.04 * (high - low) : Math.max(1e-3, 0.1 * Math.abs(high));
  return { low: low - over, high: high + over };
}

/** Each trace's name at its right end, none over another. */
function paintNames(
  ctx: CanvasRenderingContext2D,
  lane: Lane,
  span: Span,
  box: Box,
  values: Values,
  colours: Palette,
  scale: number,
  font: Font,
): void {
  const named: { words: string; strong: boolean; y: number }[] = [];
  const all = lane.traces
    .filter(({ name }) => name !== '')
    .map(({ name, chosen, ...trace }) => ({ name, chosen, value: valueAtRight(trace, span) }))
    .concat(
      lane.expected?.expected.fault
        ? [
            {
              name: lane.expected.expected.fault.part,
              chosen: false,
              value: faultAtRight(lane.expected, span),
            },
          ]
        : [],
    )
    .map(({ value, ...trace }) => ({ trace, y: yOf(value, box, values) - 13 * scale }))
    .sort((p, q) => p.y - q.y);
  for (const { trace, y } of all) {
    const last = named.at(-1);
    const strong = trace.chosen;
    // Traces that lie on each other are named together.
    if (last && all.length === 2 && y - last.y < 14 * scale) {
      named[named.length - 1] = {
        words: `${last.words}, ${trace.name}`,
        strong: strong && last.strong,
        y: last.y,
      };
    } else named.push({ words: trace.name, strong, y });
  }
  let free = box.y - 10 * scale;
  ctx.textAlign = 'right';
  ctx.textBaseline = 'middle';
  ctx.lineJoin = 'round';
  for (const { words, strong, y } of named) {
    const at = Math.min(box.y + box.height + 10 * scale, Math.max(free, Number.isNaN(y) ? free : y));
    free = at + 18 * scale;
    ctx.font = font(15, strong ? 600 : 450);
    ctx.strokeStyle = colours.ground;
    ctx.lineWidth = 5 * scale;
    ctx.strokeText(words, box.x + box.width - 4 * scale, at);
    ctx.fillStyle = colours.ink;
    ctx.fillText(words, box.x + box.width - 4 * scale, at);
  }
}

function valueAtRight({ pyramid, map }: Pick<DrawnTrace, 'pyramid' | 'map'>, span: Span): number {
  const { values, timebase } = pyramid.trace;
  const at = map.offset + map.rate * (span.to - 0.03 * (span.to - span.from));
  const last = values.length - 1;
  const i = 'stamps' in timebase ? last : Math.round((at - timebase.start) / timebase.step);
  return values[Math.min(last, Math.max(0, i))] ?? Number.NaN;
}

function paintLogicLane(
  ctx: CanvasRenderingContext2D,
  lane: Lane,
  span: Span,
  box: Box,
  colours: Palette,
  scale: number,
  font: Font,
): void {
  const order = [...lane.logic].sort((p, q) => Number(q.hollow) - Number(p.hollow));
  ctx.font = font(15, 450);
  for (const logic of order) paintLogic(ctx, logic, span, box, colours, scale);
  // Two values in one place cannot be read: those of the unit that is looked at.
  const top = order.at(-1)?.trace;
  if (top && top.width > 1) paintValues(ctx, top, span, box, colours, scale);
  let y = box.y + box.height + 6 * scale;
  for (const logic of order) {
    if (logic.words.length === 0) continue;
    ctx.font = font(15, 450);
    ctx.textAlign = 'left';
    ctx.fillStyle = colours.ink2;
    const row = { x: box.x, y, width: box.width, height: 22 * scale };
    paintWords(ctx, logic.words, logic.departures, span, row, colours, scale, font);
    y += 22 * scale;
  }
}

/** A dashed stair through the first differences of the lanes in the order of time: its first step is where to look. */
function paintParting(
  ctx: CanvasRenderingContext2D,
  picture: Picture,
  heights: readonly number[],
  xOf: (t: number) => number,
  plot: { readonly x: number; readonly width: number },
  colours: Palette,
  scale: number,
): void {
  let top = TOP * scale;
  const parts: { x: number; top: number; bottom: number; at: number }[] = [];
  picture.lanes.forEach(({ parts: at }, i) => {
    if (at !== undefined) parts.push({ x: xOf(at), top, bottom: top + heights[i]!, at });
    top += heights[i]!;
  });
  const first = parts.reduce<(typeof parts)[number] | undefined>(
    (best, one) => (best && best.at <= one.at ? best : one),
    undefined,
  );
  if (!first) return;
  ctx.save();
  ctx.beginPath();
  ctx.rect(plot.x - 8 * scale, 0, plot.width + 16 * scale, top);
  ctx.clip();
  ctx.setLineDash([6 * scale, 4 * scale]);
  for (const { x, top: from, bottom } of parts) line(ctx, x, from, x, bottom, colours.spot, 1.75 * scale);
  ctx.setLineDash([]);
  const tip = TOP * scale + (parts[0] === first ? 0 : first.top - TOP * scale);
  ctx.fillStyle = colours.spot;
  ctx.beginPath();
  ctx.moveTo(first.x - 8 * scale, tip - 5 * scale);
  ctx.lineTo(first.x + 8 * scale, tip - 5 * scale);
  ctx.lineTo(first.x, tip + 9 * scale);
  ctx.fill();
  ctx.restore();
}

function paintCursors(
  ctx: CanvasRenderingContext2D,
  { cursors, active }: Picture,
  xOf: (t: number) => number,
  plot: { readonly x: number; readonly width: number },
  bottom: number,
  colours: Palette,
  scale: number,
  font: Font,
): void {
  for (const name of ['a', 'b'] as const) {
    const at = cursors[name];
    if (at === undefined) continue;
    const x = xOf(at);
    if (x < plot.x - 1 || x > plot.x + plot.width + 1) continue;
    line(ctx, x, (TOP - 8) * scale, x, bottom, colours.act, 1.75 * scale);
    const side = 20 * scale;
    ctx.fillStyle = active === name ? colours.act : colours.ground;
    ctx.strokeStyle = colours.act;
    ctx.lineWidth = 1.75 * scale;
    ctx.fillRect(x - side / 2, 2 * scale, side, side);
    ctx.strokeRect(x - side / 2, 2 * scale, side, side);
    line(ctx, x, 2 * scale + side, x, (TOP - 8) * scale, colours.act, 1.75 * scale);
    ctx.font = font(15, 700);
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    ctx.fillStyle = active === name ? colours.actink : colours.act;
    ctx.fillText(name.toUpperCase(), x, 2.5 * scale + side / 2);
  }
}
