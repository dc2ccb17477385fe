import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readMachine } from '../machine/index.ts';
import { folderFiles } from './folder-files.ts';
import { openRecord } from './open-record.ts';
import type { WorkshopRecord } from './workshop-record.ts';

const DEMO = fileURLToPath(new URL('../../demo/tide-gauge', import.meta.url));
const clock = () => new Date('2026-10-03T09:00:00Z');

let place: string;
let record: WorkshopRecord;
beforeEach(async () => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  record = await openRecord(join(place, 'record.sisterboard'), { clock, create: true });
});
afterEach(async () => {
  await record.close();
  rmSync(place, { recursive: true });
});

const demo = async () => record.importFolder(await folderFiles(DEMO));

describe('the record', () => {
  it('gives back the demo machine that it took in', async () => {
    const files = await folderFiles(DEMO);
    const { id, parts, boards } = await record.importFolder(files);
    const machine = readMachine(files).machine!;
    expect(parts).toBe(machine.parts.length);
    expect(boards).toBeGreaterThan(3);
    const back = readMachine(await record.folder(id));
    expect(back.machine).toEqual(machine);
  });

  it('takes a reading, and back with undo, and never deletes it', async () => {
    const { id } = await demo();
    const reading = { unit: 'south', condition: 'counter 0', point: '-24V', quantity: 'V', value: '-23,1' };
    await expect(record.takeReading(id, { ...reading, value: 'minus' })).rejects.toMatchObject({
      code: 'not-a-number',
    });
    const taken = await record.takeReading(id, reading);
    const last = (await record.readings(id, { unit: 'south', point: '-24V' })).at(-1)!;
    expect(last).toMatchObject({ id: taken.reading, value: '-23.1', superseded: false });
    await record.undo(id);
    expect((await record.readings(id, { unit: 'south' })).at(-1)).toMatchObject({ withdrawn: true });
    expect(await record.undo(id)).toMatchObject({ what: 'import Harbour tide gauge totaliser' });
    expect(await record.machines()).toEqual([]);
  });
});
