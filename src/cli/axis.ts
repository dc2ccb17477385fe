import type { Machine } from '../machine/index.ts';
import type { Figures } from './numbers.ts';

/** One scale of volts, the same for every strip that stands under it. */
export interface Axis {
  readonly low: number;
  readonly high: number;
  /** What is engraved: the rails and 0 V. */
  readonly marks: readonly number[];
}

/** A rail so many times larger than all smaller ones belongs to another supply family: a display, a line. */
const ANOTHER_FAMILY = 2.5;
/** How far the scale runs past the outer rails, as a share of it. */
const OVER = 0.04;

/**
 * The scales of a machine, the logic's own first: from the most negative to the most positive rail of a supply family and a
 * little over; a second one takes in all rails where there is another family.
 */
export function axesOf(machine: Pick<Machine, 'rails'>): readonly [Axis, ...Axis[]] {
  const rails = machine.rails.map(({ volts }) => volts).sort((a, b) => Math.abs(a) - Math.abs(b));
  const beyond = rails.findIndex(
    (volts, i) => i > 0 && rails[i - 1] !== 0 && Math.abs(volts) > ANOTHER_FAMILY * Math.abs(rails[i - 1]!),
  );
  const axis = axisOver(beyond < 0 ? rails : rails.slice(0, beyond));
  return beyond < 0 ? [axis] : [axis, axisOver(rails)];
}

/** The first scale that a level lies on, or the last. */
export function axisFor(axes: readonly [Axis, ...Axis[]], volts: number): Axis {
  return axes.find(({ low, high }) => volts >= low && volts <= high) ?? axes.at(-1)!;
}

function axisOver(rails: readonly number[]): Axis {
  const least = Math.min(0, ...rails);
  const most = Math.max(0, ...rails);
  const over = Math.max(0.5, OVER * (most - least));
  const marks = [...new Set([0, ...rails])].sort((a, b) => a - b);
  return { low: least - over, high: most + over, marks };
}

/** Cell of a level on a strip of `width` cells, counted from 0; beyond the ends, the end. */
export function cellOf(axis: Axis, width: number, volts: number): number {
  const place = Math.round(((volts - axis.low) / (axis.high - axis.low)) * (width - 1));
  return Math.min(width - 1, Math.max(0, place));
}

/** The scale's figures in a line of `width` cells, each centred on its level; the outer ones and 0 before the others. */
export function engraving(axis: Axis, width: number, figures: Figures): string {
  const line = new Array<string>(width).fill(' ');
  const { marks } = axis;
  const outer = [marks.at(-1), marks[0], 0].filter((volts) => volts !== undefined && marks.includes(volts));
  for (const volts of new Set([...(outer as number[]), ...marks])) {
    const sign = volts < 0 ? figures.minus : volts > 0 ? '+' : '';
    const text = `${sign}${Math.abs(volts)}${volts === marks.at(-1) ? ' V' : ''}`;
    const start = Math.min(width - text.length, Math.max(0, cellOf(axis, width, volts) - (text.length >> 1)));
    const around = line.slice(Math.max(0, start - 1), start + text.length + 1);
    if (start >= 0 && around.every((cell) => cell === ' ')) line.splice(start, text.length, ...text);
  }
  return line.join('');
}

/** A scale of its own over a few levels that lie close together, engraved at round volts. */
export function lensOver(levels: readonly number[]): Axis {
  const least = Math.min(...levels);
  const most = Math.max(...levels);
  const range = Math.max(most - least, 1e-3);
  const raw = range / 2;
  const decade = 10 ** Math.floor(Math.log10(raw));
  const step = [5, 2, 1].map((n) => n * decade).find((size) => size <= raw)!;
  const marks: number[] = [];
  for (let n = Math.ceil(least / step); n * step <= most; n++) marks.push(Number((n * step).toPrecision(6)));
  return { low: least - 0.05 * range, high: most + 0.05 * range, marks };
}
