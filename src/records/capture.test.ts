/** Captures in the record: read whole or not at all, given back as they were, taken away and brought back. */

import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Trace } from '../waveform/index.ts';
import { CaptureRefusal } from './capture-refusal.ts';
import { statesOf } from './capture-series.ts';
import { importableFiles } from './folder-files.ts';
import { freshPlace, type Place, TURNSTILE } from './test-record.ts';
import { writeFolder } from './whole-write.ts';
import type { WorkshopRecord } from './workshop-record.ts';

let place: Place;
let record: WorkshopRecord;
let id: number;
beforeEach(async () => {
  place = freshPlace();
  record = await place.open();
  ({ id } = await record.createMachine(TURNSTILE));
});
afterEach(() => place.end());

const encoder = new TextEncoder();
const TABLE = 'Time,CH1,CH2\ns,V,mV\n0,-6.5,100\n1e-6,-6.25,200\n2e-6,-0.125,300\n3e-6,,400\n';
const DUMP =
  '$timescale 1us $end $var wire 2 ! count $end $enddefinitions $end\n#0 b00 !\n#5 b01 !\n#9 bx0 !\n#12\n';
const LONG = `Time,CH1,CH2\ns,V,mV\n${Array.from({ length: 1000 }, (_, i) => `${i}e-6,${i % 7},-1\n`).join('')}`;
const FACTS = { unit: 'town', condition: 'rest', takenAt: '2026-10-03T15:40', instrument: 'bench scope' };

/** 8 bits, mono: 128 is zero, 255 nearly full scale. */
function sound(...values: number[]): Uint8Array {
  const bytes = new Uint8Array(44 + values.length);
  const data = new DataView(bytes.buffer);
  bytes.set(encoder.encode('RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0'));
  data.setUint32(24, 8000, true);
  data.setUint32(28, 8000, true);
  data.setUint16(32, 1, true);
  data.setUint16(34, 8, true);
  bytes.set(encoder.encode('data'), 36);
  data.setUint32(40, values.length, true);
  bytes.set(values, 44);
  return bytes;
}

function add(file: string, content: string | Uint8Array, more: object = {}) {
  const bytes = typeof content === 'string' ? encoder.encode(content) : content;
  return record.addCapture(id, { file, ...FACTS, ...more }, [bytes]);
}

async function folderText(name: string): Promise<string> {
  return new TextDecoder().decode((await record.folder(id)).get(name));
}

describe('a capture', () => {
  it('is listed with its channels, and their samples come back', async () => {
    const { capture } = await add('step.csv', TABLE, { points: ['STEP', 'CARRY'] });
    const [entry] = await record.captures(id);
    expect(entry).toMatchObject({
      id: capture,
      file: 'step.csv',
      kind: 'text',
      size: TABLE.length,
      ...FACTS,
    });
    expect(entry!.channels).toEqual([
      {
        ...{ index: 0, name: 'CH1', unit: 'V', point: 'STEP', kind: 'trace', width: 0, samples: 4 },
        ...{ start: 0, end: 3e-6, step: 1e-6, min: -6.5, max: -0.125 },
      },
      expect.objectContaining({ index: 1, name: 'CH2', unit: 'V', point: 'CARRY', max: Math.fround(0.4) }),
    ]);
    const trace = (await record.captureTrace(id, capture, 0)) as Trace;
    expect(trace).toEqual({
      ...{ name: 'CH1', unit: 'V', timebase: { start: 0, step: 1e-6 } },
      values: Float32Array.of(-6.5, -6.25, -0.125, Number.NaN),
    });
    const { size, pieces } = await record.captureSamples(id, capture, 0);
    const bytes = Buffer.concat([...pieces]);
    expect([size, bytes.length, bytes.readFloatLE(4)]).toEqual([16, 16, -6.25]);
  });

  it('whose samples have instants of their own gives the instants before the values', async () => {
    const { capture } = await add('uneven.csv', 'Time,CH1\ns,V\n0,1\n1,2\n5,3\n7,4\n');
    expect((await record.captures(id))[0]!.channels[0]!.step).toBeNull();
    const { size, pieces } = await record.captureSamples(id, capture, 0);
    const bytes = Buffer.concat([...pieces]);
    expect([size, bytes.readDoubleLE(16), bytes.readFloatLE(32)]).toEqual([48, 5, 1]);
    expect(await record.captureTrace(id, capture, 0)).toMatchObject({
      timebase: { stamps: Float64Array.of(0, 1, 5, 7) },
      values: Float32Array.of(1, 2, 3, 4),
    });
  });

  it('of a logic analyser keeps instants and states', async () => {
    const { capture } = await add('count.vcd', DUMP, { points: ['CARRY'] });
    expect((await record.captures(id))[0]).toMatchObject({
      kind: 'vcd',
      channels: [{ name: 'count', kind: 'logic', width: 2, samples: 3, end: 12e-6, step: null, min: null }],
    });
    const trace = await record.captureTrace(id, capture, 0);
    expect(trace).toMatchObject({ width: 2, states: ['00', '01', 'x0'], end: 12e-6 });
    const { pieces } = await record.captureSamples(id, capture, 0);
    const bytes = Buffer.concat([...pieces]);
    expect([...statesOf(bytes.subarray(24), 2)]).toEqual(['00', '01', 'x0']);
  });

  it('of many pieces comes back to the bit, as a file and as samples', async () => {
    const rows = Array.from({ length: 300_000 }, (_, i) => `${(7 + Math.sin(i) * 6).toFixed(3)}`);
    const text = `Sample Interval,1e-6\nCH1\n${rows.join('\n')}\n`;
    const bytes = encoder.encode(text);
    const pieces = function* () {
      for (let at = 0; at < bytes.length; at += 50_000) yield bytes.slice(at, at + 50_000);
    };
    const read: number[] = [];
    const { capture } = await record.addCapture(id, { file: 'long.txt' }, pieces(), (n) => read.push(n));
    expect(read.at(-1)).toBe(bytes.length);
    const trace = (await record.captureTrace(id, capture, 0)) as Trace;
    expect(trace.values).toEqual(Float32Array.from(rows, Number));
    expect(Buffer.from((await record.folder(id)).get('captures/long.txt')!).equals(bytes)).toBe(true);
  });

  it.each([
    ['rubbish', 'what a day', /row 1/],
    ['nothing', '', /holds nothing/],
    ['a table that turns to rubbish', `${LONG}2e-3,x,y\n${LONG}`, /row 1003 column CH1/],
    ['a file without an interval', 'CH1\n1\n2\n3\n', /sample interval is missing/],
    ['a cut sound file', sound(1, 2).slice(0, 30), /before the header|no samples/],
    ['changes of no signal', DUMP.replace('b01 !', 'b01 ?'), /row 3.*no \$var defines/],
  ])('of %s is refused with the place named, and nothing is kept', async (_, content, words) => {
    const revision = (await record.machine(id)).revision;
    const refused = add('bad.csv', content);
    await expect(refused).rejects.toThrow(words);
    await expect(refused).rejects.toBeInstanceOf(CaptureRefusal);
    expect(await record.captures(id)).toEqual([]);
    expect((await record.machine(id)).revision).toBe(revision);
    expect([...(await record.folder(id)).keys()].filter((name) => name.startsWith('capture'))).toEqual([]);
  });

  it('whose bytes stop coming leaves nothing', async () => {
    const torn = async function* () {
      yield encoder.encode(TABLE);
      throw new Error('cable');
    };
    await expect(record.addCapture(id, { file: 'torn.csv' }, torn())).rejects.toThrow('cable');
    expect(await record.captures(id)).toEqual([]);
  });

  it.each([
    [{ unit: 'twon' }, /no unit "twon"; did you mean town/],
    [{ condition: 'rset' }, /no state "rset"/],
    [{ points: ['STOP'] }, /no point "STOP"/],
    [{ points: ['STEP', 'CARRY', 'TENS'] }, /3 points for 2 channels/],
    [{ takenAt: 'yesterday' }, /no ISO 8601 date/],
  ])('of %j is refused', async (more, words) => {
    await expect(add('step.csv', TABLE, more)).rejects.toThrow(words);
    expect(await record.captures(id)).toEqual([]);
  });

  it.each([
    ['../../etc/passwd', 'etc-passwd.csv'],
    ['C:\\scope\\a.b.TXT', 'C-scope-a-b.txt'],
    ['.html', 'capture.csv'],
    ['page.html', 'page.csv'],
    ['con?.csv', 'con.csv'],
  ])('called %s is kept as %s', async (file, kept) => {
    await add(file, TABLE);
    await add(file, TABLE);
    const names = (await record.captures(id)).map((entry) => entry.file);
    expect(names).toEqual([kept.replace('.', '-2.'), kept]);
  });

  it('is taken away and brought back', async () => {
    const { capture } = await add('step.csv', TABLE, { points: ['STEP'] });
    const before = await record.folder(id);
    await record.removeCapture(id, capture);
    expect(await record.captures(id)).toEqual([]);
    expect([...(await record.folder(id)).keys()]).not.toContain('captures/step.csv');
    await expect(record.captureSamples(id, capture, 0)).rejects.toMatchObject({ code: 'no-capture' });
    expect(await record.undo(id)).toMatchObject({ what: 'remove a capture' });
    expect(await record.folder(id)).toEqual(before);
    expect((await record.captures(id))[0]!.channels[0]!.point).toBe('STEP');
    expect(await record.undo(id)).toMatchObject({ what: 'capture step.csv' });
    expect(await record.captures(id)).toEqual([]);
    // Its name is not given to another one: it may be brought back.
    await add('step.csv', TABLE);
    expect((await record.captures(id))[0]!.file).toBe('step-2.csv');
  });

  it('is said to be something else without its file being touched', async () => {
    const { capture } = await add('step.csv', TABLE, { points: ['STEP'] });
    const { version } = (await record.captures(id))[0]!;
    await record.changeCapture(id, capture, version, { unit: 'island', note: 'warm', points: ['', 'TENS'] });
    const [entry] = await record.captures(id);
    expect(entry).toMatchObject({ unit: 'island', condition: 'rest', note: 'warm' });
    expect(entry!.channels.map(({ point }) => point)).toEqual(['', 'TENS']);
    await expect(record.changeCapture(id, capture, version, { note: 'x' })).rejects.toMatchObject({
      code: 'conflict',
    });
    await expect(record.changeCapture(id, capture, undefined, { points: ['NO'] })).rejects.toMatchObject({
      code: 'unknown-point',
    });
    await record.undo(id);
    const [back] = await record.captures(id);
    expect(back).toMatchObject({ unit: 'town', note: '' });
    expect(back!.channels.map(({ point }) => point)).toEqual(['STEP', '']);
  });
});

describe('what was understood', () => {
  const SEMICOLONS = 'time;A\n0;1\n1;2\n2;3\n3;4\n';

  it('and corrected is taken again for the next file of the instrument', async () => {
    const { understanding } = await record.understoodCapture(encoder.encode(SEMICOLONS), 'a.csv');
    const [time, channel] = understanding!.columns;
    const columns = [
      { ...time!, factor: 1e-3 },
      { ...channel!, unit: 'V', probe: 10 },
    ];
    await add('a.csv', SEMICOLONS, { wish: { understanding: { ...understanding!, columns } } });
    const next = await record.understoodCapture(encoder.encode(SEMICOLONS.replace('1;2', '1;9')), 'b.csv');
    expect(next).toMatchObject({ remembered: true, understanding: { columns } });
    const { capture } = await add('b.csv', SEMICOLONS);
    const trace = (await record.captureTrace(id, capture, 0)) as Trace;
    expect(trace).toMatchObject({ unit: 'V', timebase: { start: 0, step: 1e-3 } });
    expect([...trace.values]).toEqual([10, 20, 30, 40]);
  });

  it('of a sound card is its full scale, by its name', async () => {
    const wish = { fullScale: 2 };
    await add('a.wav', sound(128, 192, 64, 128), { instrument: 'sound card', wish });
    const { capture } = await add('b.wav', sound(128, 192, 64, 128), { instrument: 'sound card' });
    expect([...((await record.captureTrace(id, capture, 0)) as Trace).values]).toEqual([0, 1, -1, 0]);
    const head = sound(128, 128);
    expect(await record.understoodCapture(head, 'c.wav', { instrument: 'sound card' })).toMatchObject({
      ...{ kind: 'wav', remembered: true, fullScale: 2 },
    });
    expect(await record.understoodCapture(head, 'c.wav')).toMatchObject({ remembered: false });
  });
});

describe('a folder with captures', () => {
  async function folderOfAll(): Promise<Map<string, Uint8Array>> {
    await add('step.csv', TABLE, { points: ['STEP', 'CARRY'], note: 'both' });
    await add('count.vcd', DUMP, { points: ['CARRY'] });
    await add('hum.wav', sound(128, 192, 64, 128), { wish: { fullScale: 2 } });
    return record.folder(id);
  }

  it('goes out and in again without loss, and its channels are read again', async () => {
    const files = await folderOfAll();
    expect(new TextDecoder().decode(files.get('captures/step.csv'))).toBe(TABLE);
    const twin = await record.importFolder(files, { name: 'Turnstile' });
    const back = await record.folder(twin.id);
    for (const [name, bytes] of files)
      if (name !== 'machine.json') expect([name, back.get(name)]).toEqual([name, bytes]);
    const of = async (machine: number) =>
      (await record.captures(machine)).map(({ id: _, version: __, ...entry }) => entry);
    expect(new Set(await of(twin.id))).toEqual(new Set(await of(id)));
    const hum = (await record.captures(twin.id)).find(({ kind }) => kind === 'wav')!;
    expect([...((await record.captureTrace(twin.id, hum.id, 0)) as Trace).values]).toEqual([0, 1, -1, 0]);
  });

  it('made by hand is read with the factors and offsets of its channels', async () => {
    const files = new Map(await record.folder(id));
    const put = (name: string, text: string) => files.set(name, encoder.encode(text));
    put('captures/a.csv', 'Time,CH1,7\ns,V,V\n0,1,1\n1,2,2\n2,3,3\n');
    files.set('captures/hum.wav', sound(128, 192, 64, 128));
    put('captures.csv', 'file,unit\na.csv,town\nhum.wav,town\nlost.csv,town\n');
    put(
      'capture-channels.csv',
      'file,channel,point,factor,offset\na.csv,CH1,STEP,10,0.5\na.csv,2,,-1,\nhum.wav,1,,4,1\n',
    );
    const { id: made } = await record.importFolder(files);
    const entries = new Map((await record.captures(made)).map((entry) => [entry.file, entry]));
    const values = async (file: string, index: number) =>
      Array.from(((await record.captureTrace(made, entries.get(file)!.id, index)) as Trace).values);
    expect(await values('a.csv', 0)).toEqual([10.5, 20.5, 30.5]);
    expect(await values('a.csv', 1)).toEqual([-1, -2, -3]);
    expect(await values('hum.wav', 0)).toEqual([1, 3, -1, 1]);
    expect(entries.get('lost.csv')).toMatchObject({ size: 0, channels: [] });
    expect(new TextDecoder().decode((await record.folder(made)).get('captures.csv'))).toBe(
      'file,unit\na.csv,town\nhum.wav,town\nlost.csv,town\n',
    );
  });

  it('of which one cannot be read is refused with the row named', async () => {
    const files = new Map(await record.folder(id));
    files.set('captures/a.csv', encoder.encode(`${LONG}x,y,z\n`));
    files.set('captures.csv', encoder.encode('file,unit\na.csv,town\n'));
    await expect(record.importFolder(files)).rejects.toThrow(/captures\/a\.csv row 1003/);
    files.set('captures/a.csv', encoder.encode(TABLE));
    files.set('captures.csv', encoder.encode('file,understanding\na.csv,"{""kind"":""text""}"\n'));
    await expect(record.importFolder(files)).rejects.toThrow(/captures\.csv column understanding/);
    expect(await record.machines()).toHaveLength(1);
  });

  it('is in a backup with all of it', async () => {
    const files = await folderOfAll();
    const copy = `${place.file}.copy`;
    await record.backup(copy);
    const { openRecord } = await import('./open-record.ts');
    const backup = await openRecord(copy, { clock: () => new Date(0) });
    expect(await backup.folder(id)).toEqual(files);
    expect(await backup.captures(id)).toEqual(await record.captures(id));
    await backup.close();
  });

  it('is written out piece by piece, as a whole one would be', async () => {
    const files = await folderOfAll();
    const out = join(place.folder, 'out');
    await writeFolder(out, await record.folderPieces(id));
    expect(await importableFiles(out)).toEqual(new Map([...files].sort()));
  });

  it('tells its captures in the tables that are only read', async () => {
    await folderOfAll();
    expect((await record.tables(id)).get('captures/step.csv')).toEqual(new Uint8Array());
    expect(await folderText('capture-channels.csv')).toContain('step.csv,CH1,STEP');
  });
});
