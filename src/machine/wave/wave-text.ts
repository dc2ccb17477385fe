/**
 * A drive's wave as a person types it into a cell:
 *
 *   -6
 *   pulses low=-6 high=0 width=20u period=100u rise=1u fall=1u delay=5u count=8
 *   bits 1011 bit=10u low=-6 high=0 edge=0.5u repeat
 *   samples 0:0 1m:-6 5m:-6 6m:0 repeat
 *   capture town-step.csv CH1
 *
 * Words in any order after the first; `edge=` is rise and fall in one; `exponential` makes them time constants;
 * `negative` turns pulse and logic around. A name with spaces stands in quotation marks.
 */
import { formatValue, parseValue } from '../../quantity/index.ts';
import type { DriveWave } from './drive-wave.ts';

/** Why a text is no wave: the word that is wrong (empty where one is missing), and what is allowed. */
export interface WaveRefusal {
  readonly ok: false;
  readonly code: 'wave-kind' | 'wave-word' | 'wave-value' | 'wave-missing' | 'wave-timing';
  readonly word: string;
  readonly reason: string;
}

/** A wave that was captured: a channel of one of the folder's captures. */
export interface CapturedWave {
  readonly kind: 'capture';
  readonly file: string;
  /** By name, or by number from 1. */
  readonly channel: string;
}
export type ParsedWave = { readonly ok: true; readonly value: DriveWave | CapturedWave } | WaveRefusal;

const WORDS = {
  pulses: ['low', 'high', 'width', 'period', 'delay', 'count', 'rise', 'fall', 'edge'],
  bits: ['bit', 'low', 'high', 'delay', 'rise', 'fall', 'edge'],
} as const;
const NEEDED = { pulses: ['low', 'high', 'width', 'period'], bits: ['bit', 'low', 'high'] } as const;
const FLAGS = { pulses: ['negative', 'exponential'], bits: ['negative', 'exponential', 'repeat'] } as const;

function refused(code: WaveRefusal['code'], word: string, reason: string): WaveRefusal {
  return { ok: false, code, word, reason };
}

/** Least time of a wave as a share of its delay: seconds are doubles of 16 digits. */
const LEAST_SHARE = 1e-9;

/** The wave that `text` describes, or the word that is wrong. It does not throw for bad text. */
export function parseWave(text: string): ParsedWave {
  const words = text.trim().split(/\s+/);
  const kind = words[0]!;
  if (words.length === 1) {
    const value = parseValue(kind, { unit: 'V' });
    if (value.ok) return { ok: true, value: { kind: 'constant', volts: value.value } };
  }
  if (kind === 'pulses' || kind === 'bits') return parsedEdged(kind, words.slice(1));
  if (kind === 'samples') return parsedSamples(words.slice(1));
  if (kind === 'capture') return parsedCapture(text.trim().slice(kind.length));
  return refused('wave-kind', kind, `“${kind}” is neither volts nor one of pulses, bits, samples, capture`);
}

const NAME = /"([^"]+)"|([^\s"]+)/y;

function parsedCapture(text: string): ParsedWave {
  const names: string[] = [];
  for (let rest = text.trim(); rest !== ''; ) {
    NAME.lastIndex = 0;
    const found = NAME.exec(rest);
    if (found === null || names.length === 2)
      return refused('wave-word', rest, `“${rest}” is too much: capture takes a file and a channel`);
    names.push(found[1] ?? found[2]!);
    rest = rest.slice(found[0].length).trim();
  }
  const [file, channel] = names;
  if (file === undefined || channel === undefined)
    return refused('wave-missing', '', 'capture needs the name of a file and of a channel');
  return { ok: true, value: { kind: 'capture', file, channel } };
}

function parsedEdged(kind: 'pulses' | 'bits', words: readonly string[]): ParsedWave {
  const known: readonly string[] = WORDS[kind];
  const flagged: readonly string[] = FLAGS[kind];
  const values = new Map<string, number>();
  const flags = new Set<string>();
  let bits: string | undefined;
  for (const word of words) {
    const [name, text, ...more] = word.split('=') as [string, string | undefined, ...string[]];
    if (more.length > 0) return refused('wave-word', word, `“${word}” has one = too many`);
    if (text === undefined) {
      if (flagged.includes(word)) flags.add(word);
      else if (kind === 'bits' && /^[01]+$/.test(word) && bits === undefined) bits = word;
      else return refused('wave-word', word, `“${word}” is none of ${[...known, ...flagged].join(', ')}`);
      continue;
    }
    if (!known.includes(name)) return refused('wave-word', word, `“${name}” is none of ${known.join(', ')}`);
    if (values.has(name)) return refused('wave-word', word, `“${name}” stands twice`);
    const unit = name === 'low' || name === 'high' ? 'V' : 's';
    const value = parseValue(text, name === 'count' ? {} : { unit });
    if (!value.ok) return refused('wave-value', word, `${name}: ${value.reason}`);
    const positive = name === 'width' || name === 'period' || name === 'bit' || name === 'count';
    const seconds = name === 'rise' || name === 'fall' || name === 'edge';
    if ((positive && !(value.value > 0)) || (seconds && !(value.value >= 0)))
      return refused(
        'wave-value',
        word,
        `${name} is ${text}; it must be ${positive ? 'above' : 'at least'} 0`,
      );
    if (name === 'count' && !Number.isInteger(value.value))
      return refused('wave-value', word, `count is ${text}; it must be a whole number`);
    values.set(name, value.value);
  }
  for (const name of NEEDED[kind])
    if (!values.has(name)) return refused('wave-missing', '', `${kind} needs ${name}=`);
  if (kind === 'bits' && bits === undefined)
    return refused('wave-missing', '', 'bits needs the bits, such as 1011');
  for (const name of ['rise', 'fall'])
    if (values.has(name) && values.has('edge'))
      return refused('wave-word', `${name}=`, `edge is rise and fall in one: leave out ${name}`);
  const get = (name: string): number => values.get(name) ?? 0;
  const shape = {
    edge: flags.has('exponential') ? ('exponential' as const) : ('linear' as const),
    rise: values.get('rise') ?? get('edge'),
    fall: values.get('fall') ?? get('edge'),
  };
  // Edges that fall on the same number of seconds would never end.
  const least = Math.min(...['width', 'bit', 'period'].flatMap((name) => values.get(name) ?? []));
  if (least < get('delay') * LEAST_SHARE)
    return refused(
      'wave-timing',
      '',
      `after a delay of ${formatValue(get('delay'), 's')}, ${formatValue(least, 's')} cannot be told`,
    );
  const common = { low: get('low'), high: get('high'), delay: get('delay'), ...shape };
  const negative = flags.has('negative') ? { negative: true } : {};
  if (kind === 'bits') {
    const bit = get('bit');
    if (shape.edge === 'linear' && Math.max(shape.rise, shape.fall) > bit)
      return refused('wave-timing', '', `an edge is longer than a bit of ${formatValue(bit, 's')}`);
    const repeat = flags.has('repeat') ? { repeat: true } : {};
    return { ok: true, value: { kind, bits: bits!, bit, ...common, ...negative, ...repeat } };
  }
  const width = get('width');
  const period = get('period');
  if (width >= period) return refused('wave-timing', '', 'a pulse is as long as its period or longer');
  const [first, second] = flags.has('negative') ? [shape.fall, shape.rise] : [shape.rise, shape.fall];
  if (shape.edge === 'linear' && first > width)
    return refused(
      'wave-timing',
      '',
      `the pulse’s first edge is longer than its width, ${formatValue(width, 's')}`,
    );
  if (shape.edge === 'linear' && second > period - width)
    return refused(
      'wave-timing',
      '',
      `the pulse’s second edge is longer than the gap behind it, ${formatValue(period - width, 's')}`,
    );
  const count = values.has('count') ? { count: get('count') } : {};
  return { ok: true, value: { kind, width, period, ...common, ...negative, ...count } };
}

function parsedSamples(words: readonly string[]): ParsedWave {
  const instants: number[] = [];
  const volts: number[] = [];
  let repeat = false;
  for (const word of words) {
    if (word === 'repeat') {
      repeat = true;
      continue;
    }
    const [at, value, ...rest] = word.split(':');
    if (at === undefined || value === undefined || rest.length > 0)
      return refused('wave-word', word, `“${word}” is neither SECONDS:VOLTS nor repeat`);
    const t = parseValue(at, { unit: 's' });
    if (!t.ok) return refused('wave-value', word, `instant: ${t.reason}`);
    const v = parseValue(value, { unit: 'V' });
    if (!v.ok) return refused('wave-value', word, `volts: ${v.reason}`);
    if (instants.length > 0 && t.value <= instants.at(-1)!)
      return refused('wave-timing', word, `${at} is not after the instant before it`);
    instants.push(t.value);
    volts.push(v.value);
  }
  if (instants.length < (repeat ? 2 : 1))
    return refused('wave-missing', '', `samples needs ${repeat ? 'two pairs' : 'a pair'} SECONDS:VOLTS`);
  return { ok: true, value: { kind: 'samples', instants, volts, ...(repeat ? { repeat } : {}) } };
}

/** Plain text without a unit, all digits. */
function plain(value: number): string {
  return String(value);
}

/** The text that `parseWave` reads as this wave. */
export function formatWave(wave: DriveWave | CapturedWave): string {
  if (wave.kind === 'constant') return plain(wave.volts);
  if (wave.kind === 'capture') {
    const names = [wave.file, wave.channel].map((name) => (/\s/.test(name) ? `"${name}"` : name));
    return ['capture', ...names].join(' ');
  }
  if (wave.kind === 'samples') {
    const pairs = Array.from(wave.instants, (t, i) => `${plain(t)}:${plain(wave.volts[i]!)}`);
    return ['samples', ...pairs, ...(wave.repeat ? ['repeat'] : [])].join(' ');
  }
  const words: string[] = [wave.kind];
  if (wave.kind === 'bits') words.push(wave.bits, `bit=${plain(wave.bit)}`);
  words.push(`low=${plain(wave.low)}`, `high=${plain(wave.high)}`);
  if (wave.kind === 'pulses') {
    words.push(`width=${plain(wave.width)}`, `period=${plain(wave.period)}`);
    if (wave.count !== undefined) words.push(`count=${wave.count}`);
  }
  if (wave.delay !== 0) words.push(`delay=${plain(wave.delay)}`);
  if (wave.rise === wave.fall) {
    if (wave.rise !== 0) words.push(`edge=${plain(wave.rise)}`);
  } else words.push(`rise=${plain(wave.rise)}`, `fall=${plain(wave.fall)}`);
  if (wave.edge === 'exponential') words.push('exponential');
  if (wave.negative) words.push('negative');
  if (wave.kind === 'bits' && wave.repeat) words.push('repeat');
  return words.join(' ');
}
