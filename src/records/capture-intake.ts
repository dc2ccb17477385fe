import {
  CaptureReading,
  type CaptureWish,
  columnTitle,
  type ReadCapture,
  type TextUnderstanding,
} from '../capture/index.ts';
import type { CaptureChannelRow, Finding } from '../machine/index.ts';
import { CaptureRefusal } from './capture-refusal.ts';
import { channelKeys } from './capture-rows.ts';
import { type SeriesFacts, seriesOf } from './capture-series.ts';
import { type Piece, PiecePacker } from './packed-pieces.ts';

/** The bytes of a file, in order; each is taken before the next is asked for, and may be overwritten then. */
export type ByteSource = AsyncIterable<Uint8Array> | Iterable<Uint8Array>;

/** A file that was read whole, packed to be kept. */
export interface TakenIn {
  readonly kind: 'text' | 'wav' | 'vcd';
  /** Of a text: how it was read. */
  readonly understanding: TextUnderstanding | undefined;
  /** What was dropped, reversed or missing. */
  readonly findings: readonly Finding[];
  /** Bytes of the file. */
  readonly size: number;
  readonly pieces: readonly Piece[];
  readonly channels: readonly { readonly facts: SeriesFacts; readonly pieces: readonly Piece[] }[];
}

/**
 * Reads a file and packs it, in memory only.
 *
 * @param offsets  added to the values of each channel, beyond what the wish says
 * @param onRead  told the bytes read until now
 * @throws CaptureRefusal  what it throws is all there is to undo
 */
export async function takenIn(
  file: string,
  wish: CaptureWish,
  source: ByteSource,
  { offsets = [], onRead }: { offsets?: readonly number[]; onRead?: (bytes: number) => void } = {},
): Promise<TakenIn> {
  const reading = new CaptureReading(file, wish);
  const whole = new PiecePacker();
  for await (const bytes of source) {
    if (!reading.push(bytes)) throw new CaptureRefusal(errorsOf(reading.end()));
    await whole.add(bytes);
    onRead?.(whole.size);
  }
  const read = reading.end();
  const { kind, capture, understanding, findings } = read;
  if (capture === undefined || kind === 'unknown') throw new CaptureRefusal(errorsOf(read));
  const channels = [];
  for (const [i, { facts, bytes }] of seriesOf(moved(capture, offsets)).entries()) {
    const packer = new PiecePacker();
    for (const piece of bytes) await packer.add(piece);
    channels.push({
      facts: { ...facts, name: facts.name || `channel ${i + 1}` },
      pieces: await packer.end(),
    });
  }
  return { kind, understanding, findings, size: whole.size, pieces: await whole.end(), channels };
}

function errorsOf({ findings }: ReadCapture): readonly Finding[] {
  return findings.filter(({ severity }) => severity === 'error');
}

type WholeCapture = NonNullable<ReadCapture['capture']>;

function moved(capture: WholeCapture, offsets: readonly number[]): WholeCapture {
  const traces = capture.traces.map((trace, i) => {
    const offset = offsets[i] ?? 0;
    return offset === 0 ? trace : { ...trace, values: trace.values.map((value) => value + offset) };
  });
  return { ...capture, traces };
}

/** What capture-channels.csv says of a channel, by `channelKeys`. */
export type ChannelScales = ReadonlyMap<string, Scale>;
type Scale = Pick<CaptureChannelRow, 'factor' | 'offset'>;

export function channelScales(file: string, rows: readonly CaptureChannelRow[]): ChannelScales {
  return new Map(rows.filter((row) => row.file === file).map((row) => [row.channel, row]));
}

/** A wish by which factors and offsets of channels are laid over what a file is understood to be, and offsets of a sound file. */
export function scaledWish(scales: ChannelScales): { wish: CaptureWish; offsets: readonly number[] } {
  const sounds = Array.from(
    { length: 64 },
    (_, i) => scales.get(`channel ${i + 1}`) ?? scales.get(String(i + 1)),
  );
  return {
    wish: {
      correct: (understanding) => scaled(understanding, scales),
      fullScale: sounds.map((scale) => scale?.factor),
    },
    offsets: sounds.map((scale) => scale?.offset ?? 0),
  };
}

function scaled(understanding: TextUnderstanding, scales: ChannelScales): TextUnderstanding {
  const { columns } = understanding;
  const places = columns.flatMap(({ role }, i) => (role === 'channel' ? [i] : []));
  const keys = channelKeys(places.map((i) => columnTitle(columns[i]!, i)));
  const changed = columns.map((column, i) => {
    const place = places.indexOf(i);
    const scale = scales.get(keys[place] ?? '') ?? scales.get(String(place + 1));
    if (place < 0 || scale === undefined) return column;
    return {
      ...column,
      probe: scale.factor ?? column.probe,
      offset: scale.offset ?? column.offset,
    };
  });
  return { ...understanding, columns: changed };
}
