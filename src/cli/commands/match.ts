import { InputError } from '../../records/index.ts';
import type { BitDifference, Difference, StateDifference } from '../../waveform/index.ts';
import {
  type ChannelMatch,
  captureMatch,
  type Match,
  type MatchWish,
  openCapture,
} from '../../workbench/index.ts';
import { type Amounts, amounts } from '../amounts.ts';
import { type Call, shellWord } from '../call.ts';
import { bad, correctionsOf, number, seconds, windowOf } from '../capture-options.ts';
import { percent, plural } from '../numbers.ts';
import { column } from '../strip-table.ts';
import { type Column, paragraphs, tableLines } from '../table.ts';

/** Differences that a person takes in; `--all` shows every one. */
const MOST_ROWS = 12;
const WIDEST_WORD = 4096;
/** Clocks further apart than this are not those of twins. */
const MOST_RATE = 20;

export async function match(call: Call): Promise<void> {
  const wish = wishOf(call);
  const corrections = correctionsOf(call.options);
  const [first, second] = [call.folder, call.others[0]!];
  const one = await call.withFile((work) => openCapture(first, corrections, work));
  const two = await call.withFile((work) => openCapture(second, corrections, work));
  const found = captureMatch(one, two, wish);
  if (call.options.json) {
    const { map, alignment, channels } = found;
    call.json({ align: wish.align, map, alignment: alignment ?? null, channels: channels.map(channelJson) });
    return;
  }
  call.lines(
    paragraphs(
      [...call.wrap(`${two.file} against ${one.file}, ${alignWords(call, found, wish)}.`)],
      ...found.channels.map((channel) => channelLines(call, channel, one.file, two.file)),
      hints(call, found, wish),
    ),
  );
}

function wishOf({ options }: Call): MatchWish {
  const {
    channel,
    align = 'trigger',
    rate,
    tolerance,
    word,
    clock,
    edge = 'rising',
    order = 'least',
  } = options;
  const percents = rate === undefined ? 0 : number('--rate', rate.replace(/\s*%$/, ''));
  if (!(percents >= 0 && percents <= MOST_RATE)) throw bad('--rate', rate!, `percent, 0 to ${MOST_RATE}`);
  if (percents > 0 && align === 'trigger')
    throw new InputError('bad-option', '--rate goes with --align edges or --align likeness');
  if ((word === undefined) !== (clock === undefined))
    throw new InputError('bad-option', '--word and --clock go together: bits are read at the clock');
  const bits = word === undefined ? 0 : Number(word);
  if (word !== undefined && !(Number.isInteger(bits) && bits >= 1 && bits <= WIDEST_WORD))
    throw bad('--word', word, `a number of bits, 1 to ${WIDEST_WORD}`);
  return {
    ...{ channel, align, rate: percents / 100, window: windowOf(options) },
    tolerance: tolerance === undefined ? undefined : seconds('--tolerance', tolerance),
    ...(word === undefined
      ? {}
      : { word: { bits, clock: clock!, edge, order: `${order} significant first` as const } }),
  };
}

function alignWords({ figures }: Call, { alignment }: Match, { align, rate }: MatchWish): string {
  if (alignment === undefined) return 'by the trigger that both count from';
  const { amount } = amounts(figures.unicode);
  const { map, offsetUncertainty, likeness } = alignment;
  const sign = figures.unicode ? '±' : '+-';
  const late = `${amount(Math.abs(map.offset), 's')} ${sign} ${amount(offsetUncertainty, 's', 2)}`;
  const parts = [
    `aligned by ${align}: it ${map.offset < 0 ? 'begins earlier' : 'begins later'} by ${late}`,
    ...(rate > 0 ? [`its clock runs ${rateWords(map.rate, figures.unicode)}`] : []),
    `${percent(Math.max(0, Math.min(1, likeness)))} alike`,
  ];
  return parts.join(', ');
}

/** A rate above 1 is a slow clock: its seconds are more. */
function rateWords(rate: number, unicode: boolean): string {
  const off = Math.abs(rate - 1) * 100;
  if (off < 1e-6) return 'as fast';
  const { amount } = amounts(unicode);
  return `${amount(off, '%', 3)} ${rate > 1 ? 'slow' : 'fast'}`;
}

function channelLines(call: Call, match: ChannelMatch, first: string, second: string): string[] {
  const { name, traces, states, words } = match;
  if (words !== undefined) {
    const what = `${plural(words.words, 'word')}${words.undecided > 0 ? `, ${plural(words.undecided, 'bit')} of which is not known` : ''}`;
    if (words.differences.length === 0) return call.wrap(`${name}: ${what}, all alike.`);
    const { word, bit } = words.differences[0]!;
    const head = `${name}: first parts in word ${word + 1}, bit ${bit}; ${plural(words.differences.length, 'bit differs', 'bits differ')} of ${what}.`;
    return [...bold(call, head), ...rows(call, words.differences, bitColumns(call, first, second))];
  }
  if (states !== undefined) {
    if (states.length === 0) return call.wrap(`${name}: alike throughout.`);
    const head = `${name}: first parts at ${amounts(call.figures.unicode).amount(states[0]!.from, 's')}; ${plural(states.length, 'difference')}.`;
    return [...bold(call, head), ...rows(call, states, stateColumns(call, first, second))];
  }
  const shown = amounts(call.figures.unicode);
  if (traces === undefined || 'reason' in traces)
    return call.wrap(`${name}: ${traces?.reason ?? 'nothing'}.`);
  const { differences, count, amplitudeTolerance, timingTolerance } = traces;
  const beyond = `beyond ${shown.amount(amplitudeTolerance, match.unit, 2)} and ${shown.amount(timingTolerance, 's', 2)}`;
  const [one] = differences;
  if (one === undefined) return call.wrap(`${name}: no difference ${beyond}.`);
  const head = `${name}: first parts at ${shown.amount(one.from, 's')}, ${one.kind}, ${byWords(one, match.unit, shown)}; ${plural(count, 'difference')} ${beyond}.`;
  return [...bold(call, head), ...rows(call, differences, differenceColumns(shown, match.unit), count)];
}

function bold(call: Call, text: string): string[] {
  return call.wrap(text, '', '  ').map(call.paint.bold);
}

function byWords({ seconds: late, volts }: Difference, unit: string, { amount }: Amounts): string {
  if (late === undefined) return amount(volts, unit, 3);
  return `${amount(Math.abs(late), 's', 4)} ${late < 0 ? 'early' : 'late'}`;
}

function rows<T>(
  call: Call,
  all: readonly T[],
  columns: (shown: readonly T[]) => Column[],
  count = all.length,
): string[] {
  const shown = call.options.all ? all : all.slice(0, MOST_ROWS);
  const lines = tableLines(columns(shown), call.terminal.columns, call.paint.quiet);
  const left = count - shown.length;
  return [
    ...lines,
    ...(left > 0
      ? [`  ${left.toLocaleString('en')} more${call.options.all ? '' : ': --all shows them'}`]
      : []),
  ];
}

function differenceColumns(shown: Amounts, unit: string) {
  return (list: readonly Difference[]): Column[] => [
    column('from', 'right', list, ({ from }) => shown.amount(from, 's', 5)),
    column('to', 'right', list, ({ to }) => shown.amount(to, 's', 5)),
    column('', 'left', list, ({ kind }) => kind),
    column('by', 'right', list, (one) => byWords(one, unit, shown)),
  ];
}

function stateColumns({ figures }: Call, first: string, second: string) {
  const { amount } = amounts(figures.unicode);
  return (list: readonly StateDifference[]): Column[] => [
    column('from', 'right', list, ({ from }) => amount(from, 's', 5)),
    column('to', 'right', list, ({ to }) => amount(to, 's', 5)),
    column(first, 'right', list, (one) => one.first),
    column(second, 'right', list, (one) => one.second),
  ];
}

function bitColumns({ figures }: Call, first: string, second: string) {
  const { amount } = amounts(figures.unicode);
  return (list: readonly BitDifference[]): Column[] => [
    column('word', 'right', list, ({ word }) => String(word + 1)),
    column('bit', 'right', list, ({ bit }) => String(bit)),
    column('at', 'right', list, ({ instant }) => amount(instant, 's', 5)),
    column(first, 'right', list, (one) => one.first),
    column(second, 'right', list, (one) => one.second),
  ];
}

function hints(call: Call, { alignment, channels }: Match, { align }: MatchWish): string[] {
  const rival = alignment?.rival;
  const { amount } = amounts(call.figures.unicode);
  if (rival !== undefined)
    return call.wrap(
      `They fit nearly as well ${amount(rival, 's')} apart, as what repeats does: a common trigger would tell.`,
      '  ',
    );
  const many = channels.some(({ traces }) => traces !== undefined && 'count' in traces && traces.count > 3);
  if (align !== 'trigger' || !many) return [];
  const words = [call.folder, ...call.others].map(shellWord).join(' ');
  return [
    ...call.wrap('Without a trigger in common they must be brought together first:', '  '),
    `  sisterboard match ${words} --align edges`,
  ];
}

function channelJson({ name, unit, traces, states, words }: ChannelMatch): object {
  if (words !== undefined) return { name, ...words };
  if (states !== undefined) return { name, differences: states };
  return { name, unit, ...traces };
}
