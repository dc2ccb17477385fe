/** Records that earlier versions have written stay readable. */

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readMachine } from '../../src/machine/index.ts';
import { openRecord } from '../../src/records/index.ts';
import { MIGRATIONS } from '../../src/records/migrations/index.ts';

let place: string;
beforeEach(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(place, { recursive: true }));

/** The file as that version left it. */
function written(version: number): string {
  const path = join(place, 'record');
  const db = new Sqlite(path);
  db.exec(readFileSync(new URL(`data/record-version-${version}.sql`, import.meta.url), 'utf8'));
  db.close();
  return path;
}

const clock = () => new Date('2027-01-01T00:00:00Z');

/** Every table and index with the text that made it. */
function schema(db: Sqlite.Database): unknown[] {
  return db.prepare('SELECT name, sql FROM sqlite_master ORDER BY name').all();
}

describe('a record of version 1', () => {
  it('is read whole', async () => {
    const record = await openRecord(written(1), { clock });
    const [entry] = await record.machines();
    expect(entry).toMatchObject({ name: 'Turnstile', boards: 2, parts: 3, readings: 2 });
    const { id } = entry!;
    const files = await record.folder(id);
    const { machine, papers, findings } = readMachine(files);
    expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
    expect(machine).toMatchObject({
      ambient: 18,
      boards: [{ name: 'COUNT', caution: 'potted' }],
      conditions: [{ name: 'rest', steps: 'touch nothing' }],
      points: [
        { point: 'TENS', note: 'green lug' },
        { point: 'COUNT/J1.2' },
        { caution: 'beside the mains lugs' },
      ],
      readings: [{ value: -2.1 }, { value: -2.2 }],
      flow: [{ stage: 'decade' }],
    });
    expect(machine!.parts[0]).toMatchObject({ name: 'DRIVE/R1', value: 4700, note: 'gold, band' });
    expect(new TextDecoder().decode(files.get('parts.csv'))).toMatch(/^shelf,board[\s\S]*\nA 7,DRIVE,R1,/);
    expect((await record.head(id)).json).toMatchObject({ maker: 'unknown' });
    expect(papers).toMatchObject({
      log: [{ text: 'counts no tens' }, { text: 'counts no hundreds', replaces: '1' }],
      photographs: [{ file: 'COUNT-copper.png', turn: 90 }],
      placements: [{ mark: 'CARRY', x: 0.25 }],
    });
    expect(files.get('photographs/COUNT-copper.png')).toHaveLength(9);
    expect(await record.readings(id, { unit: 'island' })).toMatchObject([{ value: '340m', withdrawn: true }]);
    expect(await record.faultTable('a table')).toEqual(Uint8Array.of(1, 2, 3));
    await record.close();
  });

  it('is worked on, and its last changes can be taken back', async () => {
    const record = await openRecord(written(1), { clock });
    const reading = { unit: 'town', condition: 'rest', point: 'CARRY', quantity: 'V', value: '-6' };
    await record.takeReading(1, reading);
    const undone: (string | undefined)[] = [];
    for (let i = 0; i < 6; i++) undone.push((await record.undo(1))?.what);
    expect(undone).toEqual([
      'reading of town, rest, CARRY: -6',
      'place CARRY',
      'photograph of COUNT, copper',
      'log: entry 1 superseded',
      'log: symptom of island',
      'points',
    ]);
    expect((await record.sheet(1, 'points')).rows.map(({ cells }) => [cells.point, cells.note])).toEqual([
      ['TENS', ''],
      ['CARRY', ''],
    ]);
    await record.close();
  });

  it('has the schema that the first step makes: a step that is released is not changed', () => {
    const old = new Sqlite(written(1));
    const fresh = new Sqlite(':memory:');
    fresh.exec(MIGRATIONS[0]!);
    expect(schema(fresh)).toEqual(schema(old));
    old.close();
    fresh.close();
  });

  it('keeps as the unit of a placement what it had in a column of that name, which it did not know', async () => {
    const path = written(1);
    const old = new Sqlite(path);
    old.exec(`UPDATE placements SET extra = '{"unit":"town","shelf":"B"}'`);
    old.close();
    const record = await openRecord(path, { clock });
    expect((await record.placements(1)).map(({ mark, unit }) => [mark, unit])).toEqual([['CARRY', 'town']]);
    const text = new TextDecoder().decode((await record.folder(1)).get('placements.csv'));
    expect(text).toMatch(/^board,side,mark,x,y,unit(,shelf)?\n.*,town/);
    await record.close();
  });

  it('keeps as a state’s watch what it had in a column of that name, which it did not know', async () => {
    const path = written(1);
    const old = new Sqlite(path);
    old.exec(`UPDATE states SET extra = '{"watch":"5m","shelf":"B"}'`);
    old.close();
    const record = await openRecord(path, { clock });
    expect((await record.sheet(1, 'states')).rows[0]!.cells).toMatchObject({ watch: '5m', shelf: 'B' });
    await record.close();
  });

  it('gives a table that it did not know out as it came in, until there is one of today', async () => {
    const path = written(1);
    const old = new Sqlite(path);
    old
      .prepare('INSERT INTO attachments (machine, path, bytes) VALUES (1, ?, ?)')
      .run('captures.csv', Buffer.from('file\nlost.csv\n'));
    old.close();
    const record = await openRecord(path, { clock });
    const table = async () => new TextDecoder().decode((await record.folder(1)).get('captures.csv'));
    expect(await table()).toBe('file\nlost.csv\n');
    await record.addCapture(1, { file: 'a.csv' }, [new TextEncoder().encode('Time,A\ns,V\n0,1\n1,3\n2,2\n')]);
    expect(await table()).toMatch(/^file,unit,[\s\S]*\na\.csv,/);
    await record.close();
  });

  it('becomes one of today, like a new one', async () => {
    const path = written(1);
    await (await openRecord(path, { clock })).close();
    await (await openRecord(join(place, 'new'), { clock, create: true })).close();
    const [old, fresh] = [new Sqlite(path), new Sqlite(join(place, 'new'))];
    expect(old.pragma('user_version', { simple: true })).toBe(MIGRATIONS.length);
    expect(schema(old)).toEqual(schema(fresh));
    old.close();
    fresh.close();
  });
});
