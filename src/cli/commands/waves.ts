/** What an oscilloscope would show, as a strip for each point. */
import { formatValue } from '../../quantity/index.ts';
import { type PredictedWaves, predictedWaves } from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { cautionLines } from '../cautions.ts';
import { plural } from '../numbers.ts';
import { faultWords } from '../ranking.ts';
import { column } from '../strip-table.ts';
import { paragraphs, tableLines } from '../table.ts';

type Wave = PredictedWaves['waves'][number];

const MOST_POINTS = 20;
/** Columns of a strip: room for names and levels beside it. */
const BESIDE = 46;
const WIDEST = 96;
const NARROWEST = 16;
const LEVELS = '▁▂▃▄▅▆▇█';
const PLAIN = '_.-^';

export async function waves(call: Call): Promise<void> {
  const machine = await call.machine();
  const { condition, fault, point, ambient } = call.options;
  const found = predictedWaves(machine, { condition: condition!, fault, points: point, ambient });
  if (call.options.json) return json(call, found);
  const shown = call.options.all || point !== undefined ? found.waves : found.waves.slice(0, MOST_POINTS);
  const whose =
    found.fault === undefined
      ? 'a sound unit'
      : `a unit with ${faultWords(machine, found.fault.part, found.fault.mode)}`;
  const plain = (text: string): string =>
    call.figures.unicode ? text : text.replaceAll('\u2212', '-').replaceAll('µ', 'u');
  const stretch = plain(`${formatValue(found.from, 's', 4)} to ${formatValue(found.to, 's', 4)}`);
  const left = found.waves.length - shown.length;
  call.lines(
    paragraphs(
      [
        ...call.wrap(
          `${machine.name}, "${found.condition}": what ${whose} would show, ${stretch}${found.repeats ? ', and again' : ''}.`,
        ),
        ...(found.severity === undefined
          ? []
          : call.wrap(`About ${plain(found.severity)} stands for this mode.`)),
      ],
      shown.length === 0 ? call.wrap('Nothing moves at any point.') : strips(call, found, shown),
      left > 0 ? call.wrap(`${plural(left, 'point')} more: --all shows them.`, '  ') : [],
      cautionLines(call, machine, shown),
    ),
  );
}

function json(call: Call, { waves, ...about }: PredictedWaves): void {
  const plain = (list: Float64Array): number[] => Array.from(list);
  call.json({
    ...about,
    waves: waves.map(({ point, instants, volts, sound }) => ({
      point,
      instants: plain(instants),
      volts: plain(volts),
      sound: {
        instants: plain(sound.instants),
        volts: plain(sound.volts),
        low: plain(sound.low),
        high: plain(sound.high),
      },
    })),
  });
}

/** A strip's row: what it shows, between which volts. */
interface Row {
  readonly name: string;
  readonly what: string;
  readonly instants: Float64Array;
  readonly volts: Float64Array;
  readonly low: number;
  readonly high: number;
  /** The widest that a sound unit is off its own wave while it rests; of a sound row. */
  readonly band: number | undefined;
}

function strips(call: Call, found: PredictedWaves, shown: readonly Wave[]): string[] {
  const width = Math.max(NARROWEST, Math.min(WIDEST, call.terminal.columns - BESIDE));
  const rows = shown.flatMap(({ point, instants, volts, sound }): Row[] => {
    const all = [...volts, ...sound.volts].filter(Number.isFinite);
    const ends = { low: Math.min(...all), high: Math.max(...all) };
    const own = { ...ends, name: point, what: found.fault === undefined ? '' : 'sound', band: bandOf(sound) };
    const soundRow = { ...own, instants: sound.instants, volts: sound.volts };
    if (found.fault === undefined) return [soundRow];
    return [soundRow, { ...ends, name: '', what: 'fault', band: undefined, instants, volts }];
  });
  const { figures, paint, terminal } = call;
  return tableLines(
    [
      column(
        'point',
        'left',
        rows,
        ({ name }) => name,
        () => paint.bold,
      ),
      column('', 'left', rows, ({ what }) => what),
      column('', 'left', rows, (row) => strip(row, found, width, figures.unicode)),
      column('low', 'right', rows, ({ low, name }) => (name === '' ? '' : figures.level(low, 0.1, 'V'))),
      column('high', 'right', rows, ({ high, name }) => (name === '' ? '' : figures.level(high, 0.1, 'V'))),
      column('', 'left', rows, ({ band }) => (band === undefined ? '' : figures.spread(band, 'V'))),
    ],
    terminal.columns,
    paint.quiet,
  );
}

/** Half the usual width of the band: for half of the time it is no wider. Instants stand close where the wave is steep. */
function bandOf({ instants, low, high }: Wave['sound']): number {
  const stretches = Array.from(instants, (t, i) => ({
    half: (high[i]! - low[i]!) / 2,
    seconds: ((instants[i + 1] ?? t) - (instants[i - 1] ?? t)) / 2,
  })).sort((a, b) => a.half - b.half);
  const whole = instants.at(-1)! - instants[0]!;
  let seconds = 0;
  for (const stretch of stretches) {
    seconds += stretch.seconds;
    if (seconds >= whole / 2) return stretch.half;
  }
  return Number.NaN;
}

/** One character for each stretch of time, as high as the wave is there on the average. */
function strip(
  { instants, volts, low, high }: Row,
  { from, to }: PredictedWaves,
  width: number,
  unicode: boolean,
): string {
  const signs = unicode ? LEVELS : PLAIN;
  const sums = new Float64Array(width);
  const seconds = new Float64Array(width);
  const step = (to - from) / width;
  for (let i = 1; i < instants.length; i++) {
    const [a, b] = [instants[i - 1]!, instants[i]!];
    const first = Math.max(0, Math.floor((a - from) / step));
    const last = Math.min(width - 1, Math.floor((b - from) / step));
    for (let k = first; k <= last; k++) {
      const [begin, end] = [Math.max(a, from + k * step), Math.min(b, from + (k + 1) * step)];
      if (!(end > begin)) continue;
      const middle = (begin + end) / 2;
      const v = volts[i - 1]! + ((middle - a) / (b - a)) * (volts[i]! - volts[i - 1]!);
      sums[k]! += v * (end - begin);
      seconds[k]! += end - begin;
    }
  }
  return Array.from(sums, (sum, k) => {
    const mean = sum / seconds[k]!;
    if (!Number.isFinite(mean)) return ' ';
    const share = high > low ? (mean - low) / (high - low) : 0;
    return signs[Math.max(0, Math.min(signs.length - 1, Math.floor(share * signs.length)))]!;
  }).join('');
}
