import { type DecimalSign, type Separator, unitWord } from '../capture/index.ts';
import { parseValue, type UnitSymbol } from '../quantity/index.ts';
import { InputError } from '../records/index.ts';
import type { TimeWindow } from '../waveform/index.ts';
import type { CaptureCorrections, ChannelCorrection } from '../workbench/index.ts';
import type { Options } from './call.ts';

const SEPARATORS: Readonly<Record<string, Separator>> = {
  ...{ ',': ',', ';': ';', '\t': '\t', ' ': ' ' },
  ...{ comma: ',', semicolon: ';', tab: '\t', space: ' ' },
};
const DECIMALS: Readonly<Record<string, DecimalSign>> = { '.': '.', ',': ',', point: '.', comma: ',' };

/** What the options correct. @throws InputError  `bad-option`, which names the option and what belongs there */
export function correctionsOf(options: Options): CaptureCorrections {
  const { separator, decimal, interval, fullScale, probe = [], offset = [], units = [] } = options;
  const channels = new Map<string, ChannelCorrection>();
  const lay = (name: string, more: ChannelCorrection): void => {
    channels.set(name, { ...channels.get(name), ...more });
  };
  for (const [name, value] of pairsOf('--probe', probe)) lay(name, { probe: factor('--probe', value) });
  for (const [name, value] of pairsOf('--offset', offset)) lay(name, { offset: number('--offset', value) });
  for (const [name, value] of pairsOf('--units', units)) {
    const unit = unitWord(value);
    if (unit === undefined) throw bad('--units', value, 'a unit such as V, mV, A or us');
    lay(name, { unit });
  }
  return {
    separator: chosen('--separator', separator, SEPARATORS),
    decimal: chosen('--decimal', decimal, DECIMALS),
    interval: interval === undefined ? undefined : seconds('--interval', interval),
    fullScale: fullScale === undefined ? undefined : factor('--full-scale', fullScale, 'V'),
    channels,
  };
}

/** `CH1=10` as name and value, several of them. */
export function pairsOf(option: string, given: readonly string[]): (readonly [string, string])[] {
  return given.map((text) => {
    const at = text.indexOf('=');
    if (at < 1) throw bad(option, text, 'CHANNEL=, such as CH1=10');
    return [text.slice(0, at).trim(), text.slice(at + 1).trim()] as const;
  });
}

/** `1m..2m` as seconds; either may be left out. @throws InputError  `bad-option` */
export function windowOf({ window }: Options): TimeWindow | undefined {
  if (window === undefined) return undefined;
  const [from = '', to = '', ...more] = window.split('..');
  const end = (text: string, none: number): number =>
    text.trim() === '' ? none : number('--window', text, 's');
  const wanted = { from: end(from, -Infinity), to: end(to, Infinity) };
  if (window.includes('..') && more.length === 0 && wanted.from < wanted.to) return wanted;
  throw bad('--window', window, 'FROM..TO in seconds, such as 1m..2m');
}

/** Above 0. */
export function seconds(option: string, text: string): number {
  const value = number(option, text, 's');
  if (value > 0) return value;
  throw bad(option, text, 'seconds above 0, such as 1u');
}

export function number(option: string, text: string, unit?: UnitSymbol): number {
  const parsed = parseValue(text, { ...(unit === undefined ? {} : { unit }), decimalComma: true });
  if (parsed.ok) return parsed.value;
  throw new InputError('bad-option', `${option}: ${parsed.reason}`);
}

function factor(option: string, text: string, unit?: UnitSymbol): number {
  const value = number(option, text, unit);
  if (value !== 0) return value;
  throw bad(option, text, 'a number other than 0');
}

function chosen<T>(
  option: string,
  text: string | undefined,
  from: Readonly<Record<string, T>>,
): T | undefined {
  if (text === undefined) return undefined;
  if (Object.hasOwn(from, text)) return from[text];
  throw bad(
    option,
    text,
    `one of ${Object.keys(from)
      .filter((key) => key.trim() !== '')
      .join(' ')}`,
  );
}

export function bad(option: string, found: string, allowed: string): InputError {
  return new InputError('bad-option', `${option} ${JSON.stringify(found)}: here belongs ${allowed}`);
}
