import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Hono } from 'hono';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openRecord, type WorkshopRecord } from '../records/index.ts';
import { application } from './app.ts';
import { zipOf } from './archive.ts';
import type {
  ChangeView,
  HeadView,
  LogEntryView,
  PhotographView,
  PlacementView,
  ReadingView,
  SheetView,
  TakenView,
} from './record-views.ts';
import { RecordWorkshop } from './record-workshop.ts';
import type {
  BenchView,
  CompareView,
  EventView,
  MachineEntry,
  MachineView,
  Refusal,
  RemovedMachine,
  RepairView,
  SuspectsView,
  TableView,
  WhatIfView,
} from './views.ts';

const PORT = 4175;
const SECRET = 'a-secret-of-the-test-and-of-nothing-else';

/** An inverter pair, invented; east is sound, west has Q1 shorted from collector to emitter. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'weighbridge',
    reference: '0V',
    ambient: 22,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins,shelf
A,R1,resistor,,10k,,1=-12V 2=IN,
A,R2,resistor,,4K7,,1=IN 2=B1,3
A,R3,resistor,,47k,,1=+6V 2=B1,
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1,
A,R4,resistor,,2.2k,,1=-12V 2=C1,
A,R5,resistor,,8.2k,,1=C1 2=B2,
A,R6,resistor,,68k,,1=+6V 2=B2,
A,Q2,transistor,GE-PNP,,,e=0V b=B2 c=C2,
A,R7,resistor,,1.5k,,1=-12V 2=C2,
`,
  'conditions.csv': 'condition,net,role,volts,ohms\nheld low,IN,drive,0,100\nheld high,IN,drive,-6,1k\n',
  'points.csv':
    'point,minutes,note\nIN,1,\nB1,1,\nC1,1,\nB2,1,\nC2,1,\nA/Q1.c,1.2,\n-12V,1,CAUTION: beside the mains switch\n',
  'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at,ambient,instrument,note
east,held low,C1,V,-9.4,,2024-05-01T10:00:00Z,,,
east,held low,C2,V,-0.05,,2024-05-01T10:01:00Z,,,
east,held low,C1,V,-9.45,,2024-05-02T10:01:00Z,,,
`,
};
const PNG = new Uint8Array([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 1, 2, 3, 4]);

let folder: string;
let record: WorkshopRecord;
let workshop: RecordWorkshop;
let app: Hono;
let seconds: number;

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  seconds = 0;
  const clock = (): Date => new Date(Date.UTC(2024, 10, 9, 18, 0, seconds++));
  record = await openRecord(join(folder, 'record.sisterboard'), { clock, create: true });
  workshop = new RecordWorkshop(record, clock, undefined);
  app = application(workshop, { secret: SECRET, port: () => PORT }, join(folder, 'no-pages'));
});
afterEach(async () => {
  await workshop.close();
  await record.close();
  rmSync(folder, { recursive: true });
});

async function sent(method: string, path: string, body?: unknown, type = 'application/json') {
  const bytes = body instanceof Uint8Array ? (body as Uint8Array<ArrayBuffer>) : undefined;
  return app.request(`http://127.0.0.1:${PORT}/api${path}`, {
    method,
    headers: {
      host: `127.0.0.1:${PORT}`,
      cookie: `sisterboard-${PORT}=${SECRET}`,
      ...(method === 'GET' ? {} : { origin: `http://127.0.0.1:${PORT}`, 'content-type': type }),
    },
    ...(body === undefined ? {} : { body: bytes ?? JSON.stringify(body) }),
  });
}

async function got<T>(path: string): Promise<T> {
  const response = await sent('GET', path);
  expect(response.status).toBe(200);
  return (await response.json()) as T;
}

async function done<T>(method: string, path: string, body?: unknown, type?: string): Promise<T> {
  const response = await sent(method, path, body, type);
  const answer = (await response.json()) as T;
  expect(answer).not.toHaveProperty('error');
  return answer;
}

async function refused(
  method: string,
  path: string,
  body?: unknown,
): Promise<Refusal['error'] & { status: number }> {
  const response = await sent(method, path, body);
  return { ...((await response.json()) as Refusal).error, status: response.status };
}

function zipped(files: Readonly<Record<string, string>>): Promise<Uint8Array> {
  return zipOf(new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])));
}

async function imported(files: Readonly<Record<string, string>> = FILES): Promise<number> {
  const zip = await zipped(
    Object.fromEntries(Object.entries(files).map(([name, text]) => [`bridge/${name}`, text])),
  );
  return (await done<MachineEntry>('POST', '/machines/import', zip, 'application/zip')).id;
}

async function read(
  id: number,
  point: string,
  text: string,
  state = 'held low',
  unit = 'west',
): Promise<TakenView> {
  return done('POST', `/machines/${id}/readings`, { unit, state, point, quantity: 'V', text });
}

/** Until the table is there. */
async function suspects(id: number, query = 'unit=west'): Promise<SuspectsView> {
  for (;;) {
    const view = await got<SuspectsView>(`/machines/${id}/suspects?${query}`);
    if (view.table.state !== 'working') return view;
    await new Promise((next) => setTimeout(next, 20));
  }
}

describe('a machine', () => {
  it('is brought in as an archive and given out the same', async () => {
    const id = await imported();
    const view = await got<MachineView>(`/machines/${id}`);
    expect(view).toMatchObject({ name: 'weighbridge', reference: '0V', findings: [] });
    expect(view.families).toEqual([
      {
        from: -12,
        to: 6,
        rails: [
          { net: '-12V', volts: -12 },
          { net: '+6V', volts: 6 },
        ],
      },
    ]);
    expect(view.points.map(({ point }) => point)).toEqual(['IN', 'B1', 'C1', 'B2', 'C2', 'A/Q1.c', '-12V']);
    expect(view.points.at(-1)).toMatchObject({ caution: 'beside the mains switch', gated: true, board: 'A' });
    const response = await sent('GET', `/machines/${id}/export.zip`);
    const again = new Uint8Array(await response.arrayBuffer());
    const copy = await done<MachineEntry>('POST', '/machines/import', again, 'application/zip');
    expect(copy.name).toBe('weighbridge 2');
    const sheets = await Promise.all(
      [id, copy.id].map((one) => got<SheetView>(`/machines/${one}/sheets/parts`)),
    );
    expect(sheets[1]!.columns).toContain('shelf');
    expect(sheets[1]!.rows.map(({ cells }) => cells)).toEqual(sheets[0]!.rows.map(({ cells }) => cells));
  });

  it('that cannot be read is refused with what is wrong', async () => {
    const zip = await zipped({ ...FILES, 'parts.csv': 'board,ref,kind,pins\nA,R1,resistance,1=X 2=Y\n' });
    const response = await sent('POST', '/machines/import', zip, 'application/zip');
    const { error } = (await response.json()) as Refusal;
    expect(response.status).toBe(422);
    expect(error).toMatchObject({ code: 'folder', message: expect.stringContaining('parts.csv') });
  });

  it('that was removed is listed as such, and comes back with undo', async () => {
    const id = await imported();
    await done('DELETE', `/machines/${id}`);
    const removed = await got<RemovedMachine[]>('/machines/removed');
    expect(removed).toContainEqual({ id, name: expect.any(String), removedAt: expect.any(String) });
    expect((await got<MachineEntry[]>('/machines')).some((one) => one.id === id)).toBe(false);
    await done('POST', `/machines/${id}/undo`);
    expect((await got<MachineEntry[]>('/machines')).some((one) => one.id === id)).toBe(true);
    expect((await got<RemovedMachine[]>('/machines/removed')).some((one) => one.id === id)).toBe(false);
  });

  it('has the test points of its boards, on nets of their own or on named ones', async () => {
    const { id } = await done<MachineEntry>('POST', '/machines', {
      name: 'clock',
      reference: '0V',
      rails: [{ net: '-9V', volts: -9 }],
      units: [{ id: 'one', health: 'unknown' }],
      boards: [{ name: 'DIV', pins: ['-9V', '0V', 'OUT'], testPoints: ['TP1', 'TP2=OUT'], outputs: ['OUT'] }],
      states: [{ name: 'idle' }],
    });
    const view = await got<MachineView>(`/machines/${id}`);
    expect(view.points.map(({ point }) => point).sort()).toEqual(['-9V', 'DIV.TP1', 'OUT']);
    expect(view.findings).toEqual([]);
  });

  it('is made from nothing, and two units can be compared before a part is traced', async () => {
    const made = await done<MachineEntry>('POST', '/machines', {
      name: 'till',
      reference: '0V',
      rails: [{ net: '-9V', volts: -9 }],
      units: [
        { id: 'one', health: 'healthy' },
        { id: 'two', health: 'faulty' },
      ],
      boards: [{ name: 'KEY', pins: ['-9V', '0V', 'ROW', 'OUT'], caution: 'loose fuse' }],
      states: [{ name: 'idle', steps: 'switch on, touch nothing' }],
    });
    const view = await got<MachineView>(`/machines/${made.id}`);
    expect(view.states).toEqual([{ name: 'idle', steps: 'switch on, touch nothing', note: '', runs: false }]);
    expect(view.boards).toEqual([{ name: 'KEY', caution: 'loose fuse', note: '', traced: false }]);
    await read(made.id, 'OUT', '-6.2', 'idle', 'one');
    await read(made.id, 'OUT', '-0.3', 'idle', 'two');
    const bench = await got<BenchView>(`/machines/${made.id}/bench?unit=two&state=idle`);
    expect(bench.rows.find(({ point }) => point === 'OUT')).toMatchObject({
      learnt: true,
      sound: { value: -6.2 },
      twins: [{ unit: 'one', value: -6.2 }],
      verdict: 'departs',
    });
    expect((await suspects(made.id, 'unit=two')).suspects[0]).toMatchObject({ key: 'KEY/board:stage' });
  });

  it('that was removed comes back', async () => {
    const id = await imported();
    await done('DELETE', `/machines/${id}`);
    expect(await got('/machines')).toEqual([]);
    expect(await refused('GET', `/machines/${id}`)).toMatchObject({ status: 404, code: 'no-machine' });
    await done('POST', `/machines/${id}/undo`);
    expect(await got<MachineEntry[]>('/machines')).toHaveLength(1);
  });
});

describe('the bench', () => {
  it('has bands before anything was read, then the reading, its twin and a verdict', async () => {
    const id = await imported();
    const row = async () => {
      const view = await got<BenchView>(`/machines/${id}/bench?unit=west&state=held%20low`);
      return view.rows.find(({ point }) => point === 'C1')!;
    };
    expect(await row()).toMatchObject({ reading: null, off: null, verdict: null, learnt: false });
    expect((await row()).twins).toEqual([{ unit: 'east', value: -9.45, id: expect.any(Number) }]);
    expect(Math.abs((await row()).sound!.value + 9.45)).toBeLessThan(0.1);
    const taken = await read(id, 'C1', '−40 mV');
    expect(taken.value).toBe(-0.04);
    expect(await row()).toMatchObject({
      reading: { id: taken.reading, value: -0.04, text: '−40m', setAside: false },
      verdict: 'departs',
    });
    await read(id, 'C1', '-0,05');
    expect((await row()).reading!.value).toBe(-0.05);
    const history = await got<ReadingView[]>(`/machines/${id}/readings?unit=west`);
    expect(history.map(({ standing }) => standing)).toEqual(['superseded', 'counts']);
  });

  it('finds the planted fault from a few readings, with reasons, and what it would show before it is taken', async () => {
    const id = await imported();
    for (const [point, text] of Object.entries({ C1: '-0.02', C2: '-11.8' })) await read(id, point, text);
    const before = await suspects(id);
    expect(before.table.state).toBe('ready');
    const sum = before.suspects.reduce((all, { probability }) => all + probability, 0);
    expect(sum + before.others.probability + before.sound + before.unexplained).toBeCloseTo(1, 6);
    const [first] = before.suspects;
    expect(first!.parts).toEqual(['A/Q1']);
    expect(first!.words).toMatch(/^GE-PNP, /);
    expect(first!.confirm[0]).toMatch(/^power off/);
    expect(first!.reasons.map(({ state }) => state)).toContain('held low');
    const preview = await suspects(id, 'unit=west&state=held%20high&point=B1&value=-0.21');
    expect(preview.preview).toEqual({ state: 'held high', point: 'B1', value: -0.21 });
    await read(id, 'B1', '-0.21', 'held high');
    const after = await suspects(id);
    expect(after.suspects.map(({ key }) => key)).toEqual(preview.suspects.map(({ key }) => key));
    after.suspects.forEach(({ probability }, i) => {
      expect(probability).toBeCloseTo(preview.suspects[i]!.probability, 4);
    });
    expect(after.next.every(({ bits }) => bits >= 0)).toBe(true);
  });

  it('says what a fault would change', async () => {
    const id = await imported();
    const view = await got<WhatIfView>(`/machines/${id}/what-if?fault=A%2FQ1%3Ashort-ce&state=held%20low`);
    expect(view.words).toBe('GE-PNP, short, collector to emitter');
    expect(view.rows.find(({ point }) => point === 'C1')!.off).toBeGreaterThan(10);
    expect(await refused('GET', `/machines/${id}/what-if?fault=A%2FQ9%3Ashort-ce`)).toMatchObject({
      status: 422,
      code: 'unknown-part',
    });
  });

  it.each([
    [{ text: '-6,1O' }, 'unknown-suffix'],
    [{ text: '' }, 'empty'],
    [{ text: '5 ohm' }, 'wrong-unit'],
    [{ unit: 'north' }, 'unknown-unit'],
    [{ state: 'held' }, 'unknown-condition'],
    [{ point: 'C9' }, 'unknown-point'],
  ])('refuses a reading with %j as %s, and takes nothing', async (over, code) => {
    const id = await imported();
    const given = { unit: 'west', state: 'held low', point: 'C1', quantity: 'V', text: '-1', ...over };
    expect(await refused('POST', `/machines/${id}/readings`, given)).toMatchObject({ status: 422, code });
    expect(await got(`/machines/${id}/readings?unit=west`)).toEqual([]);
  });

  it('takes a reading back and gives it again', async () => {
    const id = await imported();
    const { reading } = await read(id, 'C1', '-1');
    await done('POST', `/machines/${id}/readings/${reading}/withdraw`);
    const standing = async () =>
      (await got<ReadingView[]>(`/machines/${id}/readings?unit=west`)).map((one) => one.standing);
    expect(await standing()).toEqual(['withdrawn']);
    await done<ChangeView>('POST', `/machines/${id}/undo`);
    expect(await standing()).toEqual(['counts']);
    const [last] = await got<ChangeView[]>(`/machines/${id}/changes?limit=1`);
    expect(last!.what).toMatch(/^undo/);
  });

  it('judges all readings of a set, however far apart in time they were taken', async () => {
    const old =
      'west,held low,C2,V,-0.04,,2011-05-01T10:00:00Z,,,\nwest,held low,C1,V,-9.3,,2024-05-01T10:00:00Z,,,\n';
    const files = { ...FILES, 'readings.csv': FILES['readings.csv'] + old };
    const { id } = await done<MachineEntry>(
      'POST',
      '/machines/import',
      await zipped(files),
      'application/zip',
    );
    const { rows } = await got<CompareView>(`/machines/${id}/compare?left=east&right=west`);
    expect(rows.map(({ point, verdict }) => [point, verdict])).toEqual([
      ['C1', 'sound'],
      ['C2', 'sound'],
    ]);
  });

  it('compares any two sets of readings', async () => {
    const id = await imported();
    await read(id, 'C1', '-0.02');
    const sets = await got<CompareView>(`/machines/${id}/compare?left=east&right=west`);
    expect(sets.sets.map(({ key }) => key)).toEqual(['east', 'east@2024-05-01', 'east@2024-05-02', 'west']);
    expect(sets.rows.map(({ point, verdict }) => [point, verdict])).toEqual([
      ['C1', 'departs'],
      ['C2', null],
    ]);
    const years = await got<CompareView>(
      `/machines/${id}/compare?left=east%402024-05-01&right=east%402024-05-02`,
    );
    expect(years.rows[0]).toMatchObject({ left: { value: -9.4 }, right: { value: -9.45 }, verdict: 'sound' });
    expect(await refused('GET', `/machines/${id}/compare?left=east&right=moon`)).toMatchObject({
      code: 'unknown-set',
    });
  });
});

describe('the fault table', () => {
  it('is computed once asked for, tells how far it is, and is given up on demand', async () => {
    const id = await imported();
    const events: EventView[] = [];
    workshop.onEvent((event) => events.push(event));
    expect(await got<MachineView>(`/machines/${id}`)).toMatchObject({ table: { state: 'none' } });
    expect(await done<TableView>('POST', `/machines/${id}/table`)).toMatchObject({ state: 'working' });
    await done('DELETE', `/machines/${id}/table`);
    const given = await suspects(id);
    expect(given.table).toMatchObject({ state: 'none', message: 'stopped' });
    expect(given.suspects).toEqual([]);
    await done('POST', `/machines/${id}/table`);
    expect((await suspects(id)).table.state).toBe('ready');
    const states = events.flatMap((event) => (event.kind === 'table' ? [event.table.state] : []));
    expect(new Set(states)).toEqual(new Set(['working', 'none', 'ready']));
  });

  const wave = 'pulses low=-6 high=0 width=20u period=100u count=2 edge=1u';
  const conditions = `condition,net,role,volts,ohms,wave\nheld low,IN,drive,0,100,\nbeaten,IN,drive,,100,${wave}\n`;

  it('is of the states that stand still until the unit has been read in one that runs', async () => {
    const id = await imported({ ...FILES, 'conditions.csv': conditions });
    const events: EventView[] = [];
    workshop.onEvent((event) => events.push(event));
    await done('POST', `/machines/${id}/table`);
    expect((await suspects(id)).table.state).toBe('ready');
    const tables = () => events.flatMap((event) => (event.kind === 'table' ? [event.table] : []));
    expect(tables().some(({ state, total }) => state === 'ready' && total > 0)).toBe(false);
    await done('POST', `/machines/${id}/readings`, {
      unit: 'west',
      state: 'beaten',
      point: 'C1',
      quantity: 'high',
      text: '-0.1',
    });
    await done('POST', `/machines/${id}/table`);
    await expect
      .poll(() => tables().some(({ state, total }) => state === 'ready' && total > 0), { timeout: 20_000 })
      .toBe(true);
  });

  it('answers from the states that stand still while those that run are worked out', async () => {
    const readings = 'unit,condition,point,quantity,value\nwest,beaten,C1,high,-0.1\n';
    const id = await imported({ ...FILES, 'conditions.csv': conditions, 'readings.csv': readings });
    const events: EventView[] = [];
    workshop.onEvent((event) => events.push(event));
    await done('POST', `/machines/${id}/table`);
    const whole = () =>
      events.some((e) => e.kind === 'table' && e.table.state === 'ready' && e.table.total > 0) &&
      events.findLast((e) => e.kind === 'table')?.table.total === 0;
    await expect.poll(whole, { timeout: 20_000 }).toBe(true);
    const tables = events.flatMap((event) => (event.kind === 'table' ? [event.table] : []));
    const first = tables.findIndex(({ state }) => state === 'ready');
    expect(first).toBeGreaterThan(0);
    expect(tables.slice(first).every(({ state }) => state === 'ready')).toBe(true);
    expect((await suspects(id)).suspects.length).toBeGreaterThan(0);
  });

  it('answers on while readings come, and is another one when the circuit changes', async () => {
    const id = await imported();
    await read(id, 'C1', '-0.02');
    const first = await suspects(id);
    await read(id, 'C2', '-11.8');
    const second = await got<SuspectsView>(`/machines/${id}/suspects?unit=west`);
    expect(second.suspects.length).toBeGreaterThan(0);
    expect(second.revision).toBeGreaterThan(first.revision);
    const { rows } = await got<SheetView>(`/machines/${id}/sheets/parts`);
    const { id: row, version } = rows[0]!;
    const edits = [{ row, version, cells: { value: '12k' } }];
    await done('PATCH', `/machines/${id}/sheets/parts`, { what: 'R1 is 12k', edits });
    expect((await got<SuspectsView>(`/machines/${id}/suspects?unit=west`)).table.state).toBe('working');
    expect((await suspects(id)).table.state).toBe('ready');
  });
});

describe('a sheet', () => {
  it('keeps what is typed and says at which cell something is wrong', async () => {
    const id = await imported();
    const { rows } = await got<SheetView>(`/machines/${id}/sheets/parts`);
    const row = rows[1]!;
    expect(row.cells).toMatchObject({ value: '4K7', shelf: '3' });
    const edits = [{ row: row.id, version: row.version, cells: { value: '4K7K' } }];
    const view = await done<SheetView>('PATCH', `/machines/${id}/sheets/parts`, { what: 'R2', edits });
    expect(view.rows[1]!.cells.value).toBe('4K7K');
    expect(view.findings).toEqual([
      expect.objectContaining({ severity: 'error', column: 'value', row: row.id, line: 3, found: '4K7K' }),
    ]);
    expect(await refused('GET', `/machines/${id}/suspects?unit=west`)).toMatchObject({ code: 'folder' });
    expect(await refused('PATCH', `/machines/${id}/sheets/parts`, { what: 'R2 again', edits })).toMatchObject(
      {
        status: 409,
        code: 'conflict',
        now: { id: row.id, cells: { value: '4K7K' } },
      },
    );
    await done('POST', `/machines/${id}/undo`);
    expect((await got<SheetView>(`/machines/${id}/sheets/parts`)).findings).toEqual([]);
  });

  it('of the machine’s head is changed in the same way', async () => {
    const id = await imported();
    const head = await got<HeadView>(`/machines/${id}/head`);
    const json = { ...head.json, ambient: 'warm' };
    const change = { version: head.version, json, what: 'room' };
    const view = await done<HeadView>('PATCH', `/machines/${id}/head`, change);
    expect(view.findings).toEqual([expect.objectContaining({ column: 'ambient', severity: 'error' })]);
    expect(await refused('PATCH', `/machines/${id}/head`, change)).toMatchObject({ status: 409 });
  });
});

describe('a repair', () => {
  it('lists the points that departed since it began, and which are back', async () => {
    const id = await imported();
    const take = (point: string, text: string) =>
      done<TakenView>('POST', `/machines/${id}/readings`, {
        unit: 'west',
        state: 'held low',
        point,
        quantity: 'V',
        text,
      });
    await take('C1', '-0.1');
    await take('C2', '-8');
    await take('IN', '-0.12');
    const path = `/machines/${id}/repair?unit=west`;
    const open = await got<RepairView>(path);
    expect(open.readings).toBe(3);
    expect(
      open.rows.map(({ point, departed, now }) => [point, departed.value, now.id === departed.id]),
    ).toEqual([
      ['C1', -0.1, true],
      ['C2', -8, true],
    ]);
    expect(open.rows.every(({ departed }) => departed.verdict === 'departs')).toBe(true);

    const after = await take('C1', '-9.5');
    const mended = await got<RepairView>(path);
    expect(mended.rows[0]).toMatchObject({
      point: 'C1',
      departed: { value: -0.1 },
      now: { id: after.reading, value: -9.5, verdict: 'sound' },
    });
    expect(mended.rows[1]!.now.verdict).toBe('departs');

    // A withdrawn reading never was; a repair that ended earlier knows nothing of later readings.
    await done('POST', `/machines/${id}/readings/${after.reading}/withdraw`, {});
    expect((await got<RepairView>(path)).rows[0]!.now.value).toBe(-0.1);
    const [first] = await got<ReadingView[]>(`/machines/${id}/readings?unit=west&point=C1`);
    const until = encodeURIComponent(first!.takenAt);
    expect((await got<RepairView>(`${path}&until=${until}`)).readings).toBe(1);
    expect((await got<RepairView>(`${path}&from=${until}`)).rows.map(({ point }) => point)).toEqual(['C2']);
    expect(await refused('GET', `/machines/${id}/repair?unit=moon`)).toMatchObject({ code: 'unknown-unit' });
  });

  it('finds the description by its mark, which readings leave and a part changes', async () => {
    const id = await imported();
    const mark = async () => (await got<MachineView>(`/machines/${id}`)).mark;
    const before = await mark();
    expect(before).toMatch(/^[0-9a-f]{6}$/);
    const reading = { unit: 'west', state: 'held low', point: 'C1', quantity: 'V', text: '-1' };
    await done('POST', `/machines/${id}/readings`, reading);
    expect(await mark()).toBe(before);
    const { rows } = await got<SheetView>(`/machines/${id}/sheets/parts`);
    const edit = { row: rows[0]!.id, version: rows[0]!.version, cells: { value: '12k' } };
    await done('PATCH', `/machines/${id}/sheets/parts`, { edits: [edit], what: 'R1 is 12k' });
    expect(await mark()).not.toBe(before);
  });
});

describe('the log', () => {
  it('holds entries by unit, found by their words, superseded and never overwritten', async () => {
    const id = await imported();
    const entry = {
      unit: 'west',
      kind: 'finding',
      text: 'C1 does not move',
      points: ['C1'],
      suspects: ['A/Q1:short-ce'],
    };
    const added = await done<LogEntryView>('POST', `/machines/${id}/log`, entry);
    expect(added).toMatchObject({ ...entry, superseded: false, replaces: '' });
    const path = `/machines/${id}/log/${encodeURIComponent(added.id)}/supersede`;
    const newer = await done<LogEntryView>('POST', path, { ...entry, text: 'C1 sticks at 0 V' });
    expect(newer.replaces).toBe(added.id);
    const log = await got<LogEntryView[]>(`/machines/${id}/log?unit=west`);
    expect(log.map(({ text, superseded }) => [text, superseded])).toEqual([
      ['C1 does not move', true],
      ['C1 sticks at 0 V', false],
    ]);
    expect(await got<LogEntryView[]>(`/machines/${id}/log?search=sticks`)).toHaveLength(1);
    expect(await got<LogEntryView[]>(`/machines/${id}/log?unit=east`)).toEqual([]);
    expect(await refused('POST', `/machines/${id}/log/none/supersede`, entry)).toMatchObject({ status: 404 });
  });
});

describe('a photograph', () => {
  it('is kept byte for byte, turned, marked, removed and brought back', async () => {
    const id = await imported();
    const path = `/machines/${id}/photographs`;
    const added = await done<PhotographView>(
      'POST',
      `${path}?board=A&side=copper&unit=west`,
      PNG,
      'image/png',
    );
    expect(added).toMatchObject({ board: 'A', side: 'copper', unit: 'west', turn: 0, mirrored: false });
    const picture = await sent('GET', `${path}/${added.id}`);
    expect(picture.headers.get('content-type')).toBe('image/png');
    expect(picture.headers.get('content-disposition')).toMatch(/^inline; filename="photograph-\d+\.png"$/);
    expect(new Uint8Array(await picture.arrayBuffer())).toEqual(PNG);
    const change = { version: added.version, turn: 90, mirrored: true };
    expect(await done('PATCH', `${path}/${added.id}`, change)).toMatchObject({ turn: 90, mirrored: true });
    const mark = { board: 'A', side: 'copper', mark: 'A/Q1.c', x: 0.25, y: 0.75 };
    await done('PUT', `/machines/${id}/placements`, mark);
    await done('PUT', `/machines/${id}/placements`, { ...mark, x: 0.5 });
    expect(await got<PlacementView[]>(`/machines/${id}/placements`)).toEqual([{ ...mark, unit: '', x: 0.5 }]);
    await done('PUT', `/machines/${id}/placements`, { ...mark, unit: 'west' });
    expect(await got<PlacementView[]>(`/machines/${id}/placements`)).toHaveLength(2);
    await done('DELETE', `/machines/${id}/placements?board=A&side=copper&unit=west&mark=A%2FQ1.c`);
    await done('DELETE', `/machines/${id}/placements?board=A&side=copper&mark=A%2FQ1.c`);
    expect(await got(`/machines/${id}/placements`)).toEqual([]);
    await done('DELETE', `${path}/${added.id}`);
    expect(await got(path)).toEqual([]);
    await done('POST', `/machines/${id}/undo`);
    expect(await got<PhotographView[]>(path)).toHaveLength(1);
  });
});

describe('the record', () => {
  it('tells every window of a change, whoever made it', async () => {
    const id = await imported();
    const response = await sent('GET', '/events');
    expect(response.headers.get('content-type')).toMatch(/^text\/event-stream/);
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader();
    const other = await openRecord(record.path, { clock: () => new Date() });
    const taken = { unit: 'west', condition: 'held low', point: 'C1', quantity: 'V', value: '-1' };
    const { revision } = await other.takeReading(id, taken);
    await other.close();
    let text = '';
    while (!text.includes('changed')) text += (await reader.read()).value;
    expect(text).toContain(`data: {"kind":"changed","machines":[{"id":${id},"revision":${revision}}]}`);
    await reader.cancel();
    expect(await got<ReadingView[]>(`/machines/${id}/readings?unit=west`)).toHaveLength(1);
  });

  it('is backed up into a file that opens', async () => {
    await imported();
    const to = join(folder, 'copy.sisterboard');
    expect(await done('POST', '/backup', { to })).toMatchObject({ file: to });
    const copy = await openRecord(to, { clock: () => new Date() });
    expect(await copy.machines()).toHaveLength(1);
    await copy.close();
    const { file } = await done<{ file: string }>('POST', '/backup', {});
    expect(existsSync(file)).toBe(true);
    expect(file.startsWith(`${record.path}.2024-11-09T18-`)).toBe(true);
    expect(await refused('POST', '/backup', { to })).toMatchObject({ code: 'there-already' });
  });
});
