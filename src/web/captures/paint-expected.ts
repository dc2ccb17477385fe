/** What is expected, behind the traces: the band of sound units soft, its middle thin, a fault dashed. */

import { type Line, lineOf } from './expected.ts';
import { type Box, type Palette, type Values, yOf } from './paint.ts';
import type { DrawnExpected } from './picture.ts';
import type { Span } from './span.ts';

const SOFT = 0.16;

/** @param scale  canvas pixels of one pixel at size 100 % */
export function paintExpected(
  ctx: CanvasRenderingContext2D,
  { expected, map }: DrawnExpected,
  span: Span,
  box: Box,
  values: Values,
  colours: Palette,
  scale: number,
): void {
  const columns = Math.max(1, Math.floor(box.width / scale));
  const { sound, low, high, volts, fault } = expected;
  const trail = ({ xs, values: list }: Line, backwards = false): void => {
    for (let k = 0; k < xs.length; k++) {
      const i = backwards ? xs.length - 1 - k : k;
      ctx.lineTo(box.x + xs[i]! * box.width, yOf(list[i]!, box, values));
    }
  };
  ctx.save();
  ctx.lineJoin = 'round';
  ctx.beginPath();
  trail(lineOf(sound, high, map, span, columns, 'high'));
  trail(lineOf(sound, low, map, span, columns, 'low'), true);
  ctx.globalAlpha = SOFT;
  ctx.fillStyle = colours.ink;
  ctx.fill();
  // Where units hardly differ the band is still to be seen.
  ctx.strokeStyle = colours.ink;
  ctx.lineWidth = 3 * scale;
  ctx.stroke();
  ctx.globalAlpha = 1;
  ctx.strokeStyle = colours.ink2;
  ctx.lineWidth = scale;
  ctx.beginPath();
  trail(lineOf(sound, volts, map, span, columns));
  ctx.stroke();
  if (fault) {
    ctx.strokeStyle = colours.ink;
    ctx.lineWidth = 2 * scale;
    ctx.setLineDash([8 * scale, 5 * scale]);
    ctx.beginPath();
    trail(lineOf(fault.course, fault.volts, map, span, columns));
    ctx.stroke();
  }
  ctx.restore();
}

/** What the fault's line is worth near the right end of what is seen; NaN where it has ended. */
export function faultAtRight({ expected: { fault }, map }: DrawnExpected, span: Span): number {
  if (!fault) return Number.NaN;
  const { from, to, repeats, instants } = fault.course;
  let at = map.offset + map.rate * (span.to - 0.03 * (span.to - span.from));
  if (repeats) at -= Math.floor((at - from) / (to - from)) * (to - from);
  const i = instants.findLastIndex((t) => t <= at);
  return fault.volts[Math.max(0, i)] ?? Number.NaN;
}
