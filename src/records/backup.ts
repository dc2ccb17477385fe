import { existsSync } from 'node:fs';
import { mkdir, open, rename, rm, stat } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import Sqlite from 'better-sqlite3';
import { InputError, systemReason } from './input-error.ts';
import { checkWhole, explained, inspect } from './store.ts';
import { besides, flushFolder } from './whole-write.ts';

/** Pages copied at a time; between them the program breathes. */
const PAGES = 1000;

/**
 * Copies a record as it is at this moment into a new file, and reads the copy back: every page, and as many rows in every table.
 * Others may go on writing to the record meanwhile.
 *
 * @returns the size of the copy
 * @throws InputError  `there-already`, `unwritable`, `damaged`, `disk-full`
 */
export async function backupRecord(from: string, to: string): Promise<{ readonly bytes: number }> {
  const target = resolve(to);
  if (existsSync(target))
    throw new InputError('there-already', `${to} is there already; name a file that is not there yet`);
  await mkdir(dirname(target), { recursive: true }).catch((error: unknown) => {
    throw new InputError('unwritable', `cannot make the folder ${dirname(target)}: ${systemReason(error)}`);
  });
  const fresh = besides(target);
  try {
    await copyChecked(from, fresh);
    await rename(fresh, target);
    await flushFolder(dirname(target));
    return { bytes: (await stat(target)).size };
  } catch (error) {
    await Promise.all(['', '-wal', '-shm', '-journal'].map((end) => rm(fresh + end, { force: true })));
    const known = explained(error, to);
    if (known !== error || error instanceof InputError) throw known;
    if ((error as NodeJS.ErrnoException).code === undefined) throw error;
    throw new InputError('unwritable', `cannot write ${to}: ${systemReason(error)}`);
  }
}

/** A copy of one moment, in one file, flushed to the disk. */
async function copyChecked(from: string, fresh: string): Promise<void> {
  const source = new Sqlite(from, { readonly: true });
  try {
    // An open read holds the moment, so that what is counted is what is copied.
    source.exec('BEGIN');
    const counts = rowCounts(source);
    await source.backup(fresh, { progress: () => PAGES });
    source.exec('COMMIT');
    const copy = new Sqlite(fresh);
    try {
      copy.pragma('journal_mode = DELETE');
      checkWhole(copy, fresh);
      const copied = rowCounts(copy);
      if (copied !== counts)
        throw new InputError('damaged', `the copy is not whole: ${copied} rows where there are ${counts}`);
    } finally {
      copy.close();
    }
  } finally {
    source.close();
  }
  const file = await open(fresh, 'r+');
  try {
    await file.sync();
  } finally {
    await file.close();
  }
}

/** `changes 12, machines 2, …` */
function rowCounts(db: Sqlite.Database): string {
  const tables = db.prepare("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").pluck();
  return (tables.all() as string[])
    .map((table) => `${table} ${db.prepare(`SELECT count(*) FROM "${table}"`).pluck().get()}`)
    .join(', ');
}

/** See restore-record.ts. */
export async function restoreRecord(
  from: string,
  to: string,
  clock: () => Date,
): Promise<{ readonly kept?: string }> {
  const there = await stat(from).catch((error: unknown) => {
    throw new InputError('no-record', `cannot open the backup ${from}: ${systemReason(error)}`);
  });
  if (!there.isFile()) throw new InputError('no-record', `${from} is not a file`);
  await inspect(from, there.size);
  const source = new Sqlite(from, { readonly: true });
  try {
    checkWhole(source, from);
    if (!existsSync(to)) {
      await backupRecord(from, to);
      return {};
    }
    const kept = `${to}.before-${clock().toISOString().slice(0, 19).replaceAll(':', '-')}`;
    if (await isRecord(to)) {
      await backupRecord(to, kept);
      // Through the store's own locks: one write, whole or not at all.
      await source.backup(to, { progress: () => 0x7fffffff });
      return { kept };
    }
    for (const end of ['', '-wal', '-shm']) if (existsSync(to + end)) await rename(to + end, kept + end);
    await backupRecord(from, to);
    return { kept };
  } catch (error) {
    throw explained(error, to);
  } finally {
    source.close();
  }
}

/** Whether a file is a record that can be read, or a damaged or foreign one that is only put aside. */
async function isRecord(path: string): Promise<boolean> {
  try {
    await inspect(path, (await stat(path)).size);
    return true;
  } catch (error) {
    if (error instanceof InputError && ['not-a-record', 'damaged'].includes(error.code)) return false;
    throw error;
  }
}
