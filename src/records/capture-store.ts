import { type CaptureWish, type TextUnderstanding, understandingFrom } from '../capture/index.ts';
import type { Machine } from '../machine/index.ts';
import type { LogicTrace, Trace } from '../waveform/index.ts';
import type { TakenIn } from './capture-intake.ts';
import { captureRows, channelKeys, factCells, keptName } from './capture-rows.ts';
import { type SeriesFacts, traceOf } from './capture-series.ts';
import { InputError } from './input-error.ts';
import type { Journal } from './journal.ts';
import { type Piece, unpacked } from './packed-pieces.ts';
import { freeFile, refuseWrong } from './picture-store.ts';
import { checkNames } from './reading-store.ts';
import type {
  CaptureChannel,
  CaptureEntry,
  CaptureFacts,
  CaptureSamples,
  NewCapture,
} from './record-types.ts';
import { addRow, cellsOf, editSheet, sheetRows } from './sheet-store.ts';
import { query, type Store } from './store.ts';

const FOLDER = 'captures/';
/** Ways of reading that are remembered; the ones used longest ago go. */
const MOST_FORMS = 1000;

/** The captures that stand, the newest first; or the one of an id. */
export function capturesOf(store: Store, machine: number, id?: number): CaptureEntry[] {
  return store.read(() => {
    const rows = sheetRows(store, machine, 'captures').filter((row) => id === undefined || row.id === id);
    const files = new Map(
      store
        .all(query.selectFrom('capture_files').selectAll().where('machine', '=', machine))
        .map((file) => [file.file, file]),
    );
    const series = new Map<number, (SeriesFacts & { readonly capture: number })[]>();
    let all = query
      .selectFrom('capture_series')
      .innerJoin('capture_files', 'capture_files.id', 'capture_series.capture')
      .selectAll('capture_series')
      .where('capture_files.machine', '=', machine)
      .orderBy('channel');
    if (id !== undefined) all = all.where('capture_files.file', '=', String(rows[0]?.file));
    for (const one of store.all(all)) series.set(one.capture, [...(series.get(one.capture) ?? []), one]);
    const channels = new Map(
      sheetRows(store, machine, 'capture_channels').map((row) => {
        const { file, channel, point } = cellsOf('capture_channels', row) as Record<string, string>;
        return [`${file}\n${channel}`, point!];
      }),
    );
    const entries = rows.map((row): CaptureEntry => {
      const cells = cellsOf('captures', row) as Record<'file' | 'unit' | 'condition' | 'note', string>;
      const { file, unit, condition, note } = cells;
      const { taken_at = '', instrument = '' } = cells as Record<string, string>;
      const kept = files.get(file);
      const own = kept === undefined ? [] : (series.get(kept.id) ?? []);
      const keys = channelKeys(own.map(({ name }) => name));
      return {
        ...{ id: row.id, version: row.version, file, unit, condition, takenAt: taken_at, instrument, note },
        ...{ kind: kept?.kind ?? 'text', size: kept?.size ?? 0 },
        channels: own.map((facts, i) => {
          const point = channels.get(`${file}\n${keys[i]}`) ?? channels.get(`${file}\n${i + 1}`);
          return channelOf(facts, i, point ?? '');
        }),
      };
    });
    return entries.sort((a, b) => b.takenAt.localeCompare(a.takenAt) || b.id - a.id);
  });
}

function channelOf(facts: SeriesFacts, index: number, point: string): CaptureChannel {
  const { name, unit, kind, width, samples, first, last, step, low, high } = facts;
  return {
    ...{ index, name, unit, point, kind, width, samples },
    ...{ start: first, end: last, step, min: low, max: high },
  };
}

/** How a file is read that a person brings: what they said, else what is remembered of its instrument. */
export function rememberingWish(store: Store, { wish = {}, instrument = '' }: NewCapture): CaptureWish {
  return {
    ...wish,
    fullScale: wish.fullScale ?? keptScale(store, instrument),
    kept: (signature) => keptUnderstanding(store, signature),
  };
}

/** How texts of this signature were read last. */
export function keptUnderstanding(store: Store, signature: string): TextUnderstanding | undefined {
  return understandingFrom(keptForm(store, `text ${signature}`));
}

/** The full scale of the sound files of this instrument, channel by channel or of all. */
export function keptScale(store: Store, instrument: string): number | (number | undefined)[] | undefined {
  const form = keptForm(store, `wav ${instrument}`);
  if (typeof form === 'number') return form;
  return Array.isArray(form)
    ? form.map((one: unknown) => (typeof one === 'number' ? one : undefined))
    : undefined;
}

function keptForm(store: Store, key: string): unknown {
  const row = store.first(query.selectFrom('capture_forms').select('form').where('key', '=', key));
  return row === undefined ? undefined : JSON.parse(row.form);
}

function keepForm(store: Store, key: string, form: unknown, now: number): void {
  const row = { key, form: JSON.stringify(form), used: now };
  store.run(
    query
      .insertInto('capture_forms')
      .values(row)
      .onConflict((old) => old.column('key').doUpdateSet(row)),
  );
  const oldest = query.selectFrom('capture_forms').select('key').orderBy('used', 'desc').orderBy('key');
  store.run(query.deleteFrom('capture_forms').where('key', 'in', oldest.limit(-1).offset(MOST_FORMS)));
}

/** What of a capture is wrong by itself, before any of its bytes is read. @throws InputError  the code of a finding */
export function checkCapture(capture: Partial<CaptureFacts>, machine: Machine | undefined): void {
  refuseWrong('captures.csv', { file: 'any', ...factCells(capture) });
  if (machine !== undefined) checkNames(machine, capture);
}

/**
 * Puts a capture that was read whole into the record.
 *
 * @param now  milliseconds since 1970
 * @returns the row's id
 * @throws InputError  `unknown-channel` where there are more points than channels; `unknown-point`
 */
export function addCapture(
  store: Store,
  journal: Journal,
  machine: number,
  capture: NewCapture,
  taken: TakenIn,
  wiring: Machine | undefined,
  now: number,
): number {
  const { file: wanted, points: given = [], wish, ...facts } = capture;
  const points =
    typeof given === 'function' ? given(taken.channels.map((channel) => channel.facts.name)) : given;
  checkPoints(points, taken.channels.length, wiring);
  const file = freeFile(store, machine, FOLDER, ...keptName(wanted, taken.kind));
  keepCapture(store, machine, file, taken);
  const { understanding, kind } = taken;
  const { instrument = '' } = facts;
  const fullScale = kind === 'wav' ? (wish?.fullScale ?? keptScale(store, instrument)) : undefined;
  if (understanding !== undefined) keepForm(store, `text ${understanding.signature}`, understanding, now);
  else if (fullScale !== undefined && instrument !== '') keepForm(store, `wav ${instrument}`, fullScale, now);
  const names = taken.channels.map((channel) => channel.facts.name);
  const rows = captureRows(file, { facts, understanding, fullScale, names, points });
  for (const cells of rows.channels) addRow(store, journal, machine, 'capture_channels', cells);
  return addRow(store, journal, machine, 'captures', rows.capture);
}

function checkPoints(points: readonly string[], channels: number, machine: Machine | undefined): void {
  if (points.length > channels)
    throw new InputError('unknown-channel', `${points.length} points for ${channels} channels`);
  for (const point of points) if (machine !== undefined) checkNames(machine, { point });
}

/** The file and its channels, without a row. */
export function keepCapture(store: Store, machine: number, file: string, taken: TakenIn): void {
  const { kind, size, pieces, channels } = taken;
  const capture = store.run(query.insertInto('capture_files').values({ machine, file, kind, size }));
  const keep = (channel: number, kept: readonly Piece[]): void => {
    kept.forEach(({ packed, bytes }, part) => {
      store.run(query.insertInto('capture_pieces').values({ capture, channel, part, packed, bytes }));
    });
  };
  keep(0, pieces);
  channels.forEach(({ facts, pieces: own }, i) => {
    store.run(query.insertInto('capture_series').values({ ...facts, capture, channel: i + 1 }));
    keep(i + 1, own);
  });
}

/** What is said of a capture, and the points of its channels; the file stays as it is. @throws Conflict */
export function changeCapture(
  store: Store,
  journal: Journal,
  machine: number,
  capture: number,
  version: number | undefined,
  { points, ...facts }: Partial<CaptureFacts> & { readonly points?: readonly string[] | undefined },
  wiring: Machine | undefined,
): void {
  const entry = standing(store, machine, capture);
  const { file, channels } = entry;
  checkCapture(facts, wiring);
  // The file's name again, so that a change of points alone is one of the capture, too.
  const cells = { file, ...factCells(facts) };
  editSheet(store, journal, machine, 'captures', [
    { row: capture, version: version ?? entry.version, cells },
  ]);
  if (points === undefined) return;
  checkPoints(points, channels.length, wiring);
  const keys = channelKeys(channels.map(({ name }) => name));
  points.forEach((point, i) => {
    if (point === channels[i]!.point) return;
    const there =
      channelRow(store, machine, file, keys[i]!) ?? channelRow(store, machine, file, String(i + 1));
    if (there !== undefined) journal.update('capture_channels', there, { point });
    else addRow(store, journal, machine, 'capture_channels', { file, channel: keys[i]!, point });
  });
}

function channelRow(store: Store, machine: number, file: string, channel: string): number | undefined {
  const rows = query
    .selectFrom('capture_channels')
    .select('id')
    .where('machine', '=', machine)
    .where('withdrawn', 'is', null)
    .where('file', '=', file);
  return store.first(rows.where('channel', '=', channel))?.id;
}

/** Takes a capture away, and what is said of its channels. @throws InputError  `no-capture` */
export function withdrawCapture(store: Store, journal: Journal, machine: number, capture: number): void {
  const { file } = standing(store, machine, capture);
  journal.withdraw('captures', capture);
  const channels = query
    .selectFrom('capture_channels')
    .select('id')
    .where('machine', '=', machine)
    .where('withdrawn', 'is', null)
    .where('file', '=', file);
  for (const { id } of store.all(channels)) journal.withdraw('capture_channels', id);
}

function standing(store: Store, machine: number, capture: number): CaptureEntry {
  const [entry] = capturesOf(store, machine, capture);
  if (entry === undefined) throw new InputError('no-capture', `there is no capture ${capture}`);
  return entry;
}

/** Of a channel, counted from 0: what is known of it, and its bytes. @throws InputError  `no-capture`, `no-channel` */
export function captureSamples(
  store: Store,
  machine: number,
  capture: number,
  index: number,
): CaptureSamples {
  const { file, channels } = standing(store, machine, capture);
  const channel = channels[index];
  if (channel === undefined)
    throw new InputError('no-channel', `the capture has no channel ${index}; it has ${channels.length}`);
  const { kind, width, samples, step } = channel;
  const each = kind === 'logic' ? 8 + width : step === null ? 12 : 4;
  return { channel, size: samples * each, pieces: piecesOf(store, fileId(store, machine, file)!, index + 1) };
}

/** A channel as a whole. */
export function captureTrace(
  store: Store,
  machine: number,
  capture: number,
  index: number,
): Trace | LogicTrace {
  const { channel, size, pieces } = captureSamples(store, machine, capture, index);
  const { start: first, end: last, min: low, max: high, ...facts } = channel;
  return traceOf({ ...facts, first, last, low, high }, joined(pieces, size));
}

/** The file of a capture as the instrument wrote it; `undefined` when it is not there. */
export function captureFile(store: Store, machine: number, file: string): Uint8Array | undefined {
  const id = fileId(store, machine, file);
  if (id === undefined) return undefined;
  const { size } = store.first(query.selectFrom('capture_files').select('size').where('id', '=', id))!;
  return joined(piecesOf(store, id, 0), size);
}

/** The same, piece by piece. */
export function captureFilePieces(store: Store, machine: number, file: string): Iterable<Uint8Array> {
  const id = fileId(store, machine, file);
  return id === undefined ? [] : piecesOf(store, id, 0);
}

/** The names of the files that are there. */
export function captureFiles(store: Store, machine: number): string[] {
  const files = query.selectFrom('capture_files').select('file').where('machine', '=', machine);
  return store.all(files.orderBy('file')).map(({ file }) => file);
}

function fileId(store: Store, machine: number, file: string): number | undefined {
  const files = query.selectFrom('capture_files').select('id').where('machine', '=', machine);
  return store.first(files.where('file', '=', file))?.id;
}

/** One piece at a time, so that others may use the record between them. */
function* piecesOf(store: Store, capture: number, channel: number): Generator<Uint8Array> {
  for (let part = 0; ; part++) {
    const piece = store.first(
      query
        .selectFrom('capture_pieces')
        .select(['packed', 'bytes'])
        .where('capture', '=', capture)
        .where('channel', '=', channel)
        .where('part', '=', part),
    );
    if (piece === undefined) return;
    yield unpacked(piece);
  }
}

function joined(pieces: Iterable<Uint8Array>, size: number): Uint8Array {
  const all = new Uint8Array(size);
  let at = 0;
  for (const piece of pieces) {
    all.set(piece, at);
    at += piece.length;
  }
  return all;
}
