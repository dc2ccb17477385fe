/** Law: what goes into the record comes out of it, whatever the folder. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import {
  cellTable,
  defaultPoints,
  type Machine,
  machineFiles,
  netsOf,
  readMachine,
} from '../../src/machine/index.ts';
import { importableFiles, openRecord, type WorkshopRecord } from '../../src/records/index.ts';
import { foreign, machineOf, sketch } from './drawn-machine.ts';

let place: string;
let record: WorkshopRecord;
beforeAll(async () => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  record = await openRecord(join(place, 'record'), { clock: () => new Date(0), create: true });
});
afterAll(async () => {
  await record.close();
  rmSync(place, { recursive: true });
});

/** The machine with every name that must stand somewhere else taken from there, and every net fed. */
function consistent(machine: Machine): Machine {
  const { reference, units } = machine;
  const feeds = netsOf(machine).map((net, i): Machine['parts'][number] => ({
    ...{ board: 'FEED', ref: `R${i}`, name: `FEED/R${i}`, kind: 'resistor', type: '', value: 1000 },
    ...{ tolerance: 10, note: '' },
    pins: [
      { pin: '1', net },
      { pin: '2', net: reference },
    ],
  }));
  const parts = [...machine.parts, ...feeds];
  const nets = netsOf({ ...machine, parts });
  const rails = new Set([reference, ...machine.rails.map(({ net }) => net)]);
  const free = nets.filter((net) => !rails.has(net));
  const pick = <T>(from: readonly T[], name: string): T =>
    from[[...name].reduce((sum, letter) => sum + letter.codePointAt(0)!, 0) % from.length]!;
  const once = <T>(items: readonly T[], key: (item: T) => unknown): T[] => [
    ...new Map(items.map((item) => [key(item), item])).values(),
  ];
  const onFree = <T extends { net: string }>(items: readonly T[]): T[] =>
    free.length === 0
      ? []
      : once(
          items.map((item) => ({ ...item, net: pick(free, item.net) })),
          ({ net }) => net,
        );
  const conditions = machine.conditions.map((one) => ({
    ...one,
    drives: onFree(one.drives),
    hints: onFree(one.hints),
  }));
  const wired = { ...machine, parts, conditions };
  const usual = defaultPoints(machine);
  const stated =
    machine.points.length !== usual.length ||
    machine.points.some((point, i) => point.point !== usual[i]!.point);
  return {
    ...wired,
    points: stated
      ? once(
          machine.points.map((point) => ({ ...point, point: pick(nets, point.point) })),
          ({ point }) => point,
        )
      : defaultPoints(wired),
    readings:
      units.length === 0 || conditions.length === 0
        ? []
        : machine.readings.map((reading) => ({
            ...reading,
            unit: pick(units, reading.unit).id,
            condition: pick(conditions, reading.condition).name,
            point: pick(nets, reading.point),
          })),
  };
}

const bytes = (files: ReadonlyMap<string, string>): Map<string, Uint8Array> =>
  new Map([...files].map(([file, text]) => [file, new TextEncoder().encode(text)]));
const text = (content: Uint8Array | undefined): string =>
  new TextDecoder('utf-8', { ignoreBOM: true }).decode(content);

/** What a folder says, file by file: machine.json parsed, tables as cells, anything else as it is. */
function said(files: ReadonlyMap<string, Uint8Array>): Record<string, unknown> {
  return Object.fromEntries(
    [...files].sort().map(([file, content]) => {
      if (file.endsWith('.json')) return [file, JSON.parse(text(content).replace(/^\uFEFF/, ''))];
      return [file, file.endsWith('.csv') ? cellTable(file, text(content)) : content];
    }),
  );
}

describe('a machine folder', () => {
  it('of the demo comes out of the record to the letter', async () => {
    const files = await importableFiles(fileURLToPath(new URL('../../demo/tide-gauge', import.meta.url)));
    const { id } = await record.importFolder(files);
    const back = await record.folder(id);
    expect([...back].map(([file, content]) => [file, text(content)]).sort()).toEqual(
      [...files].map(([file, content]) => [file, text(content)]).sort(),
    );
  });

  it('comes out of the record as it went in, with unknown columns and fields, however it was written', async () => {
    let taken = 0;
    const log = 'id,unit,kind,text,mood\n1,a,note,"two\nlines, ""quoted""",bad\n';
    await fc.assert(
      fc.asyncProperty(
        sketch,
        fc.constantFrom(',', ';', '\t'),
        fc.uint8Array({ minLength: 1 }),
        fc.string({ unit: 'grapheme', maxLength: 5 }),
        async (drawn, separator, picture, field) => {
          const machine = consistent(machineOf(drawn));
          const written = [...machineFiles(machine)].map(([file, csv]): [string, string] => [
            file,
            foreign(file, csv, separator),
          ]);
          const files = bytes(new Map([...written, ['log.csv', log]]));
          const head = { ...JSON.parse(text(files.get('machine.json'))), [`maker ${field}`]: { field } };
          files.set('machine.json', new TextEncoder().encode(JSON.stringify(head)));
          files.set('photographs/board.jpg', picture);
          const before = readMachine(files);
          fc.pre(before.findings.every(({ severity }) => severity === 'warning'));
          taken++;
          const { id, name } = await record.importFolder(files);
          const back = await record.folder(id);
          const after = readMachine(back);
          expect({ ...after.machine, name: machine.name }).toEqual(before.machine);
          expect(after.papers).toEqual(before.papers);
          const sent = said(files);
          expect(said(back)).toEqual({
            ...sent,
            'machine.json': { ...(sent['machine.json'] as object), name },
          });
          // Once more, and not a letter is different.
          const again = await record.importFolder(back, { name: `${id} again` });
          const twice = await record.folder(again.id);
          for (const [file, content] of back)
            if (file !== 'machine.json') expect(text(twice.get(file))).toBe(text(content));
        },
      ),
      { numRuns: 100 },
    );
    expect(taken).toBeGreaterThan(50);
  });
});
