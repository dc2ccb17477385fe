import { mkdtempSync, rmSync } from 'node:fs';
import type { Server } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openRecord, type WorkshopRecord } from '../records/index.ts';
import { application } from './app.ts';
import type { CaptureEntry, TakenCapture, UnderstoodView } from './capture-views.ts';
import { RecordWorkshop } from './record-workshop.ts';
import { httpServer } from './serve.ts';
import type { EventView, Refusal } from './views.ts';

const SECRET = 'a-secret-of-the-test-and-of-nothing-else';
const clock = (): Date => new Date('2024-11-09T18:00:00Z');
const TABLE = 'Time,CH1,CH2\ns,V,mV\n0,-6.5,100\n1e-6,-6.25,200\n2e-6,-0.125,300\n';
const DUMP =
  '$timescale 1us $end $var wire 2 ! n $end $enddefinitions $end\n#0 b00 !\n#5 b01 !\n#9 bx0 !\n#12\n';

let folder: string;
let record: WorkshopRecord;
let workshop: RecordWorkshop;
let server: Server;
let port: number;
let id: number;
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  record = await openRecord(join(folder, 'record'), { clock, create: true });
  workshop = new RecordWorkshop(record, clock, undefined);
  const app = application(workshop, { secret: SECRET, port: () => port }, join(folder, 'no-pages'));
  server = httpServer(app.fetch);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  port = (server.address() as AddressInfo).port;
  ({ id } = await record.createMachine({
    ...{
      name: 'Turnstile',
      reference: '0V',
      rails: [],
      boards: [{ name: 'COUNT', pins: ['STEP', 'CARRY'] }],
    },
    units: [{ id: 'town', health: 'healthy' }],
    states: [{ name: 'rest' }],
  }));
});
afterEach(async () => {
  server.closeAllConnections();
  await new Promise((done) => server.close(done));
  await workshop.close();
  await record.close();
  rmSync(folder, { recursive: true });
});

const HEADERS = () => ({
  cookie: `sisterboard-${port}=${SECRET}`,
  origin: `http://127.0.0.1:${port}`,
  'content-type': 'application/octet-stream',
});

function sent(method: string, path: string, body?: string | Uint8Array | object): Promise<Response> {
  const file = typeof body === 'string' || body instanceof Uint8Array;
  return fetch(`http://127.0.0.1:${port}/api/machines/${id}/captures${path}`, {
    method,
    headers: { ...HEADERS(), ...(file ? {} : { 'content-type': 'application/json' }) },
    ...(body === undefined
      ? {}
      : { body: file ? new Uint8Array(Buffer.from(body as string)) : JSON.stringify(body) }),
  });
}

const FACTS = { unit: 'town', state: 'rest', takenAt: '2024-11-09T17:30', instrument: 'scope', note: '' };
const about = (more: object) => `?about=${encodeURIComponent(JSON.stringify({ ...FACTS, ...more }))}`;

async function taken(file: string, content: string | Uint8Array, more: object = {}): Promise<TakenCapture> {
  const response = await sent('POST', about({ file, ...more }), content);
  expect(response.status).toBe(201);
  return (await response.json()) as TakenCapture;
}

async function listed(): Promise<CaptureEntry[]> {
  return (await (await sent('GET', '')).json()) as CaptureEntry[];
}

describe('what was measured on a capture', () => {
  const RUNNING = {
    'machine.json': JSON.stringify({
      ...{ format: 1, name: 'Ferry clock', reference: '0V', ambient: 20 },
      rails: [{ net: '-12V', volts: -12, tolerance: 5 }],
      units: [{ id: 'bow', health: 'healthy' }],
    }),
    'parts.csv': 'board,ref,kind,value,pins\nA,R1,resistor,1k,1=IN 2=OUT\nA,R2,resistor,2k,1=OUT 2=0V\n',
    'conditions.csv':
      'condition,net,role,volts,ohms,wave\nrest,IN,drive,-6,,\nclocked,IN,drive,,,pulses low=-6 high=0 width=20u period=100u\n',
  };

  async function read(machine: number, more: object) {
    const path = `http://127.0.0.1:${port}/api/machines/${machine}/readings`;
    const headers = { ...HEADERS(), 'content-type': 'application/json' };
    const reading = { unit: 'bow', state: 'clocked', point: 'OUT', ...more };
    const answer = await fetch(path, { method: 'POST', headers, body: JSON.stringify(reading) });
    return { status: answer.status, ...((await answer.json()) as object) };
  }

  it('is a reading of a running state, with its uncertainty, and of no other', async () => {
    const bytes = Object.entries(RUNNING).map(
      ([name, text]) => [name, new TextEncoder().encode(text)] as const,
    );
    const { id: machine } = await record.importFolder(new Map(bytes));
    const width = { quantity: 'width', text: '20.4 us', uncertainty: '40n' };
    expect(await read(machine, width)).toMatchObject({ status: 201, value: 20.4e-6 });
    expect(await read(machine, { quantity: 'delay:IN', text: '2e-7' })).toMatchObject({ status: 201 });
    expect(await read(machine, { quantity: 'moves', text: '1' })).toMatchObject({ status: 201, value: 1 });
    const kept = await record.readings(machine);
    expect(kept.map(({ quantity, value, uncertainty }) => [quantity, value, uncertainty])).toEqual([
      ['width', '20.4u', '40n'],
      ['delay:IN', '2e-7', ''],
      ['moves', '1', ''],
    ]);
    for (const [wrong, code] of [
      [{ quantity: 'V', text: '-6' }, 'wrong-kind'],
      [{ quantity: 'width', text: '20u', state: 'rest' }, 'wrong-kind'],
      [{ quantity: 'delay:NOWHERE', text: '20u' }, 'unknown-point'],
      [{ quantity: 'width', text: '-6 V' }, 'wrong-unit'],
    ] as const) {
      expect(await read(machine, wrong)).toMatchObject({ status: 422, error: { code } });
    }
    expect(await record.readings(machine)).toHaveLength(3);
    const view = await fetch(`http://127.0.0.1:${port}/api/machines/${machine}/readings`, {
      headers: HEADERS(),
    });
    expect(await view.json()).toMatchObject([
      { quantity: 'width', text: '20.4u', value: 20.4e-6 },
      {},
      { value: 1 },
    ]);
    const { findings } = (await (
      await fetch(`http://127.0.0.1:${port}/api/machines/${machine}`, { headers: HEADERS() })
    ).json()) as { findings: { severity: string }[] };
    expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  });
});

describe('a capture', () => {
  it('is understood, corrected, taken in and remembered', async () => {
    const path = '/understood?file=a.csv';
    const first = (await (await sent('POST', path, TABLE)).json()) as UnderstoodView;
    expect(first).toMatchObject({
      kind: 'text',
      faults: [],
      findings: [],
      remembered: false,
      fullScale: null,
    });
    expect(first.rows[2]).toEqual({ line: 3, cells: ['0', '-6.5', '100'] });
    const columns = first.understanding!.columns.map((column) => ({ ...column, probe: 10 }));
    const understanding = {
      ...first.understanding,
      columns: [first.understanding!.columns[0], ...columns.slice(1)],
    };
    const entry = await taken('a.csv', TABLE, { understanding, points: ['STEP'] });
    expect(entry).toMatchObject({ ...FACTS, file: 'a.csv', kind: 'text', findings: [] });
    expect(entry.channels.map(({ name, point, min, samples }) => [name, point, min, samples])).toEqual([
      ['CH1', 'STEP', -65, 3],
      ['CH2', '', 1, 3],
    ]);
    expect(await listed()).toMatchObject([{ id: entry.id, state: 'rest' }]);
    const next = (await (await sent('POST', path, TABLE)).json()) as UnderstoodView;
    expect(next).toMatchObject({ remembered: true, understanding: { columns: understanding.columns } });
  });

  it('of as many channels as a table may have is taken in as it was understood', async () => {
    const names = Array.from({ length: 255 }, (_, i) => `Channel ${i + 1} (V)`);
    const row = (t: number) => [t, ...names.map((_, i) => (i * t) % 7)].join(',');
    const text = `Time (s),${names.join(',')}\n${[0, 1, 2, 3, 4].map(row).join('\n')}\n`;
    const path = '/understood?file=wide.csv';
    const { understanding } = (await (await sent('POST', path, text)).json()) as UnderstoodView;
    const { channels } = await taken('wide.csv', text, { understanding, points: names.map(() => '') });
    expect(channels).toHaveLength(255);
  });

  it('is understood by the separator that a person gives', async () => {
    const path = '/understood?file=a.csv&separator=%3B&decimal=%2C';
    const { understanding } = (await (
      await sent('POST', path, 'a;b\n1;2,5\n2;3\n3;4\n')
    ).json()) as UnderstoodView;
    expect(understanding).toMatchObject({ separator: ';', decimal: ',' });
  });

  it('gives its samples as numbers', async () => {
    const { id: capture } = await taken('a.csv', TABLE);
    const answer = await sent('GET', `/${capture}/samples/1`);
    expect(Object.fromEntries(answer.headers)).toMatchObject({
      ...{ 'content-type': 'application/octet-stream', 'content-length': '12', 'x-samples': '3' },
      ...{ 'x-start': '0', 'x-step': '0.000001' },
    });
    expect(new Float32Array(await answer.arrayBuffer())).toEqual(Float32Array.of(0.1, 0.2, 0.3));
    const uneven = await taken('b.csv', 'Time,CH1\ns,V\n0,1\n1,2\n5,3\n');
    const stamped = await sent('GET', `/${uneven.id}/samples/0`);
    expect([stamped.headers.get('x-stamped'), stamped.headers.get('x-step')]).toEqual(['1', null]);
    const bytes = await stamped.arrayBuffer();
    expect(new Float64Array(bytes, 0, 3)).toEqual(Float64Array.of(0, 1, 5));
    expect(new Float32Array(bytes, 24)).toEqual(Float32Array.of(1, 2, 3));
  });

  it('of a logic analyser gives instants and states', async () => {
    const { id: capture } = await taken('a.vcd', DUMP);
    const answer = await sent('GET', `/${capture}/samples/0`);
    expect(await answer.json()).toEqual({
      ...{ width: 2, end: 12e-6, instants: [0, 5e-6, 9e-6], states: ['00', '01', 'x0'] },
    });
    // More than are written at a time.
    const changes = Array.from({ length: 40_000 }, (_, i) => `#${i}\nb${i % 2}1 !`).join('\n');
    const long = await taken('b.vcd', `${DUMP.split('\n')[0]}\n${changes}\n`);
    const { instants, states } = (await (await sent('GET', `/${long.id}/samples/0`)).json()) as {
      instants: number[];
      states: string[];
    };
    expect([instants.length, states.length, states[39_999]]).toEqual([40_000, 40_000, '11']);
    expect(instants[39_999]).toBeCloseTo(0.039999, 9);
  });

  it('is changed, taken away and brought back', async () => {
    const { id: capture, version } = await taken('a.csv', TABLE);
    const changed = await sent('PATCH', `/${capture}`, {
      version,
      state: '',
      points: ['', 'CARRY'],
      note: 'warm',
    });
    expect(await changed.json()).toMatchObject({ state: '', unit: 'town', note: 'warm' });
    expect((await sent('PATCH', `/${capture}`, { version, note: 'x' })).status).toBe(409);
    expect((await sent('PATCH', `/${capture}`, { unit: 'twon' })).status).toBe(422);
    expect((await sent('DELETE', `/${capture}`)).status).toBe(200);
    expect(await listed()).toEqual([]);
    expect((await sent('GET', `/${capture}/samples/0`)).status).toBe(404);
    await record.undo(id);
    expect((await listed())[0]!.channels[1]).toMatchObject({ point: 'CARRY' });
    expect((await sent('GET', `/${capture}/samples/2`)).status).toBe(404);
  });

  it('goes out in the machine’s archive and comes in with it', async () => {
    // Long enough to be packed in a thread of its own.
    const rows = Array.from({ length: 60_000 }, (_, i) => `${i}e-6,${(i * 7919) % 1009}\n`).join('');
    const { file } = await taken('long.csv', `Time,CH1\ns,V\n${rows}`, { points: ['STEP'] });
    const machines = `http://127.0.0.1:${port}/api/machines`;
    const archive = await fetch(`${machines}/${id}/export.zip`, { headers: HEADERS() });
    const imported = await fetch(`${machines}/import`, {
      method: 'POST',
      headers: HEADERS(),
      body: await archive.arrayBuffer(),
    });
    expect(imported.status).toBe(201);
    const { id: twin } = (await imported.json()) as { id: number };
    const path = `captures/${file}`;
    expect((await record.folder(twin)).get(path)).toEqual((await record.folder(id)).get(path));
    expect((await record.captures(twin))[0]!.channels[0]).toMatchObject({ samples: 60_000, point: 'STEP' });
  });

  it('that cannot be read is refused with line and column, and nothing is kept', async () => {
    const rows = Array.from({ length: 9000 }, (_, i) => `${i}e-6,${i % 7},1\n`).join('');
    const response = await sent(
      'POST',
      about({ file: 'a.csv' }),
      `Time,CH1,CH2\ns,V,V\n${rows}1e-2,x,1\n${rows}`,
    );
    expect(response.status).toBe(422);
    const { error } = (await response.json()) as Refusal;
    expect(error).toMatchObject({
      code: 'capture',
      findings: [{ file: 'a.csv', line: 9003, column: 'CH1' }],
    });
    expect(await listed()).toEqual([]);
  });

  it('that is refused while it is still being sent is refused with an answer', async () => {
    const rubbish = new Uint8Array(30_000_000);
    const response = await sent('POST', about({ file: 'a.csv' }), rubbish);
    expect([response.status, await response.json()]).toMatchObject([422, { error: { code: 'capture' } }]);
  });

  it('whose sender goes away is not kept', async () => {
    const before = (await record.machine(id)).revision;
    const lines = Object.entries({ ...HEADERS(), host: `127.0.0.1:${port}`, 'content-length': '1000000' });
    const socket = connect(port, '127.0.0.1');
    await new Promise<void>((done) =>
      socket.write(
        `POST /api/machines/${id}/captures${about({ file: 'a.csv' })} HTTP/1.1\r\n${lines.map(([k, v]) => `${k}: ${v}\r\n`).join('')}\r\n${TABLE}`,
        () => done(),
      ),
    );
    await new Promise((done) => setTimeout(done, 50));
    socket.destroy();
    await new Promise((done) => setTimeout(done, 50));
    expect([await listed(), (await record.machine(id)).revision]).toEqual([[], before]);
  });

  it('tells how far a long file is read', async () => {
    const events: EventView[] = [];
    workshop.onEvent((event) => events.push(event));
    const pieces = async function* () {
      yield new TextEncoder().encode(TABLE);
      await new Promise((done) => setTimeout(done, 120));
      yield new TextEncoder().encode('3e-6,1,1\n');
    };
    await workshop.addCapture(id, { file: 'a.csv' }, pieces(), TABLE.length + 9);
    const done = TABLE.length + 9;
    expect(events).toContainEqual({ kind: 'reading', machine: id, file: 'a.csv', done, total: done });
  });
});
