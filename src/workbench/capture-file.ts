import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import {
  CaptureReading,
  type DecimalSign,
  firstRows,
  HEAD_BYTES,
  type Separator,
  type TableRow,
  type TextUnderstanding,
  understandingFaults,
  understoodCapture,
} from '../capture/index.ts';
import type { Finding } from '../machine/index.ts';
import { CaptureRefusal, InputError } from '../records/index.ts';
import type { LogicTrace, Trace } from '../waveform/index.ts';
import { type ChannelCorrection, corrected } from './capture-correction.ts';

/** What a person says of a file over what it is understood to be. */
export interface CaptureCorrections {
  readonly separator?: Separator | undefined;
  readonly decimal?: DecimalSign | undefined;
  /** Seconds from sample to sample, where the file has no column of times. */
  readonly interval?: number | undefined;
  /** By name, or number from 1. */
  readonly channels?: ReadonlyMap<string, ChannelCorrection> | undefined;
  /** Volts at full scale of a sound file. */
  readonly fullScale?: number | undefined;
}

export interface FileWork {
  readonly signal?: AbortSignal | undefined;
  /** Bytes read, of all there are. */
  readonly onRead?: ((done: number, total: number) => void) | undefined;
}

/** A capture in a file, read whole. */
export interface CaptureFile {
  readonly path: string;
  /** Its name without the folder. */
  readonly file: string;
  readonly kind: 'text' | 'wav' | 'vcd';
  /** Bytes. */
  readonly size: number;
  /** Of a text: how it was read. */
  readonly understanding: TextUnderstanding | undefined;
  /** What was dropped, reversed or missing. */
  readonly findings: readonly Finding[];
  /** Traces, then logic, each in the order of the file. */
  readonly channels: readonly (Trace | LogicTrace)[];
}

/** Handed to the reader at a time. */
const AT_ONCE = 1 << 20;

/**
 * Reads a capture from a file.
 *
 * @throws CaptureRefusal  with line and column, where it cannot be read
 * @throws InputError  `unreadable`, `unknown-channel`; `wrong-kind` where a correction does not go with the kind of the file
 */
export async function openCapture(
  path: string,
  corrections: CaptureCorrections = {},
  work: FileWork = {},
): Promise<CaptureFile> {
  const file = basename(path);
  const { size } = await fileStat(path);
  const reading = new CaptureReading(file, captureWish(file, corrections));
  for await (const piece of filePieces(path, size, work)) if (!reading.push(piece)) break;
  const { kind, understanding, capture, findings } = reading.end();
  if (capture === undefined || kind === 'unknown') throw new CaptureRefusal(findings);
  checkKind(file, kind, corrections);
  return { path, file, kind, size, understanding, findings, channels: [...capture.traces, ...capture.logic] };
}

/** What a file is understood to be, by its beginning. */
export interface CaptureHead {
  readonly kind: 'text' | 'wav' | 'vcd' | 'unknown';
  readonly understanding: TextUnderstanding | undefined;
  /** The first rows as they are parted into cells. */
  readonly rows: readonly TableRow[];
  /** What must be said before the file can be read, in words. */
  readonly faults: readonly string[];
  /** Why it cannot be read at all. */
  readonly findings: readonly Finding[];
}

/** @throws InputError  as `openCapture` */
export async function captureHead(path: string, corrections: CaptureCorrections = {}): Promise<CaptureHead> {
  const file = basename(path);
  await fileStat(path);
  const chunks: Uint8Array[] = [];
  for await (const chunk of createReadStream(path, { end: HEAD_BYTES - 1 })) chunks.push(chunk as Uint8Array);
  const head = new Uint8Array(Buffer.concat(chunks));
  const { kind, understanding, findings } = understoodCapture(head, file, captureWish(file, corrections));
  if (kind !== 'unknown') checkKind(file, kind, corrections);
  return {
    kind,
    understanding,
    rows: understanding === undefined ? [] : firstRows(head, understanding, ROWS_SHOWN),
    faults: understanding === undefined ? [] : understandingFaults(understanding),
    findings: understanding === undefined ? findings : [],
  };
}

const ROWS_SHOWN = 12;

export function captureWish(file: string, corrections: CaptureCorrections) {
  const { separator, decimal, interval, channels = new Map(), fullScale } = corrections;
  return {
    form: { ...(separator && { separator }), ...(decimal && { decimal }) },
    correct: (understanding: TextUnderstanding) =>
      corrected(file, interval === undefined ? understanding : { ...understanding, interval }, channels),
    fullScale,
  };
}

function checkKind(file: string, kind: CaptureFile['kind'], corrections: CaptureCorrections): void {
  const { separator, decimal, interval, channels, fullScale } = corrections;
  const ofText = separator ?? decimal ?? interval ?? (channels?.size ? channels : undefined);
  const what = { text: 'a table', wav: 'a sound file', vcd: 'one of value changes' }[kind];
  if (kind !== 'text' && ofText !== undefined) {
    const message = `${file} is ${what}: separator, decimal sign, interval, probe, offset and units are corrected in tables only`;
    throw new InputError('wrong-kind', message);
  }
  if (kind !== 'wav' && fullScale !== undefined)
    throw new InputError('wrong-kind', `${file} is ${what}: a full scale is said of sound files only`);
}

/** The bytes of a file as they are read. */
export async function* filePieces(
  path: string,
  size: number,
  { signal, onRead }: FileWork,
): AsyncGenerator<Uint8Array, void, void> {
  let done = 0;
  for await (const chunk of createReadStream(path, { highWaterMark: AT_ONCE })) {
    signal?.throwIfAborted();
    const piece = chunk as Uint8Array;
    done += piece.length;
    onRead?.(done, size);
    yield piece;
  }
}

/** @throws InputError  `unreadable` */
export async function fileStat(path: string): Promise<{ readonly size: number }> {
  const found = await stat(path).catch((error: NodeJS.ErrnoException) => {
    const why = error.code === 'ENOENT' ? 'there is no such file' : error.message;
    throw new InputError('unreadable', `cannot read ${path}: ${why}`);
  });
  if (!found.isFile()) throw new InputError('unreadable', `${path} is not an ordinary file`);
  return found;
}
