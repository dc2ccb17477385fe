import { sql } from 'kysely';
import { rowFindings } from '../machine/index.ts';
import { InputError } from './input-error.ts';
import type { Journal } from './journal.ts';
import type { Cells, Photograph, PhotographFacts, Placement } from './record-types.ts';
import { addRow, cellsOf, editSheet, sheetRows } from './sheet-store.ts';
import { query, type Store } from './store.ts';

const FOLDER = 'photographs/';

export interface NewPhotograph extends Partial<PhotographFacts> {
  readonly board: string;
  readonly side: string;
  /** PNG, JPEG or WebP, as it came; it is never changed. */
  readonly bytes: Uint8Array;
  /** The name to keep it under, without its ending; made from board and side where it is left out. */
  readonly file?: string | undefined;
}

/** The photographs that stand. */
export function photographsOf(store: Store, machine: number): Photograph[] {
  const sizes = new Map(
    store
      .all(
        query
          .selectFrom('attachments')
          .select(['path', sql<number>`length(bytes)`.as('size')])
          .where('machine', '=', machine),
      )
      .map(({ path, size }) => [path, size]),
  );
  return sheetRows(store, machine, 'photographs').map((row): Photograph => {
    const cells = cellsOf('photographs', row) as Record<'file' | 'board' | 'side' | 'unit' | 'note', string>;
    const { file, board, side, unit, note } = cells;
    const { taken_at = '', turn = '', mirrored = '' } = cells as Record<string, string>;
    return {
      ...{ id: row.id, version: row.version, file, board, side, unit, note, takenAt: taken_at },
      turn: Number(turn) || 0,
      mirrored: /^(yes|true|1)$/i.test(mirrored.trim()),
      size: sizes.get(FOLDER + file) ?? 0,
    };
  });
}

/** The picture as it was put in. @throws InputError  `no-photograph` */
export function pictureBytes(store: Store, machine: number, photograph: number): Uint8Array {
  const { file } = standing(store, machine, photograph);
  const row = store.first(
    query
      .selectFrom('attachments')
      .select('bytes')
      .where('machine', '=', machine)
      .where('path', '=', FOLDER + file),
  );
  if (row === undefined) throw new InputError('no-photograph', `the picture ${file} is not in the record`);
  return new Uint8Array(row.bytes);
}

/** @returns the row's id. @throws InputError  `not-a-picture`, or the code of a finding */
export function addPicture(
  store: Store,
  journal: Journal,
  machine: number,
  photograph: NewPhotograph,
): number {
  const { bytes, file, ...facts } = photograph;
  const ending = pictureEnding(bytes);
  if (ending === undefined)
    throw new InputError('not-a-picture', 'the picture is neither PNG, JPEG nor WebP');
  const name = freeFile(
    store,
    machine,
    FOLDER,
    file?.replace(/\.\w+$/, '') ?? `${facts.board} ${facts.side}`,
    ending,
  );
  const cells = { file: name, ...cellsOfFacts(facts) };
  refuseWrong('photographs.csv', cells);
  store.run(query.insertInto('attachments').values({ machine, path: FOLDER + name, bytes }));
  return addRow(store, journal, machine, 'photographs', cells);
}

export function changePicture(
  store: Store,
  journal: Journal,
  machine: number,
  photograph: number,
  version: number,
  facts: Partial<PhotographFacts>,
): void {
  const { file } = standing(store, machine, photograph);
  const cells = cellsOfFacts(facts);
  refuseWrong('photographs.csv', { file, board: 'any', ...cells });
  editSheet(store, journal, machine, 'photographs', [{ row: photograph, version, cells }]);
}

export function withdrawPicture(store: Store, journal: Journal, machine: number, photograph: number): void {
  standing(store, machine, photograph);
  journal.withdraw('photographs', photograph);
}

/** What a placement is of. */
export type MarkPlace = Pick<Placement, 'board' | 'side' | 'unit' | 'mark'>;

export function placementsOf(store: Store, machine: number): Placement[] {
  return sheetRows(store, machine, 'placements').flatMap((row) => {
    const { board, side, unit, mark, x, y } = cellsOf('placements', row) as Record<string, string>;
    const place = { x: Number(x), y: Number(y) };
    return Number.isFinite(place.x + place.y)
      ? [{ id: row.id, board: board!, side: side!, unit: unit!, mark: mark!, ...place }]
      : [];
  });
}

/** Puts a mark onto a side of a board, on the pictures of one unit or of all, or moves it there. */
export function placeMark(
  store: Store,
  journal: Journal,
  machine: number,
  to: Omit<Placement, 'id'>,
): number[] {
  const { board, side, unit, mark, x, y } = to;
  const cells = { x: String(x), y: String(y) };
  refuseWrong('placements.csv', { board, side: side || 'any', mark, ...cells });
  const there = markRow(store, machine, to);
  if (there === undefined)
    return [addRow(store, journal, machine, 'placements', { board, side, unit, mark, ...cells })];
  journal.update('placements', there, cells);
  return [];
}

/** @throws InputError  `no-placement` */
export function removeMark(store: Store, journal: Journal, machine: number, of: MarkPlace): void {
  const there = markRow(store, machine, of);
  if (there === undefined)
    throw new InputError('no-placement', `${of.mark} is not placed on the ${of.side} side of ${of.board}`);
  journal.withdraw('placements', there);
}

/** The files of photographs or captures that were taken away: they wait for an undo and are no part of the folder. By path. */
export function withdrawnFiles(
  store: Store,
  machine: number,
  sheet: 'photographs' | 'captures',
): Set<string> {
  const rows = store.all(
    query.selectFrom(sheet).select(['file', 'withdrawn']).where('machine', '=', machine),
  );
  const shown = new Set(rows.filter(({ withdrawn }) => withdrawn === null).map(({ file }) => file));
  return new Set(rows.filter(({ file }) => !shown.has(file)).map(({ file }) => `${sheet}/${file}`));
}

function markRow(store: Store, machine: number, { board, side, unit, mark }: MarkPlace): number | undefined {
  const row = store.first(
    query
      .selectFrom('placements')
      .select('id')
      .where('machine', '=', machine)
      .where('withdrawn', 'is', null)
      .where('board', '=', board)
      .where('side', '=', side)
      .where('unit', '=', unit)
      .where('mark', '=', mark),
  );
  return row?.id;
}

function standing(store: Store, machine: number, photograph: number): { file: string } {
  const row = store.first(
    query
      .selectFrom('photographs')
      .select('file')
      .where('machine', '=', machine)
      .where('id', '=', photograph)
      .where('withdrawn', 'is', null),
  );
  if (row === undefined) throw new InputError('no-photograph', `there is no photograph ${photograph}`);
  return row;
}

function cellsOfFacts(facts: Partial<PhotographFacts>): Cells {
  const { board, side, unit, takenAt, turn, mirrored, note } = facts;
  const cells = {
    ...{ board, side, unit, note, taken_at: takenAt },
    turn: turn === undefined ? undefined : turn === 0 ? '' : String(turn),
    mirrored: mirrored === undefined ? undefined : mirrored ? 'yes' : '',
  };
  return Object.fromEntries(
    Object.entries(cells).filter((entry): entry is [string, string] => entry[1] !== undefined),
  );
}

export function refuseWrong(file: string, cells: Cells): void {
  const wrong = rowFindings(file, cells).find(({ severity }) => severity === 'error');
  if (wrong !== undefined) throw new InputError(wrong.code, wrong.message);
}

/** The ending of a picture by its first bytes; `undefined` for anything else. */
function pictureEnding(bytes: Uint8Array): string | undefined {
  const head = String.fromCharCode(...bytes.subarray(0, 12));
  if (head.startsWith('\u0089PNG\r\n\u001a\n')) return 'png';
  if (head.startsWith('\u00ff\u00d8\u00ff')) return 'jpg';
  if (head.startsWith('RIFF') && head.slice(8) === 'WEBP') return 'webp';
  return undefined;
}

/** A name in a folder of the machine's that no file has had, on systems that see no capitals too. */
export function freeFile(
  store: Store,
  machine: number,
  folder: 'photographs/' | 'captures/',
  wanted: string,
  ending: string,
): string {
  const rows = store.all(query.selectFrom('attachments').select('path').where('machine', '=', machine));
  const captures = store.all(query.selectFrom('capture_files').select('file').where('machine', '=', machine));
  const taken = new Set(
    [...rows.map(({ path }) => path), ...captures.map(({ file }) => `captures/${file}`)].map((path) =>
      path.toLowerCase(),
    ),
  );
  return freeName(wanted, ending, folder === FOLDER ? 'picture' : 'capture', (name) =>
    taken.has((folder + name).toLowerCase()),
  );
}

/** A plain name like the one that is wanted, with a count where that is taken. */
export function freeName(
  wanted: string,
  ending: string,
  otherwise: string,
  taken: (name: string) => boolean,
): string {
  const plain = wanted.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-+|-+$/g, '');
  const base = plain.slice(0, 60) || otherwise;
  let free = `${base}.${ending}`;
  for (let n = 2; taken(free); n++) free = `${base}-${n}.${ending}`;
  return free;
}
