import type { CaptureWish, TextUnderstanding } from '../capture/index.ts';
import type { CaptureFacts, Cells } from './record-types.ts';

/** What the rows of a capture are made from. */
export interface CaptureRowsOf {
  readonly facts: Partial<CaptureFacts>;
  /** Of a text: how it was read. */
  readonly understanding: TextUnderstanding | undefined;
  /** Of a sound file. */
  readonly fullScale: CaptureWish['fullScale'];
  /** The channels by name, in the order of the file. */
  readonly names: readonly string[];
  /** The point that each was on; empty or left out for none. */
  readonly points: readonly string[];
}

/** The row in captures.csv, and those in capture-channels.csv of channels of which there is something to say. */
export function captureRows(
  file: string,
  { facts, understanding, fullScale, names, points }: CaptureRowsOf,
): { readonly capture: Cells; readonly channels: readonly Cells[] } {
  const columns = understanding?.columns.filter(({ role }) => role === 'channel') ?? [];
  const channels = channelKeys(names).map((channel, i) => {
    const { probe = 1, offset = 0 } = columns[i] ?? {};
    const volts = typeof fullScale === 'object' ? fullScale[i] : fullScale;
    const factor = understanding === undefined ? volts : probe === 1 ? undefined : probe;
    return {
      ...{ file, channel, point: points[i] ?? '' },
      factor: factor === undefined ? '' : String(factor),
      offset: offset === 0 ? '' : String(offset),
    };
  });
  return {
    capture: {
      ...{ file, ...factCells(facts) },
      understanding: understanding === undefined ? '' : JSON.stringify(understanding),
    },
    channels: channels.filter(({ point, factor, offset }) => point + factor + offset !== ''),
  };
}

/** What is said of a capture as cells; what is left out is not among them. */
export function factCells({ unit, condition, takenAt, instrument, note }: Partial<CaptureFacts>): Cells {
  const cells = { unit, condition, taken_at: takenAt, instrument, note };
  return Object.fromEntries(
    Object.entries(cells).filter((entry): entry is [string, string] => entry[1] !== undefined),
  );
}

/**
 * What channels are called in capture-channels.csv: by name, or by number from 1 where the name is empty, a number or another
 * channel's too.
 */
export function channelKeys(names: readonly string[]): string[] {
  const counts = new Map<string, number>();
  for (const name of names) counts.set(name.trim(), (counts.get(name.trim()) ?? 0) + 1);
  return names.map((name, i) => {
    const plain = name.trim();
    return plain !== '' && counts.get(plain) === 1 && !/^\d+$/.test(plain) ? plain : String(i + 1);
  });
}

/** Endings that a table's name may keep. */
const TEXT_ENDINGS = ['csv', 'tsv', 'txt', 'dat', 'asc', 'prn'];

/** The name and the ending that a file is kept under, by the name that it came with. */
export function keptName(
  file: string,
  kind: 'text' | 'wav' | 'vcd',
): readonly [base: string, ending: string] {
  const ending = /\.(\w+)$/.exec(file)?.[1]?.toLowerCase() ?? '';
  return [
    file.replace(/\.\w+$/, ''),
    kind !== 'text' ? kind : TEXT_ENDINGS.includes(ending) ? ending : 'csv',
  ];
}
