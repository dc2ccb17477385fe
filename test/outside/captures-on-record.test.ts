/**
 * The captures of the reference data, put on record and taken out again: what comes back is what the readers alone make of them,
 * which captures.test.ts and value-change.test.ts hold against independent readers.
 */
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CaptureReading, type CaptureWish } from '../../src/capture/index.ts';
import { openRecord, type WorkshopRecord } from '../../src/records/index.ts';
import { referenceFolder } from './captures-folder.ts';

const FILES = ['captures', 'vcd'].flatMap((folder) => {
  const path = referenceFolder(folder);
  const names = path === undefined ? [] : readdirSync(path);
  return names
    .filter((name) => /^[^e].*\.(csv|txt|vcd)$/.test(name))
    .map((name) => [name, join(path!, name)]);
});

/** Files of values alone state no interval: a person does. */
const wish: CaptureWish = {
  correct: (form) =>
    form.interval === undefined && !form.columns.some(({ role }) => role === 'time')
      ? { ...form, interval: 1e-6 }
      : form,
};

let place: string;
let record: WorkshopRecord;
let id: number;
beforeAll(async () => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  record = await openRecord(join(place, 'record'), { clock: () => new Date(0), create: true });
  ({ id } = await record.createMachine({
    ...{ name: 'Crane', reference: '0V', rails: [], units: [{ id: 'north', health: 'healthy' }] },
    boards: [{ name: 'A', pins: ['OUT'] }],
  }));
});
afterAll(async () => {
  await record.close();
  rmSync(place, { recursive: true });
});

describe.skipIf(FILES.length === 0)('a capture on record', () => {
  it.each(FILES)('%s is as it was read, and comes through a folder unchanged', async (name, path) => {
    const bytes = readFileSync(path!);
    const reading = new CaptureReading(name!, wish);
    reading.push(bytes);
    const { capture: alone } = reading.end();
    const channels = [...alone!.traces, ...alone!.logic];
    const { capture } = await record.addCapture(id, { file: name!, wish }, [bytes]);
    const back = async (machine: number, entry: number) =>
      Promise.all(channels.map((_, i) => record.captureTrace(machine, entry, i)));
    expect(await back(id, capture)).toEqual(channels);
    const twin = await record.importFolder(await record.folder(id));
    const [entry] = await record.captures(twin.id);
    expect(entry!.channels).toHaveLength(channels.length);
    expect(await back(twin.id, entry!.id)).toEqual(channels);
    const files = await record.folder(twin.id);
    expect(Buffer.from(files.get(`captures/${entry!.file}`)!).equals(bytes)).toBe(true);
    await record.removeMachine(twin.id);
    await record.removeCapture(id, capture);
  });
});
