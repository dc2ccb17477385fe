/** What the heading of a table calls its columns, and what they are for. */

import type { TableRow } from './cells.ts';
import { isFilled } from './layout.ts';
import type { Settings } from './settings.ts';
import type { CaptureColumn } from './understanding.ts';
import { namedUnit, type UnitWord, unitWord } from './unit-words.ts';

const TIME =
  /^(time|time ?stamp|times|zeit|temps|tiempo|tempo|tijd|tid|t|x|x[- ]?axis|seconds?|sec|time axis)$/i;
const SEQUENCE =
  /^(#|no\.?|nr\.?|n|i|index|points?|samples?( (no\.?|nr\.?|number|index))?|seq(uence)?|row)$/i;
const VOLTAGE = /^(v|volts?|voltage|spannung|tension)$/i;
/** Names that any channel may bear. */
const GENERIC = /^(values?|ampl(itude)?|level|y|(waveform )?data|waveform|samples?)$/i;

/** Numbers, and blanks, that a heading row may hold without being one of names. */
const NUMBER = /^[+-]?[\d.,]+([eE][+-]?\d+)?$/;

export function headings(
  heading: readonly TableRow[],
  settings: Settings,
  numeric: readonly number[],
  values: ReadonlyMap<number, readonly number[]>,
  width: number,
): { columns: CaptureColumn[]; named: string[] } {
  const { names, units } = namesAndUnits(heading, numeric);
  const anyVolts = heading.some(({ cells }) => cells.some((cell) => /volt/i.test(cell)));
  const inNames = numeric.map((column) => namedUnit(names[column] ?? ''));
  const roles = rolesOf(numeric, inNames, units, values);
  const channels = numeric.filter((_, k) => roles[k] === 'channel');
  const better = distinctNames(heading, channels, inNames, numeric, settings);
  const columns = Array.from({ length: width }, (_, column): CaptureColumn => {
    const plain = { factor: 1, probe: 1, offset: 0 };
    const k = numeric.indexOf(column);
    if (k < 0) return { role: 'skip', name: names[column] ?? '', unit: '', ...plain };
    const role = roles[k]!;
    const c = channels.indexOf(column);
    const own = unitWord(units[column] ?? '') ?? inNames[k]!.unit;
    const stated = own ?? (role === 'time' ? settings.timeUnit : channelUnit(settings, c, channels.length));
    const guessed = VOLTAGE.test(inNames[k]!.name) || (anyVolts && stated === undefined) ? 'V' : '';
    const unit = role === 'channel' ? (stated?.unit ?? guessed) : (stated?.unit ?? '');
    const factor = stated?.factor ?? 1;
    return { role, name: better[c] ?? inNames[k]!.name, unit, ...plain, factor };
  });
  const named = numeric.flatMap((column) => [names[column] ?? '', units[column] ?? '']);
  return { columns, named: named.map((text) => (NUMBER.test(text) ? '' : text)) };
}

/** The row of units is the last that holds nothing else in the columns of numbers; the row of names is the last before it. */
function namesAndUnits(
  heading: readonly TableRow[],
  numeric: readonly number[],
): { names: readonly string[]; units: readonly string[] } {
  const rows = heading
    .filter(isFilled)
    .map(({ cells }) => cells.map((cell, i) => (i === 0 ? cell.replace(/^[#;%]+\s*/, '') : cell)));
  const last = rows.at(-1) ?? [];
  const inColumns = (cells: readonly string[]) => numeric.map((column) => cells[column] ?? '');
  const words = inColumns(last).filter((cell) => cell !== '');
  const isUnits =
    words.length > 0 && words.every((cell) => unitWord(cell) !== undefined || /^sequence$/i.test(cell));
  const names = isUnits ? (rows.at(-2) ?? []) : last;
  const texts = inColumns(names).filter((cell) => cell !== '');
  // A setting stands in the first column with its value beside it; a row of names fills its columns.
  const isNames = isUnits || (texts.length * 2 >= numeric.length && texts.some((text) => !NUMBER.test(text)));
  const setting = !isUnits && NUMBER.test(names.filter((cell) => cell !== '')[1] ?? '');
  return {
    names: isNames && !setting && !/[=:]\s*\S/.test(texts[0] ?? '') ? names : [],
    units: isUnits ? last : [],
  };
}

function rolesOf(
  numeric: readonly number[],
  named: readonly { name: string; unit: UnitWord | undefined }[],
  units: readonly string[],
  values: ReadonlyMap<number, readonly number[]>,
): CaptureColumn['role'][] {
  const unit = (k: number) => unitWord(units[numeric[k]!] ?? '') ?? named[k]!.unit;
  const whole = (k: number) => countsUp(values.get(numeric[k]!)!);
  const counted = numeric.map(
    (column, k) =>
      whole(k) &&
      (/^sequence$/i.test(units[column] ?? '') || (unit(k) === undefined && SEQUENCE.test(named[k]!.name))),
  );
  let time = numeric.findIndex((_, k) => !counted[k] && unit(k)?.unit === 's');
  if (time < 0) time = numeric.findIndex((_, k) => !counted[k] && TIME.test(named[k]!.name));
  const nameless = numeric.every((_, k) => named[k]!.name === '');
  const rises = numeric.length > 1 && monotonic(values.get(numeric[0]!)!);
  if (time < 0 && nameless && rises && whole(0)) counted[0] = true;
  else if (time < 0 && rises && !counted.includes(true) && !VOLTAGE.test(named[0]!.name)) time = 0;
  return numeric.map((_, k) => {
    if (k === time) return 'time';
    if (time >= 0 && unit(k)?.unit === 's') return 'skip';
    if (counted[k]) return time < 0 && counted.indexOf(true) === k ? 'sequence' : 'skip';
    return 'channel';
  });
}

/** Whole numbers that rise by one from 0 or 1. */
function countsUp(numbers: readonly number[]): boolean {
  const first = numbers[0]!;
  return (first === 0 || first === 1) && numbers.every((value, i) => value === first + i);
}

/** Rising or falling throughout, but for repeated values. */
function monotonic(numbers: readonly number[]): boolean {
  const steps = numbers.slice(1).map((value, i) => value - numbers[i]!);
  const sign = Math.sign(numbers.at(-1)! - numbers[0]!);
  return sign !== 0 && steps.every((step) => step * sign >= 0);
}

/** A name for each channel where the row of names does not part them: from a row above, or from the settings. */
function distinctNames(
  heading: readonly TableRow[],
  channels: readonly number[],
  inNames: readonly { name: string }[],
  numeric: readonly number[],
  settings: Settings,
): readonly (string | undefined)[] {
  const own = channels.map((column) => inNames[numeric.indexOf(column)]!.name);
  const parts = (names: readonly string[]) =>
    names.every((name) => name !== '' && !VOLTAGE.test(name) && !GENERIC.test(name)) &&
    new Set(names).size === names.length;
  if (parts(own)) return own;
  if (channels.length > 1) {
    const above = heading
      .map(({ cells }) => channels.map((column) => cells[column] ?? ''))
      .find((names) => parts(names) && !names.some((name) => NUMBER.test(name) || unitWord(name)));
    if (above) return above;
  }
  return settings.channelNames.length === channels.length && parts(settings.channelNames)
    ? settings.channelNames
    : own;
}

/** The unit that the settings state for a channel by its place among them (-1 for none), one for all or one for each. */
function channelUnit(settings: Settings, channel: number, channels: number): UnitWord | undefined {
  if (channel < 0) return undefined;
  const units = settings.channelUnits;
  const text = units.length === channels ? units[channel] : units.length === 1 ? units[0] : undefined;
  return text === undefined ? undefined : unitWord(text);
}
