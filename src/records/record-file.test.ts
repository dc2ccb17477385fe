/** The file of the record when something is wrong with it: a clear message, and the file as it was. */

import { copyFileSync, existsSync, mkdirSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { folderFiles } from './folder-files.ts';
import { openRecord } from './open-record.ts';
import { restoreRecord } from './restore-record.ts';
import { openStore } from './store.ts';
import { clock, DEMO, freshPlace, type Place, TURNSTILE } from './test-record.ts';
import { WorkshopRecord } from './workshop-record.ts';

let place: Place;
beforeEach(() => {
  place = freshPlace();
});
afterEach(() => place.end());

/** A closed record with the demo machine. */
async function demoFile(): Promise<string> {
  const record = await openRecord(place.file, { clock, create: true });
  await record.importFolder(await folderFiles(DEMO));
  await record.close();
  return place.file;
}

async function refused(file: string, code: string, message: RegExp): Promise<void> {
  const before = existsSync(file) ? readFileSync(file) : undefined;
  const opened = openRecord(file, { clock, create: code !== 'no-record' });
  await expect(opened).rejects.toMatchObject({ name: 'InputError', code });
  await expect(opened).rejects.toThrow(message);
  if (before !== undefined) expect(readFileSync(file).equals(before)).toBe(true);
}

describe('a record file', () => {
  it('that is not there is said to be missing, and not made unasked', async () => {
    await refused(place.file, 'no-record', /there is no record .*record\.sisterboard/);
    expect(existsSync(place.file)).toBe(false);
  });

  it('is made with the folders above it when it is asked for', async () => {
    const record = await openRecord(join(place.folder, 'a', 'b', 'record'), { clock, create: true });
    expect(await record.machines()).toEqual([]);
    await record.close();
  });

  it('that was made but not finished is finished', async () => {
    new Sqlite(place.file).pragma('journal_mode = WAL');
    const record = await place.open();
    expect(await record.machines()).toEqual([]);
  });

  it('from a newer version is left alone', async () => {
    const file = await demoFile();
    const db = new Sqlite(file);
    db.pragma('user_version = 99');
    db.close();
    await refused(file, 'newer-record', /written by a newer Sisterboard \(its version is 99/);
  });

  it.each([
    ['a text', 'this is no record, but a text that is longer than a header of SQLite would be'],
    ['a short text', 'x'],
  ])('that is %s is refused', async (_, text) => {
    writeFileSync(place.file, text);
    await refused(place.file, 'not-a-record', /not a record of Sisterboard/);
  });

  it('that is another program’s is refused', async () => {
    const db = new Sqlite(place.file);
    db.exec('CREATE TABLE songs (title TEXT)');
    db.close();
    await refused(place.file, 'not-a-record', /not a record of Sisterboard/);
  });

  it('that is a folder is refused', async () => {
    await expect(openRecord(place.folder, { clock, create: true })).rejects.toMatchObject({
      code: 'no-record',
    });
  });

  it('in a place where no folder can be made is refused', async () => {
    writeFileSync(join(place.folder, 'file'), '');
    const inFile = openRecord(join(place.folder, 'file', 'deep', 'record'), { clock, create: true });
    await expect(inFile).rejects.toMatchObject({ code: 'no-folder' });
  });

  it('that was cut short is refused', async () => {
    const file = await demoFile();
    truncateSync(file, Math.floor(readFileSync(file).length / 2 / 4096) * 4096);
    await refused(file, 'damaged', /the record is damaged.*Restore a backup/);
    truncateSync(file, 4096 + 77);
    await refused(file, 'damaged', /the record is damaged/);
  });

  it('with a page overwritten deep inside is refused when it is opened, not when somebody comes upon it', async () => {
    const file = await demoFile();
    const bytes = readFileSync(file);
    const page = bytes.length - 3 * 4096;
    writeFileSync(file, bytes.fill(0xff, page, page + 64));
    await refused(file, 'damaged', /the record is damaged/);
  });

  it('with bytes overwritten anywhere is refused or read, and is never changed', async () => {
    const file = await demoFile();
    const sound = readFileSync(file);
    const copy = join(place.folder, 'copy');
    let refusals = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.nat(sound.length - 1),
        fc.uint8Array({ minLength: 1, maxLength: 512 }),
        async (at, put) => {
          for (const end of ['-wal', '-shm']) writeFileSync(copy + end, '');
          const bytes = Buffer.from(sound);
          bytes.set(put.subarray(0, bytes.length - at), at);
          writeFileSync(copy, bytes);
          const opened = await openRecord(copy, { clock }).catch((error: unknown) => error as Error);
          if (opened instanceof WorkshopRecord) await opened.close();
          else {
            refusals++;
            expect(opened.name).toBe('InputError');
            expect(readFileSync(copy).equals(bytes)).toBe(true);
          }
        },
      ),
      { numRuns: 40 },
    );
    expect(refusals).toBeGreaterThan(0);
  });

  it('that is damaged while it is open says so', async () => {
    const file = await demoFile();
    const store = await openStore(file, false);
    const record = new WorkshopRecord(store, clock);
    const bytes = readFileSync(file);
    writeFileSync(file, bytes.fill(0xaa, 4096));
    await expect(record.importFolder(await folderFiles(DEMO))).rejects.toMatchObject({ code: 'damaged' });
    await record.close();
  });

  it('on a full disk takes nothing and loses nothing, and goes on when there is room', async () => {
    const store = await openStore(await demoFile(), false);
    const record = new WorkshopRecord(store, clock);
    const [machine] = await record.machines();
    const pages = Number(store.db.pragma('page_count', { simple: true }));
    store.db.pragma(`max_page_count = ${pages + 4}`);
    const second = record.importFolder(await folderFiles(DEMO));
    await expect(second).rejects.toMatchObject({
      code: 'disk-full',
      message: expect.stringMatching(/the disk is full/),
    });
    expect(await record.machines()).toEqual([machine]);
    expect(await record.changes(2)).toEqual([]);
    store.db.pragma('max_page_count = 1000000');
    expect((await record.importFolder(await folderFiles(DEMO))).id).toBe(2);
    await record.close();
  });

  it('that cannot be written to says so and is as it was', async () => {
    const file = await demoFile();
    // As the system opens it where the file is read-only; a test that runs as root is allowed to write everywhere.
    const before = readFileSync(file);
    const { Store } = await import('./store.ts');
    const record = new WorkshopRecord(new Store(file, new Sqlite(file, { readonly: true })), clock);
    const refusedWrite = record.removeMachine(1);
    await expect(refusedWrite).rejects.toMatchObject({ code: 'read-only' });
    await expect(refusedWrite).rejects.toThrow(/cannot be written to; nothing was changed/);
    expect(await record.machines()).toHaveLength(1);
    await record.close();
    expect(readFileSync(file).equals(before)).toBe(true);
  });
});

describe('a restored record', () => {
  it('is that of the backup, in a new place', async () => {
    const record = await place.open();
    const { id } = await record.createMachine(TURNSTILE);
    const copy = join(place.folder, 'copy');
    await record.backup(copy);
    expect(await restoreRecord(copy, join(place.folder, 'new'), clock)).toEqual({});
    const restored = await openRecord(join(place.folder, 'new'), { clock });
    expect(await restored.folder(id)).toEqual(await record.folder(id));
    await restored.close();
  });

  it('takes the place of one that is open, which goes on with it; what stood there is kept', async () => {
    const record = await place.open();
    const { id } = await record.createMachine(TURNSTILE);
    const copy = join(place.folder, 'copy');
    await record.backup(copy);
    await record.addLogEntry(id, { unit: 'town', kind: 'note', text: 'after the backup' });
    await record.createMachine(TURNSTILE);
    const heard = new Promise<readonly number[]>((resolve) => {
      record.onChange((machines) => resolve(machines.map((one) => one.id)));
    });
    const { kept } = await restoreRecord(copy, place.file, clock);
    expect(kept).toBe(`${place.file}.before-2026-10-03T09-00-00`);
    expect(await heard).toEqual([id]);
    expect(await record.machines()).toHaveLength(1);
    expect(await record.log(id)).toEqual([]);
    await record.addLogEntry(id, { unit: 'town', kind: 'note', text: 'goes on' });
    const earlier = await openRecord(kept!, { clock });
    expect(await earlier.machines()).toHaveLength(2);
    await earlier.close();
  });

  it('takes the place of a damaged one, which is kept', async () => {
    const file = await demoFile();
    const copy = join(place.folder, 'copy');
    const record = await openRecord(file, { clock });
    await record.backup(copy);
    await record.close();
    truncateSync(file, 8192);
    const damaged = readFileSync(file);
    const { kept } = await restoreRecord(copy, file, clock);
    expect(readFileSync(kept!).equals(damaged)).toBe(true);
    const restored = await openRecord(file, { clock });
    expect(await restored.machines()).toHaveLength(1);
    await restored.close();
  });

  it.each([
    ['is not there', 'no-record', () => {}],
    ['is a text', 'not-a-record', (copy: string) => writeFileSync(copy, 'this is a text and not a backup')],
    ['was cut short', 'damaged', (copy: string) => truncateSync(copy, 8192)],
    ['is a folder', 'no-record', (copy: string) => mkdirSync(`${copy}.d`)],
  ])('is the one that was there when the backup %s', async (what, code, spoil) => {
    const file = await demoFile();
    const copy = join(place.folder, 'copy');
    if (what !== 'is not there') copyFileSync(file, copy);
    spoil(copy);
    const before = readFileSync(file);
    const from = what === 'is a folder' ? `${copy}.d` : copy;
    await expect(restoreRecord(from, file, clock)).rejects.toMatchObject({ code });
    expect(readFileSync(file).equals(before)).toBe(true);
  });
});

describe('kept fault tables', () => {
  it('are dropped when they grow beyond the size, the least recently used first', async () => {
    const { keepTable, keptTable } = await import('./fault-table-store.ts');
    const store = await openStore(place.file, true);
    const minute = 60_000;
    const keep = (key: string, now: number) => keepTable(store, key, new Uint8Array(40), now, 100);
    keep('a', 0);
    keep('b', minute);
    expect(keptTable(store, 'a', 5 * minute)).toHaveLength(40);
    keep('c', 6 * minute);
    expect(['a', 'b', 'c'].map((key) => keptTable(store, key, 7 * minute)?.length)).toEqual([
      40,
      undefined,
      40,
    ]);
    // One that is larger than all may be is kept all the same: it is the one that is worked with.
    keepTable(store, 'd', new Uint8Array(1000), 8 * minute, 100);
    expect(['a', 'c', 'd'].map((key) => keptTable(store, key, 9 * minute)?.length)).toEqual([
      undefined,
      undefined,
      1000,
    ]);
    store.close();
  });
});
