import { join } from 'node:path';
import Sqlite from 'better-sqlite3';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { boardsOf, readMachine } from '../machine/index.ts';
import { folderFiles } from './folder-files.ts';
import { Conflict } from './record-types.ts';
import { clock, DEMO, freshPlace, type Place, TURNSTILE } from './test-record.ts';
import type { WorkshopRecord } from './workshop-record.ts';

const STEP = { board: 'COUNT', side: 'copper', unit: '', mark: 'STEP' };
let place: Place;
let record: WorkshopRecord;
beforeEach(async () => {
  place = freshPlace();
  record = await place.open();
});
afterEach(() => place.end());

const READING = { unit: 'town', condition: 'rest', point: 'STEP', quantity: 'V', value: '-6.1' };
const turnstile = async (): Promise<number> => (await record.createMachine(TURNSTILE)).id;

describe('a machine in the record', () => {
  it('is listed with what there is of it', async () => {
    const { id } = await record.importFolder(await folderFiles(DEMO));
    const machine = readMachine(await folderFiles(DEMO)).machine!;
    expect(await record.machines()).toMatchObject([
      {
        ...{ id, name: machine.name, summary: machine.summary, units: machine.units },
        ...{
          boards: boardsOf(machine).length,
          parts: machine.parts.length,
          readings: machine.readings.length,
        },
        changedAt: clock().toISOString(),
      },
    ]);
  });

  it('made from nothing has boards, pins, points and states, and nothing wrong or doubtful', async () => {
    const id = await turnstile();
    const { machine, findings } = readMachine(await record.folder(id));
    expect(findings).toEqual([]);
    expect(machine).toMatchObject({
      name: 'Turnstile',
      boards: [{ name: 'COUNT', caution: 'potted' }, { name: 'DRIVE' }],
      conditions: [{ name: 'rest', steps: 'touch nothing' }],
      flow: [{ board: 'COUNT', stage: 'board', inputs: [], outputs: ['CARRY'] }],
      points: [{ point: 'STEP' }, { point: 'CARRY', caution: 'next to the mains lugs' }, { point: 'TENS' }],
    });
    expect(machine!.parts[1]).toMatchObject({
      name: 'DRIVE/J1',
      pins: [{}, {}, { pin: '7', net: 'CARRY' }, {}],
    });
    expect(machine!.parts[0]!.pins[3]).toEqual({ pin: '4', net: 'CARRY' });
  });

  it('of a name that is taken is called by the next free one, in machine.json too', async () => {
    await turnstile();
    const second = await record.createMachine(TURNSTILE);
    expect(second.name).toBe('Turnstile 2');
    expect(readMachine(await record.folder(second.id)).machine!.name).toBe('Turnstile 2');
    expect((await record.machines()).map(({ name }) => name)).toEqual(['Turnstile', 'Turnstile 2']);
  });

  it('with errors in its folder is refused with all of them, and nothing is taken in', async () => {
    const files = await folderFiles(DEMO);
    files.set('points.csv', new TextEncoder().encode('point\nNOWHERE\nNOWHERE2\n'));
    const refused = record.importFolder(files);
    await expect(refused).rejects.toMatchObject({ code: 'folder' });
    await expect(refused).rejects.toThrow(/NOWHERE"[\s\S]*NOWHERE2"/);
    expect(await record.machines()).toEqual([]);
  });

  it('with a file that leads out of the folder is refused whole', async () => {
    const files = (await folderFiles(DEMO)).set('photographs/../../evil.png', Uint8Array.of(1));
    await expect(record.importFolder(files)).rejects.toMatchObject({ code: 'bad-name' });
    expect(await record.machines()).toEqual([]);
  });

  it('that was removed comes back with undo, under a free name', async () => {
    const id = await turnstile();
    await record.removeMachine(id);
    expect(await record.machines()).toEqual([]);
    await expect(record.folder(id)).rejects.toMatchObject({ code: 'no-machine' });
    await turnstile();
    expect(await record.undo(id)).toMatchObject({ what: 'remove Turnstile' });
    expect((await record.machines()).map(({ name }) => name)).toEqual(['Turnstile', 'Turnstile 2']);
    expect(readMachine(await record.folder(id)).machine!.name).toBe('Turnstile 2');
  });
});

describe('a sheet', () => {
  const resistor = { board: 'DRIVE', ref: 'R1', kind: 'resistor', value: '4K7', pins: '1=CARRY 2=0V' };

  it('keeps cells as they were typed, and rows where they were put', async () => {
    const id = await turnstile();
    const { rows } = await record.sheet(id, 'parts');
    const { added } = await record.changeSheet(
      id,
      'parts',
      [{ add: resistor, after: rows[0]!.id }, { add: { ...resistor, ref: 'R2' } }],
      'two resistors',
    );
    const after = await record.sheet(id, 'parts');
    expect(after.rows.map(({ cells }) => cells.ref)).toEqual(['J1', 'R1', 'J1', 'R2']);
    expect(after.rows[1]).toMatchObject({ id: added[0], cells: { value: '4K7', note: '' } });
    expect(readMachine(await record.folder(id)).machine!.parts[1]).toMatchObject({ value: 4700 });
  });

  it('takes cells of columns that only this folder has, and leaves the others of the row', async () => {
    const files = await record.folder(await turnstile());
    const own = 'shelf,point,mood,note\nA 7,STEP,good,\n,CARRY,,\n';
    const { id } = await record.importFolder(files.set('points.csv', new TextEncoder().encode(own)));
    const { columns, rows } = await record.sheet(id, 'points');
    expect(columns).toEqual(['point', 'minutes', 'note', 'caution', 'shelf', 'mood']);
    const edits = [
      { row: rows[0]!.id, version: rows[0]!.version, cells: { shelf: 'B 1', caution: 'hot' } },
      { add: { point: 'TENS', mood: 'bad' } },
    ];
    await record.changeSheet(id, 'points', edits, 'shelves');
    expect(new TextDecoder().decode((await record.folder(id)).get('points.csv'))).toBe(
      'shelf,point,mood,note,caution\nB 1,STEP,good,,hot\n,CARRY,,,\n,TENS,bad,,\n',
    );
    await record.undo(id);
    expect(new TextDecoder().decode((await record.folder(id)).get('points.csv'))).toBe(own);
  });

  it('takes a row between two others as often as it is asked to', async () => {
    const id = await turnstile();
    const first = (await record.sheet(id, 'points')).rows[0]!.id;
    for (let i = 0; i < 60; i++)
      await record.changeSheet(id, 'points', [{ add: { point: `P${i}` }, after: first }], 'a point');
    const { rows } = await record.sheet(id, 'points');
    expect(rows.slice(0, 3).map(({ cells }) => cells.point)).toEqual(['STEP', 'P59', 'P58']);
    expect(rows.slice(-3).map(({ cells }) => cells.point)).toEqual(['P0', 'CARRY', 'TENS']);
  });

  it('holds a number with a decimal comma with a point, so that the others are read as before', async () => {
    const id = await turnstile();
    const edits = [
      { add: { ...resistor, value: '4,7k', note: 'a, b' } },
      { add: { ...resistor, ref: 'R2', value: '1.125k' } },
    ];
    await record.changeSheet(id, 'parts', edits, 'resistors');
    const { rows } = await record.sheet(id, 'parts');
    expect(rows.slice(2).map(({ cells }) => [cells.value, cells.note])).toEqual([
      ['4.7k', 'a, b'],
      ['1.125k', ''],
    ]);
  });

  it('is not changed by an edit on a row that has been changed since, and says what stands there', async () => {
    const id = await turnstile();
    const [row] = (await record.sheet(id, 'points')).rows;
    const edit = (note: string) => ({ row: row!.id, version: row!.version, cells: { note } });
    await record.changeSheet(id, 'points', [edit('first')], 'note');
    const second = record.changeSheet(id, 'points', [{ add: { point: 'NEW' } }, edit('second')], 'note');
    await expect(second).rejects.toBeInstanceOf(Conflict);
    await expect(second).rejects.toMatchObject({
      ...{ code: 'conflict', name: 'InputError' },
      standing: { id: row!.id, cells: { point: 'STEP', note: 'first' } },
    });
    const { rows } = await record.sheet(id, 'points');
    expect(rows.map(({ cells }) => [cells.point, cells.note])).toEqual([
      ['STEP', 'first'],
      ['CARRY', ''],
      ['TENS', ''],
    ]);
    const remove = { remove: row!.id, version: row!.version };
    await expect(record.changeSheet(id, 'points', [remove], 'remove')).rejects.toBeInstanceOf(Conflict);
  });

  it('refuses a column that it has not, and a row that is another sheet’s or another machine’s', async () => {
    const id = await turnstile();
    const other = await turnstile();
    const [row] = (await record.sheet(id, 'points')).rows;
    const refused = (edit: Parameters<WorkshopRecord['changeSheet']>[2][number], machine = id) =>
      expect(record.changeSheet(machine, 'points', [edit], 'change')).rejects;
    await refused({ add: { pointt: 'X' } }).toMatchObject({ code: 'unknown-column' });
    await refused({ add: { point: 'X' }, after: 99999 }).toMatchObject({ code: 'no-row' });
    await refused({ remove: row!.id, version: row!.version }, other).toMatchObject({ code: 'no-row' });
  });

  it('of readings has another row in the place of one that is edited, and the old one in the history', async () => {
    const id = await turnstile();
    const { reading } = await record.takeReading(id, READING);
    const [row] = (await record.sheet(id, 'readings')).rows;
    const edit = { row: reading, version: row!.version, cells: { value: '-6.3' } };
    const { added } = await record.changeSheet(id, 'readings', [edit], 'mend a slip');
    expect((await record.sheet(id, 'readings')).rows).toMatchObject([
      { id: added[0], cells: { unit: 'town', value: '-6.3', taken_at: '2026-10-03T09:00:00Z' } },
    ]);
    expect((await record.readings(id)).map(({ value, withdrawn }) => [value, withdrawn])).toEqual([
      ['-6.1', true],
      ['-6.3', false],
    ]);
  });
});

describe('machine.json in the record', () => {
  it('keeps unknown fields, and is not overwritten unseen', async () => {
    const id = await turnstile();
    const { version, json } = await record.head(id);
    await record.changeHead(id, version, { ...json, name: 'Gate', maker: 'unknown' }, 'rename');
    expect((await record.head(id)).json).toMatchObject({ name: 'Gate', maker: 'unknown', reference: '0V' });
    expect((await record.machine(id)).name).toBe('Gate');
    await expect(record.changeHead(id, version, json, 'rename')).rejects.toMatchObject({
      standing: { json: { name: 'Gate' } },
    });
    await record.undo(id);
    expect(await record.machine(id)).toMatchObject({ name: 'Turnstile' });
    expect((await record.head(id)).json).toEqual(json);
  });

  it('does not take the name of another machine', async () => {
    const id = await turnstile();
    await record.createMachine({ ...TURNSTILE, name: 'Gate' });
    const { version, json } = await record.head(id);
    const renamed = record.changeHead(id, version, { ...json, name: 'Gate' }, 'rename');
    await expect(renamed).rejects.toMatchObject({ code: 'name-taken' });
  });
});

describe('a reading', () => {
  it('takes the place of an earlier one, and both stay', async () => {
    const id = await turnstile();
    await record.takeReading(id, READING);
    await record.takeReading(id, { ...READING, unit: 'island' });
    await record.takeReading(id, { ...READING, value: '-6,2' });
    const history = await record.readings(id, { unit: 'town', point: 'STEP' });
    expect(history.map(({ value, superseded }) => [value, superseded])).toEqual([
      ['-6.1', true],
      ['-6.2', false],
    ]);
    expect(readMachine(await record.folder(id)).machine!.readings).toHaveLength(3);
  });

  it('that is withdrawn lets the one before stand again, and is no part of the folder', async () => {
    const id = await turnstile();
    await record.takeReading(id, READING);
    const { reading } = await record.takeReading(id, { ...READING, value: '340m' });
    await record.withdrawReading(id, reading);
    expect(await record.readings(id)).toMatchObject([
      { value: '-6.1', superseded: false, withdrawn: false },
      { value: '340m', superseded: false, withdrawn: true },
    ]);
    expect(readMachine(await record.folder(id)).machine!.readings.map(({ value }) => value)).toEqual([-6.1]);
    await expect(record.withdrawReading(id, reading)).rejects.toMatchObject({ code: 'no-reading' });
    await record.undo(id);
    expect((await record.readings(id)).map(({ withdrawn }) => withdrawn)).toEqual([false, false]);
  });

  it('stands although an earlier one bears a later time', async () => {
    const id = await turnstile();
    const late = { ...READING, taken_at: '2026-10-03T18:00' };
    await record.changeSheet(id, 'readings', [{ add: late }], 'from a notebook');
    await record.takeReading(id, { ...READING, value: '-6.4' });
    expect((await record.readings(id)).map(({ superseded }) => superseded)).toEqual([true, false]);
  });

  it.each([
    ['a unit that is not there', { unit: 'twon' }, 'unknown-unit', /did you mean town/],
    ['a state that is not there', { condition: 'rset' }, 'unknown-condition', /did you mean rest/],
    ['a point that is not there', { point: 'STEPP' }, 'unknown-point', /did you mean STEP/],
    ['no number', { value: 'minus six' }, 'not-a-number', /minus six/],
    ['a quantity that is not known', { quantity: 'volts' }, 'unknown-word', /one of V/],
    ['no uncertainty', { uncertainty: '0' }, 'out-of-range', /no reading is without uncertainty/],
    ['a room that nobody can be in', { ambient: '200' }, 'out-of-range', /room temperature/],
  ])('of %s is refused and not written down', async (_, wrong, code, message) => {
    const id = await turnstile();
    const refused = record.takeReading(id, { ...READING, ...wrong });
    await expect(refused).rejects.toMatchObject({ code });
    await expect(refused).rejects.toThrow(message);
    expect(await record.readings(id)).toEqual([]);
    expect((await record.machine(id)).revision).toBe((await record.changes(id))[0]!.id);
  });

  it('of a point that was added a moment ago is taken', async () => {
    const id = await turnstile();
    await record.takeReading(id, READING);
    const part = { board: 'COUNT', ref: 'J2', kind: 'connector', pins: '1=LATE' };
    await expect(record.takeReading(id, { ...READING, point: 'LATE' })).rejects.toThrow();
    await record.changeSheet(id, 'parts', [{ add: part }], 'a connector');
    await record.takeReading(id, { ...READING, point: 'LATE' });
  });
});

describe('undo', () => {
  it('takes back one change after another, whatever it was, down to the machine itself', async () => {
    const id = await turnstile();
    const states = [await record.folder(id)];
    const points = await record.sheet(id, 'points');
    const [first, second] = points.rows;
    const steps: (() => Promise<unknown>)[] = [
      () => record.takeReading(id, READING),
      () => record.changeSheet(id, 'points', [{ remove: second!.id, version: second!.version }], 'remove'),
      () =>
        record.changeSheet(
          id,
          'points',
          [
            { row: first!.id, version: first!.version, cells: { note: 'green lug' } },
            { add: { point: 'DRIVE/J1.8' }, after: first!.id },
          ],
          'points',
        ),
      () => record.place(id, { ...STEP, x: 0.25, y: 0.5 }),
      () => record.place(id, { ...STEP, x: 0.75, y: 0.5 }),
      () => record.unplace(id, STEP),
      () => record.addLogEntry(id, { unit: 'island', kind: 'symptom', text: 'no carry' }),
    ];
    for (const step of steps) {
      await step();
      states.push(await record.folder(id));
    }
    for (const state of states.slice(0, -1).reverse()) {
      const before = await record.machine(id);
      const undone = await record.undo(id);
      expect(undone!.undoneBy).toBeGreaterThan(undone!.id);
      expect(await record.folder(id)).toEqual(state);
      expect((await record.machine(id)).revision).toBeGreaterThan(before.revision);
    }
    await record.undo(id);
    expect(await record.machines()).toEqual([]);
    expect(await record.undo(id)).toBeUndefined();
  });

  it('brings back every folder on the way, whatever was done and in what order', async () => {
    const step = fc.record({
      kind: fc.constantFrom('add', 'edit', 'remove', 'read', 'place', 'head'),
      at: fc.nat(),
      text: fc.string({ unit: 'grapheme', maxLength: 6 }),
    });
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 1, maxLength: 8 }), async (steps) => {
        const id = await turnstile();
        const folders = [await record.folder(id)];
        for (const { kind, at, text } of steps) {
          const { rows } = await record.sheet(id, 'boards');
          const row = rows[at % rows.length];
          const edit =
            kind === 'add'
              ? { add: { board: `${text}${at}`, note: text }, after: row?.id }
              : kind === 'edit' && row
                ? { row: row.id, version: row.version, cells: { note: text, caution: String(at) } }
                : kind === 'remove' && row
                  ? { remove: row.id, version: row.version }
                  : undefined;
          const { version, json } = await record.head(id);
          if (edit !== undefined) await record.changeSheet(id, 'boards', [edit], kind);
          else if (kind === 'place')
            await record.place(id, { ...STEP, mark: String(at % 3), x: 0.5, y: (at % 9) / 9 });
          else if (kind === 'head') await record.changeHead(id, version, { ...json, summary: text }, kind);
          else await record.takeReading(id, { ...READING, value: String(at % 100), note: text });
          folders.push(await record.folder(id));
        }
        for (const folder of folders.reverse().slice(1)) {
          await record.undo(id);
          expect(await record.folder(id)).toEqual(folder);
        }
      }),
      { numRuns: 30 },
    );
  });

  it('leaves a row with a version of its own, so that an edit from before is a conflict', async () => {
    const id = await turnstile();
    const row = async () => (await record.sheet(id, 'points')).rows[0]!;
    const before = await row();
    await record.changeSheet(
      id,
      'points',
      [{ row: before.id, version: before.version, cells: { note: 'x' } }],
      'note',
    );
    await record.undo(id);
    expect((await row()).cells).toEqual(before.cells);
    const stale = { row: before.id, version: before.version, cells: { note: 'y' } };
    await expect(record.changeSheet(id, 'points', [stale], 'note')).rejects.toBeInstanceOf(Conflict);
  });

  it('is a change that the list of changes shows', async () => {
    const id = await turnstile();
    await record.takeReading(id, READING);
    await record.undo(id);
    const [undo, reading, made] = await record.changes(id);
    expect(undo).toMatchObject({ what: 'undo: reading of town, rest, STEP: -6.1' });
    expect(reading).toMatchObject({ what: 'reading of town, rest, STEP: -6.1', undoneBy: undo!.id });
    expect(made).toEqual({
      id: expect.any(Number),
      at: clock().toISOString(),
      what: 'new machine Turnstile',
    });
    expect(await record.changes(id, 1)).toEqual([undo]);
  });
});

describe('what expectations depend on', () => {
  it('is not changed by readings, log or pictures', async () => {
    const id = await turnstile();
    const { wiring } = await record.machine(id);
    await record.takeReading(id, READING);
    await record.addLogEntry(id, { unit: 'town', kind: 'note', text: 'dusty' });
    await record.place(id, { ...STEP, x: 0.1, y: 0.1 });
    expect((await record.machine(id)).wiring).toBe(wiring);
    const { id: change } = await record.changeSheet(
      id,
      'states',
      [{ add: { condition: 'held' } }],
      'a state',
    );
    expect((await record.machine(id)).wiring).toBe(change);
  });
});

describe('the log', () => {
  const symptom = { unit: 'island', kind: 'symptom', text: 'Zählt keine Zehner', points: 'CARRY' } as const;

  it('numbers its entries and dates them today', async () => {
    const id = await turnstile();
    expect((await record.addLogEntry(id, symptom)).entry).toBe('1');
    expect((await record.addLogEntry(id, { ...symptom, kind: 'note', date: '2026-09-30' })).entry).toBe('2');
    expect((await record.log(id)).map((entry) => entry.date)).toEqual(['2026-10-03', '2026-09-30']);
    expect(readMachine(await record.folder(id)).papers.log).toMatchObject([
      { id: '1', points: ['CARRY'] },
      { id: '2' },
    ]);
  });

  it('is searched by parts of words, all of which must be there, without capitals and accents', async () => {
    const id = await turnstile();
    await record.addLogEntry(id, symptom);
    await record.addLogEntry(id, {
      unit: 'town',
      kind: 'replaced',
      text: 'changed',
      suspects: 'DRIVE/Q1:open-b',
    });
    const found = async (search: string) => (await record.log(id, { search })).map((entry) => entry.id);
    expect(await found('zahlt CARR')).toEqual(['1']);
    expect(await found('q1')).toEqual(['2']);
    expect(await found('carry changed')).toEqual([]);
    expect(await found(' ')).toEqual(['1', '2']);
    expect(await record.log(id, { unit: 'town' })).toHaveLength(1);
  });

  it('keeps an entry that is superseded, once', async () => {
    const id = await turnstile();
    await record.addLogEntry(id, symptom);
    await record.supersedeLogEntry(id, '1', { ...symptom, text: 'counts no hundreds' });
    expect(await record.log(id)).toMatchObject([
      { id: '1', text: 'Zählt keine Zehner', supersededBy: '2' },
      { id: '2', text: 'counts no hundreds', replaces: '1' },
    ]);
    await expect(record.supersedeLogEntry(id, '1', symptom)).rejects.toMatchObject({ code: 'superseded' });
    await expect(record.supersedeLogEntry(id, '9', symptom)).rejects.toMatchObject({ code: 'no-entry' });
    await record.undo(id);
    expect(await record.log(id)).toMatchObject([{ id: '1' }, { id: '2', withdrawn: true }]);
    expect((await record.log(id))[0]!.supersededBy).toBeUndefined();
    // A number that was given is not given again.
    expect((await record.addLogEntry(id, symptom)).entry).toBe('3');
  });

  it('refuses a date that is none', async () => {
    const id = await turnstile();
    const refused = record.addLogEntry(id, { ...symptom, date: 'yesterday' });
    await expect(refused).rejects.toMatchObject({ code: 'bad-date' });
  });
});

describe('photographs', () => {
  const png = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 1, 2, 3);

  it('keep their bytes, under a name that no other has, and go out with the folder', async () => {
    const id = await turnstile();
    const facts = { board: 'COUNT', side: 'copper', bytes: png };
    const { photograph } = await record.addPhotograph(id, facts);
    await record.addPhotograph(id, { ...facts, file: '../COUNT copper.PNG', turn: 90, mirrored: true });
    expect(await record.photographs(id)).toMatchObject([
      { id: photograph, file: 'COUNT-copper.png', size: png.length, turn: 0, mirrored: false },
      { file: 'COUNT-copper-2.png', turn: 90, mirrored: true },
    ]);
    expect(await record.photographBytes(id, photograph)).toEqual(png);
    const folder = await record.folder(id);
    expect(folder.get('photographs/COUNT-copper-2.png')).toEqual(png);
    const again = await record.importFolder(folder, { name: 'copy' });
    expect(await record.folder(again.id)).toEqual(new Map(folder).set('machine.json', expect.anything()));
  });

  it('are turned without being changed, and not unseen', async () => {
    const id = await turnstile();
    await record.addPhotograph(id, { board: 'COUNT', side: 'copper', bytes: png });
    const [photograph] = await record.photographs(id);
    await record.changePhotograph(id, photograph!.id, photograph!.version, { turn: 270, mirrored: true });
    expect(await record.photographs(id)).toMatchObject([{ turn: 270, mirrored: true, board: 'COUNT' }]);
    const stale = record.changePhotograph(id, photograph!.id, photograph!.version, { turn: 0 });
    await expect(stale).rejects.toBeInstanceOf(Conflict);
    await expect(
      record.changePhotograph(id, photograph!.id, photograph!.version, { turn: 500 }),
    ).rejects.toMatchObject({ code: 'out-of-range' });
  });

  it('that are removed are no part of the folder, and come back with undo', async () => {
    const id = await turnstile();
    const { photograph } = await record.addPhotograph(id, { board: 'COUNT', side: 'copper', bytes: png });
    await record.removePhotograph(id, photograph);
    expect([...(await record.folder(id)).keys()].filter((path) => path.includes('COUNT'))).toEqual([]);
    await expect(record.photographBytes(id, photograph)).rejects.toMatchObject({ code: 'no-photograph' });
    await record.undo(id);
    expect(await record.photographBytes(id, photograph)).toEqual(png);
  });

  it('are pictures by their bytes, whatever they are called', async () => {
    const id = await turnstile();
    const bytes = new TextEncoder().encode('<svg onload="x()"/>');
    const refused = record.addPhotograph(id, { board: 'COUNT', side: 'copper', file: 'a.png', bytes });
    await expect(refused).rejects.toMatchObject({ code: 'not-a-picture' });
  });
});

describe('placements', () => {
  it('are one for a mark on a side, moved when it is placed again', async () => {
    const id = await turnstile();
    await record.place(id, { ...STEP, x: 0.25, y: 0.5 });
    await record.place(id, { ...STEP, side: 'component', x: 0.5, y: 0.5 });
    await record.place(id, { ...STEP, x: 0.75, y: 1 });
    expect(await record.placements(id)).toMatchObject([
      { board: 'COUNT', side: 'copper', mark: 'STEP', x: 0.75, y: 1 },
      { side: 'component', x: 0.5 },
    ]);
    await record.unplace(id, STEP);
    expect(await record.placements(id)).toHaveLength(1);
    await expect(record.unplace(id, STEP)).rejects.toMatchObject({
      code: 'no-placement',
    });
    await expect(record.place(id, { ...STEP, x: 1.01, y: 0 })).rejects.toMatchObject({
      code: 'out-of-range',
    });
  });

  it('of one unit stand beside those of all, and go out and come in with the folder', async () => {
    const id = await turnstile();
    await record.place(id, { ...STEP, x: 0.25, y: 0.5 });
    await record.place(id, { ...STEP, unit: 'town', x: 0.5, y: 0.5 });
    const places = async (of: number) => (await record.placements(of)).map(({ unit, x }) => [unit, x]);
    expect(await places(id)).toEqual([
      ['', 0.25],
      ['town', 0.5],
    ]);
    const copy = await record.importFolder(await record.folder(id));
    expect(await places(copy.id)).toEqual(await places(id));
    await record.unplace(id, { ...STEP, unit: 'town' });
    expect(await places(id)).toEqual([['', 0.25]]);
  });
});

describe('a fault table', () => {
  it('is kept under its key, and is no change to a machine', async () => {
    const heard = vi.fn();
    record.onChange(heard);
    await record.keepFaultTable('a', Uint8Array.of(1, 2, 3));
    await record.keepFaultTable('a', Uint8Array.of(4));
    expect(await record.faultTable('a')).toEqual(Uint8Array.of(4));
    expect(await record.faultTable('b')).toBeUndefined();
    expect(heard).not.toHaveBeenCalled();
  });
});

describe('the file', () => {
  it('is confirmed only when the disk has it: the store is set so', async () => {
    const pragmas: Record<string, unknown> = {};
    const exec = vi.spyOn(Sqlite.prototype, 'pragma');
    const second = await place.open(false);
    const db = exec.mock.contexts.at(-1) as Sqlite.Database;
    exec.mockRestore();
    for (const name of ['synchronous', 'journal_mode', 'foreign_keys', 'application_id', 'user_version'])
      pragmas[name] = db.pragma(name, { simple: true });
    // 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    expect(pragmas).toEqual({
      ...{ synchronous: 2, journal_mode: 'wal', foreign_keys: 1 },
      ...{ application_id: 0x53627264, user_version: 4 },
    });
    await second.close();
  });

  it('is told of by another that has it open', async () => {
    const other = await place.open(false);
    const heard = new Promise<unknown>((resolve) => {
      other.onChange(resolve);
    });
    const id = await turnstile();
    const { revision } = await record.machine(id);
    expect(await heard).toEqual([{ id, revision }]);
    expect(await other.machines()).toHaveLength(1);
    const own = new Promise<unknown>((resolve) => {
      other.onChange(resolve);
    });
    const taken = await other.takeReading(id, READING);
    expect(await own).toEqual([{ id, revision: taken.revision }]);
  });
});

describe('a backup', () => {
  it('is the record of that moment in one file, and is not written over another file', async () => {
    const id = await turnstile();
    const to = join(place.folder, 'safe', 'copy.sisterboard');
    const { bytes } = await record.backup(to);
    expect(bytes).toBeGreaterThan(0);
    await record.removeMachine(id);
    await expect(record.backup(to)).rejects.toMatchObject({ code: 'there-already' });
    const { openRecord } = await import('./open-record.ts');
    const copy = await openRecord(to, { clock });
    expect(await copy.machines()).toHaveLength(1);
    await copy.close();
  });
});
