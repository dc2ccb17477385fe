/**
 * A trace in a few lines of text: each column spans from the least to the greatest sample of its time. A logic channel of one bit is
 * high or low in one line.
 */
import {
  firstAtOrAfter,
  instantAt,
  type LogicTrace,
  Pyramid,
  stateAt,
  type TimeWindow,
  type Trace,
} from '../waveform/index.ts';

const LINES = 7;

interface Signs {
  readonly level: string;
  readonly span: string;
  readonly gap: string;
  readonly high: string;
  readonly low: string;
  readonly change: string;
}

const UNICODE: Signs = { level: '─', span: '│', gap: '·', high: '▔', low: '▁', change: '│' };
const ASCII: Signs = { level: '-', span: '|', gap: '.', high: '^', low: '_', change: '|' };

/**
 * @param window  seconds; the whole trace where it is left out
 * @param width  columns
 * @returns lines from the greatest value down; empty when there is nothing to draw
 */
export function traceStrip(trace: Trace, width: number, unicode: boolean, window?: TimeWindow): string[] {
  const signs = unicode ? UNICODE : ASCII;
  const { timebase, values } = trace;
  const from = Math.max(window?.from ?? -Infinity, instantAt(timebase, 0));
  const to = Math.min(window?.to ?? Infinity, instantAt(timebase, values.length - 1));
  if (!(to > from)) return [];
  const { min, max } = new Pyramid(trace).columns(from, to, width);
  const finite = (list: Float32Array): number[] => [...list].filter(Number.isFinite);
  const [low, high] = [Math.min(...finite(min)), Math.max(...finite(max))];
  if (!(low <= high)) return [];
  const lineOf = (value: number): number =>
    high > low ? Math.round(((high - value) / (high - low)) * (LINES - 1)) : LINES >> 1;
  const lines = Array.from({ length: LINES }, () => Array.from({ length: width }, () => ' '));
  let before = lineOf(min[0]!);
  for (let c = 0; c < width; c++) {
    if (!Number.isFinite(min[c])) {
      // Fewer samples than columns: the line goes on, unless the sample that is here is none.
      const i = firstAtOrAfter(timebase, values.length, from + ((to - from) * c) / width);
      const gone = Number.isNaN(values[Math.max(0, i - 1)]);
      lines[gone ? LINES - 1 : before]![c] = gone ? signs.gap : signs.level;
      continue;
    }
    const [top, bottom] = [lineOf(max[c]!), lineOf(min[c]!)];
    const [first, last] = [Math.min(top, before), Math.max(bottom, before)];
    for (let line = first; line <= last; line++) lines[line]![c] = first === last ? signs.level : signs.span;
    before = top === bottom ? top : Math.abs(top - before) > Math.abs(bottom - before) ? top : bottom;
  }
  return lines.map((line) => line.join('').trimEnd());
}

export function logicStrip(trace: LogicTrace, width: number, unicode: boolean, window?: TimeWindow): string {
  const signs = unicode ? UNICODE : ASCII;
  const { instants } = trace;
  const end = Math.min(window?.to ?? Infinity, trace.end);
  const from = Math.max(window?.from ?? -Infinity, instants[0] ?? end);
  if (!(end > from)) return '';
  const step = (end - from) / width;
  let at = instants.findIndex((instant) => instant > from);
  if (at < 0) at = instants.length;
  return Array.from({ length: width }, (_, c) => {
    const until = from + (c + 1) * step;
    let changes = 0;
    for (; at < instants.length && instants[at]! < until; at++) changes++;
    const state = stateAt(trace, Math.min(end, until - step / 2));
    if (changes > 1) return signs.change;
    return state === '1' ? signs.high : state === '0' ? signs.low : state.includes('x') ? '?' : signs.gap;
  }).join('');
}
