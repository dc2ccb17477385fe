/** Settings that an instrument writes above or beside its samples: `Sample Interval,2e-07`, `#rate=10 kHz`, `Probe,10,10`. */

import { cellKind, cellNumber, type DecimalSign, type TableRow } from './cells.ts';
import { namedUnit, type UnitWord, unitWord } from './unit-words.ts';

/** A setting: its name without marks and in small letters, and its values, one or one for each channel. */
interface Setting {
  readonly key: string;
  readonly unit: UnitWord | undefined;
  readonly values: readonly string[];
}

/** What of the settings matters to a reading of the samples. */
export interface Settings {
  /** Names of all settings that have values, which tell instruments apart; without the digits of dates and counts. */
  readonly keys: readonly string[];
  /** Seconds from one sample to the next. */
  readonly interval: number | undefined;
  /** Seconds of the first sample. */
  readonly start: number | undefined;
  readonly samples: number | undefined;
  readonly timeUnit: UnitWord | undefined;
  readonly channelUnits: readonly string[];
  readonly channelNames: readonly string[];
  readonly probes: readonly number[];
}

const INTERVAL =
  /^(sampl(e|ing) (interval|period|time)|(time |x[ -]?)?(increment|inc|interval|step)|dt|delta[ -]?t|time per sample)$/;
const RATE = /^sampl(e|ing) (rate|frequency)$/;
const START = /^((x[ -]?|time )?(start|origin|zero)|start time|t0|first sample)$/;
const SAMPLES =
  /^(record length|(number|nr|no\.?) of (data )?(points|samples)|points|samples|size|(memory|data) length)$/;
const TIME_UNIT = /^(horizontal|x|time)[ -]?units?$/;
const CHANNEL_UNIT = /^(vertical|y|channel)[ -]?units?$/;
const CHANNEL_NAME = /^(source|channel|channels|channel data|trace|signal|signals|label)$/;
const PROBE = /^(probe( att(en(uation)?)?| factor| ratio)?|attenuation)$/;

/**
 * @param heading  rows above the samples
 * @param beside   rows of samples, of which only the columns at their side are looked at
 * @param aside    whether a column is at the side, from 0
 */
export function settingsOf(
  heading: readonly TableRow[],
  beside: readonly TableRow[],
  aside: (column: number) => boolean,
  decimal: DecimalSign,
): Settings {
  const found = [
    ...heading.flatMap(({ cells }) => rowSettings(cells)),
    ...heading.flatMap((row, i) => columnSettings(row.cells, heading[i + 1]?.cells ?? [], decimal)),
    ...beside.flatMap(({ cells }) => rowSettings(cells.filter((_, column) => aside(column)))),
  ];
  const setting = (key: RegExp): Setting | undefined =>
    found.find((one) => key.test(one.key) && one.values.length > 0);
  const quantity = (key: RegExp): number | undefined => {
    const one = setting(key);
    const value = one && amount(one.values[0]!, decimal);
    return value && value.number * (value.factor ?? one.unit?.factor ?? 1);
  };
  const rate = quantity(RATE);
  const interval = quantity(INTERVAL) ?? (rate === undefined ? undefined : 1 / rate);
  const timeUnit = setting(TIME_UNIT)?.values[0];
  return {
    keys: found.flatMap(({ key, values }) => (values.length > 0 ? key.replace(/\d+/g, '#') : [])),
    interval: interval !== undefined && interval > 0 && interval < Infinity ? interval : undefined,
    start: quantity(START),
    samples: quantity(SAMPLES),
    timeUnit: timeUnit === undefined ? undefined : unitWord(timeUnit),
    channelUnits: setting(CHANNEL_UNIT)?.values ?? [],
    channelNames: setting(CHANNEL_NAME)?.values ?? [],
    probes: (setting(PROBE)?.values ?? []).flatMap((text) => amount(text, decimal)?.number ?? []),
  };
}

/** A row that holds a name and its values, or cells that each hold both. */
function rowSettings(row: readonly string[]): Setting[] {
  const cells = row.map((cell) => cell.replace(/^[#;%*\s]+/, '')).filter((cell) => cell !== '');
  const both = cells.map((cell) => /^([^=:]*\S)\s*[=:]\s*(\S.*)$/.exec(cell));
  if (both[0]) return both.flatMap((parts) => (parts ? [named(parts[1]!, [parts[2]!])] : []));
  return cells.length > 0 ? [named(cells[0]!, cells.slice(1))] : [];
}

/** A name with its value below it, away from the first column: `…,Start,Increment` over `…,-2e-3,2e-5`. */
function columnSettings(above: readonly string[], below: readonly string[], decimal: DecimalSign): Setting[] {
  return above.flatMap((cell, column) => {
    const value = below[column] ?? '';
    return column > 0 && cell !== '' && cellKind(value, decimal) === 'number' ? [named(cell, [value])] : [];
  });
}

function named(heading: string, values: readonly string[]): Setting {
  const { name, unit } = namedUnit(heading.replace(/[\s:=]+$/, ''));
  return { key: name.toLowerCase().replace(/[\s_]+/g, ' '), unit, values };
}

/** A number and, where one is written, the factor of its unit: `1us`, `10 kHz`, `1 GSa/s`, `10X`. */
function amount(
  text: string,
  decimal: DecimalSign,
): { number: number; factor: number | undefined } | undefined {
  const [, digits, unit] = /^([+-]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)$/.exec(text.trim()) ?? [];
  if (digits === undefined || unit === undefined || cellKind(digits, decimal) !== 'number') return undefined;
  const rate = /^([kMG]?)(?:Hz|S(?:a|amples)?\/s)$/i.exec(unit);
  const prefix = rate?.[1]?.toLowerCase();
  const factor = prefix === undefined ? unitWord(unit)?.factor : { k: 1e3, m: 1e6, g: 1e9 }[prefix];
  return { number: cellNumber(digits, decimal), factor: rate ? (factor ?? 1) : factor };
}
