import { mkdir, open, stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import Sqlite from 'better-sqlite3';
import {
  type Compilable,
  DummyDriver,
  Kysely,
  SqliteAdapter,
  SqliteIntrospector,
  SqliteQueryCompiler,
} from 'kysely';
import { InputError, systemReason } from './input-error.ts';
import { MIGRATIONS } from './migrations/index.ts';
import type { Tables } from './tables.ts';
import { flushFolder } from './whole-write.ts';

/** `Sbrd`: what `file` and the like may know a record by. */
const APPLICATION_ID = 0x53627264;
const MAGIC = 'SQLite format 3\0';
/** How long one waits for another process that is writing. */
const PATIENCE_MS = 10_000;
/** Up to here the whole file is looked through when it is opened: a fraction of a second. */
const LOOKED_THROUGH = 64 * 1024 * 1024;

/** Builds queries; what it builds is run by `Store`, at once, so that a transaction is never entered by another. */
export const query = new Kysely<Tables>({
  dialect: {
    createAdapter: () => new SqliteAdapter(),
    createDriver: () => new DummyDriver(),
    createIntrospector: (db) => new SqliteIntrospector(db),
    createQueryCompiler: () => new SqliteQueryCompiler(),
  },
});

/** An open record file: queries, and transactions that are on the disk when they return. */
export class Store {
  readonly path: string;
  readonly db: Sqlite.Database;
  readonly #statements = new Map<string, Sqlite.Statement>();

  constructor(path: string, db: Sqlite.Database) {
    this.path = path;
    this.db = db;
  }

  all<R>(wanted: Compilable<R>): R[] {
    const { sql, parameters } = wanted.compile();
    return this.guarded(() => this.#statement(sql).all(...parameters)) as R[];
  }

  first<R>(wanted: Compilable<R>): R | undefined {
    const { sql, parameters } = wanted.compile();
    return this.guarded(() => this.#statement(sql).get(...parameters)) as R | undefined;
  }

  /** @returns the id of the row that was added last */
  run(change: Compilable): number {
    const { sql, parameters } = change.compile();
    return this.guarded(() => Number(this.#statement(sql).run(...parameters).lastInsertRowid));
  }

  /**
   * Does `work` as one transaction: all of it is on the disk when this returns, or nothing is done.
   *
   * @throws InputError  `disk-full`, `read-only`, `record-busy`, `damaged`, `disk-error`
   */
  write<R>(work: () => R): R {
    return this.guarded(() => this.db.transaction(work).immediate());
  }

  /** Several reads of one moment. */
  read<R>(work: () => R): R {
    return this.guarded(() => this.db.transaction(work).deferred());
  }

  guarded<R>(work: () => R): R {
    try {
      return work();
    } catch (error) {
      throw explained(error, this.path);
    }
  }

  close(): void {
    this.db.close();
  }

  #statement(sql: string): Sqlite.Statement {
    const known = this.#statements.get(sql);
    if (known !== undefined) return known;
    const statement = this.db.prepare(sql);
    this.#statements.set(sql, statement);
    return statement;
  }
}

/** What the database says, in words; anything else as it is. */
export function explained(error: unknown, path: string): unknown {
  if (!(error instanceof Sqlite.SqliteError)) return error;
  for (const [code, name, words] of REASONS) {
    if (error.code.startsWith(code)) return new InputError(name, `${path}: ${words}`);
  }
  return error;
}

const REASONS: readonly (readonly [string, string, string])[] = [
  ['SQLITE_FULL', 'disk-full', 'the disk is full; nothing was changed. Make room and do it again'],
  [
    'SQLITE_READONLY',
    'read-only',
    'the record cannot be written to; nothing was changed. Look at the rights of the file and of its folder, or copy it to a disk that can be written to',
  ],
  [
    'SQLITE_CANTOPEN',
    'read-only',
    'the record cannot be opened for writing; nothing was changed. Look at the rights of the file and of its folder',
  ],
  [
    'SQLITE_BUSY',
    'record-busy',
    'another program has been writing to the record for too long; nothing was changed. Try again',
  ],
  ['SQLITE_LOCKED', 'record-busy', 'another program holds the record; nothing was changed. Try again'],
  [
    'SQLITE_CORRUPT',
    'damaged',
    'the record is damaged; it was left as it is. Restore a backup, and keep the damaged file until that is done',
  ],
  [
    'SQLITE_NOTADB',
    'not-a-record',
    'this is not a record of Sisterboard, or a damaged one; it was left as it is',
  ],
  ['SQLITE_IOERR', 'disk-error', 'the disk reports an error; nothing was changed'],
];

/**
 * Opens a record file, made anew when `create` is set and there is none, and brought up to the present version.
 *
 * @throws InputError  `no-record`, `not-a-record`, `newer-record`, `damaged`, `read-only`, `no-folder`, `disk-full`, `record-busy`
 */
export async function openStore(path: string, create: boolean): Promise<Store> {
  const there = await stat(path).catch((error: NodeJS.ErrnoException) => {
    if (error.code !== 'ENOENT' && error.code !== 'ENOTDIR')
      throw new InputError('no-record', `cannot open the record ${path}: ${systemReason(error)}`);
    return undefined;
  });
  if (there === undefined && !create) throw new InputError('no-record', `there is no record ${path}`);
  if (there?.isDirectory())
    throw new InputError('no-record', `${path} is a folder; a record is a file, such as record.sisterboard`);
  if (there !== undefined && !there.isFile())
    throw new InputError('no-record', `${path} is not an ordinary file`);
  if (there === undefined || there.size === 0) {
    if (!create)
      throw new InputError('not-a-record', `${path} is empty: this is not a record of Sisterboard`);
    const folder = dirname(resolve(path));
    await mkdir(folder, { recursive: true }).catch((error: unknown) => {
      throw new InputError('no-folder', `cannot make the folder ${folder}: ${systemReason(error)}`);
    });
  } else {
    await inspect(path, there.size);
  }
  try {
    const db = new Sqlite(path, { timeout: PATIENCE_MS });
    try {
      prepare(db, path);
      if (there === undefined) await flushFolder(dirname(resolve(path)));
      return new Store(path, db);
    } catch (error) {
      db.close();
      throw error;
    }
  } catch (error) {
    throw explained(error, path);
  }
}

/** Looks at a file without writing to it, and throws when it is not a record that can be worked with. */
export async function inspect(path: string, size: number): Promise<void> {
  const file = await open(path).catch((error: unknown) => {
    throw new InputError('no-record', `cannot open the record ${path}: ${systemReason(error)}`);
  });
  try {
    const head = new Uint8Array(MAGIC.length);
    await file.read(head, 0, head.length, 0);
    if (new TextDecoder().decode(head) !== MAGIC) throw notARecord(path);
  } finally {
    await file.close();
  }
  let db: Sqlite.Database | undefined;
  try {
    db = new Sqlite(path, { readonly: true, timeout: PATIENCE_MS });
    checkVersion(db, path);
    if (size <= LOOKED_THROUGH) {
      const found = db.pragma('quick_check(1)', { simple: true });
      if (found !== 'ok') throw damaged(path, String(found));
    }
  } catch (error) {
    throw explained(error, path);
  } finally {
    db?.close();
  }
}

/** @returns the version; 0 for a file in which nothing is yet */
function checkVersion(db: Sqlite.Database, path: string): number {
  const version = Number(db.pragma('user_version', { simple: true }));
  const mark = Number(db.pragma('application_id', { simple: true }));
  if (mark !== APPLICATION_ID) {
    const { objects } = db.prepare('SELECT count(*) AS objects FROM sqlite_master').get() as {
      objects: number;
    };
    if (mark !== 0 || version !== 0 || objects > 0) throw notARecord(path);
  }
  if (version > MIGRATIONS.length) {
    throw new InputError(
      'newer-record',
      `${path} was written by a newer Sisterboard (its version is ${version}, this one reads up to ${MIGRATIONS.length}); it was left as it is. Get the newer program`,
    );
  }
  return version;
}

function notARecord(path: string): InputError {
  return new InputError(
    'not-a-record',
    `${path} is not a record of Sisterboard, or a damaged one; it was left as it is`,
  );
}

function damaged(path: string, found: string): InputError {
  return new InputError(
    'damaged',
    `${path}: the record is damaged (${found.split('\n')[0]}); it was left as it is. Restore a backup, and keep the damaged file until that is done`,
  );
}

function prepare(db: Sqlite.Database, path: string): void {
  db.pragma('foreign_keys = ON');
  db.pragma('journal_mode = WAL');
  // In this journal mode the library would confirm before the disk has it.
  db.pragma('synchronous = FULL');
  if (checkVersion(db, path) === MIGRATIONS.length) return;
  db.transaction(() => {
    // Another process may have done it while this one waited.
    const version = checkVersion(db, path);
    for (const step of MIGRATIONS.slice(version)) db.exec(step);
    db.pragma(`application_id = ${APPLICATION_ID}`);
    db.pragma(`user_version = ${MIGRATIONS.length}`);
  }).immediate();
}

/** Throws `damaged` unless every page, index and reference of the file is in order. */
export function checkWhole(db: Sqlite.Database, path: string): void {
  try {
    const found = db.pragma('integrity_check(1)', { simple: true });
    if (found !== 'ok') throw damaged(path, String(found));
    const astray = db.pragma('foreign_key_check') as unknown[];
    if (astray.length > 0) throw damaged(path, `${astray.length} rows belong to nothing`);
  } catch (error) {
    throw explained(error, path);
  }
}
