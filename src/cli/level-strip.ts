/**
 * The level strip in text: a short axis from the most negative rail to the most positive, the sound band on it, the healthy
 * unit as a hollow mark and the faulty one as a solid mark, which is an arrow when it departs. Marks stand where the value is, to
 * the nearest cell; the figures in the same row say the rest.
 */

import { verdict } from '../workbench/index.ts';
import { type Axis, cellOf } from './axis.ts';
import type { Paint } from './terminal.ts';

/** What is known of one point in one state, in volts; what is not known is left out. */
export interface Marks {
  readonly sound?: number;
  readonly sigma?: number;
  /** The band is learnt from the healthy unit, not computed. */
  readonly learnt?: boolean;
  readonly healthy?: number | undefined;
  readonly value?: number;
  /** Spreads off, signed. */
  readonly z?: number;
}

interface Signs {
  readonly zero: string;
  readonly edges: readonly [string, string];
  readonly learntEdges: readonly [string, string];
  readonly band: string;
  readonly loose: string;
  readonly healthy: string;
  readonly sound: string;
  readonly doubtful: string;
  readonly tie: string;
  readonly tail: string;
  readonly stem: string;
  readonly heads: readonly [string, string];
  readonly off: readonly [string, string];
}

const UNICODE: Signs = {
  zero: '┊',
  edges: ['╞', '╡'],
  learntEdges: ['╎', '╎'],
  band: '═',
  loose: '░',
  healthy: '○',
  sound: '•',
  doubtful: '●',
  tie: '◉',
  tail: '─',
  stem: '━',
  heads: ['◀', '▶'],
  off: ['«', '»'],
};

const ASCII: Signs = {
  zero: ':',
  edges: ['[', ']'],
  learntEdges: ['(', ')'],
  band: '=',
  loose: '~',
  healthy: 'o',
  sound: 'x',
  doubtful: 'X',
  tie: '@',
  tail: '-',
  stem: '-',
  heads: ['<', '>'],
  off: ['<', '>'],
};

function signs(unicode: boolean): Signs {
  return unicode ? UNICODE : ASCII;
}

/** The strip of one point, `width` cells, with colour where `paint` has any. */
export function levelStrip(
  marks: Marks,
  axis: Axis,
  width: number,
  unicode: boolean,
  { quiet, departs, bold }: Paint,
): string {
  const sign = signs(unicode);
  const cells = new Array<string>(width).fill(' ');
  const at = (volts: number): number => cellOf(axis, width, volts);
  const between = (one: number, other: number, text: string): void => {
    for (let i = Math.min(one, other) + 1; i < Math.max(one, other); i++) cells[i] = text;
  };
  const { sound, sigma, healthy, value } = marks;
  cells[at(0)] = quiet(sign.zero);

  let band: readonly [number, number] | undefined;
  if (sound !== undefined && Number.isFinite(sound)) {
    const spread = sigma !== undefined && Number.isFinite(sigma) ? sigma : 0;
    band = bandCells(at(sound - 2 * spread), at(sound), at(sound + 2 * spread), width);
    const loose = 4 * spread > (axis.high - axis.low) / 2;
    const [left, right] = marks.learnt ? sign.learntEdges : sign.edges;
    between(band[0], band[1], marks.learnt ? ' ' : loose ? sign.loose : sign.band);
    cells[band[0]] = left;
    cells[band[1]] = right;
  }

  const mark = value === undefined ? undefined : at(value);
  const how = verdict(marks.z ?? 0);
  if (mark !== undefined && band !== undefined && how !== 'sound') {
    const near = marks.z! > 0 ? band[1] : band[0];
    if (mark < band[0] || mark > band[1]) {
      between(near, mark, how === 'departs' ? departs(sign.stem) : sign.tail);
    }
  }
  const ring = healthy === undefined ? undefined : at(healthy);
  if (ring !== undefined) cells[ring] = bold(sign.healthy);
  if (mark === undefined || value === undefined) return cells.join('');

  if (how === 'departs') {
    const side = marks.z! > 0 ? 1 : 0;
    const head = departs(sign.heads[side]);
    if (value < axis.low || value > axis.high) {
      cells[mark] = departs(sign.off[side]);
      cells[mark - (side === 1 ? 1 : -1)] = head;
    } else {
      cells[mark] = head;
    }
  } else {
    cells[mark] = bold(how === 'doubtful' ? sign.doubtful : mark === ring ? sign.tie : sign.sound);
  }
  return cells.join('');
}

/** At least three cells, so that the band has two edges with the mean between them. */
function bandCells(low: number, middle: number, high: number, width: number): [number, number] {
  const inner = Math.min(width - 2, Math.max(1, middle));
  return [Math.min(low, inner - 1), Math.max(high, inner + 1)];
}

/** The strip's signs explained, for the foot of a table: phrases, none of which is to be broken. */
export function stripKey(unicode: boolean, healthy: string | undefined, unit: string | undefined): string[] {
  const sign = signs(unicode);
  const own =
    unit === undefined
      ? []
      : [
          `${sign.sound} ${unit}, sound`,
          `${sign.tail}${sign.doubtful} doubtful`,
          `${sign.stem}${sign.heads[1]} departs`,
        ];
  return [
    `${sign.edges[0]}${sign.band}${sign.edges[1]} sound, 2 spreads either way`,
    ...(healthy === undefined ? [] : [`${sign.healthy} ${healthy}`]),
    ...own,
  ];
}
