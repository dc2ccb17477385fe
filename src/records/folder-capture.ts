import { copyFile, mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import {
  cellTable,
  cellTableText,
  type MachineDocument,
  readMachine,
  SHEET_COLUMNS,
} from '../machine/index.ts';
import { type CaptureRowsOf, captureRows, keptName } from './capture-rows.ts';
import { checkCapture } from './capture-store.ts';
import { folderFiles } from './folder-files.ts';
import { InputError, systemReason } from './input-error.ts';
import { freeName } from './picture-store.ts';
import { checkNames } from './reading-store.ts';
import type { Cells } from './record-types.ts';
import { besides, flushFolder, writeFileWhole } from './whole-write.ts';

/**
 * Puts the file of a capture into a machine folder, with its rows in captures.csv and capture-channels.csv. The row in captures.csv
 * comes last: before it stands there is no capture.
 *
 * @param from  the file, which has been read
 * @param name  what it is called
 * @returns the name in `captures/`
 * @throws InputError  `no-folder`, `unwritable`; `folder` when one of the tables is not in order; names that the machine has not
 */
export async function putCaptureIntoFolder(
  folder: string,
  from: string,
  { name, kind, ...rowsOf }: CaptureRowsOf & { readonly name: string; readonly kind: 'text' | 'wav' | 'vcd' },
): Promise<string> {
  const files = await folderFiles(folder);
  const { machine, findings }: MachineDocument = readMachine(files);
  const tables = ['captures.csv', 'capture-channels.csv'];
  const wrong = findings.find((one) => one.severity === 'error' && tables.includes(one.file));
  if (wrong !== undefined)
    throw new InputError('folder', `${wrong.file} must be mended first: ${wrong.message}`);
  checkCapture(rowsOf.facts, machine);
  if (machine !== undefined) for (const point of rowsOf.points) checkNames(machine, { point });
  const there = await readdir(join(folder, 'captures')).catch(() => []);
  const rows = cellsIn(files, 'captures.csv').map((cells) => cells.file ?? '');
  const taken = new Set([...there, ...rows].map((one) => one.toLowerCase()));
  const file = freeName(...keptName(name, kind), 'capture', (one) => taken.has(one.toLowerCase()));
  const { capture, channels } = captureRows(file, rowsOf);
  await copyWhole(from, join(folder, 'captures', file));
  await append(folder, files, 'capture-channels.csv', channels);
  await append(folder, files, 'captures.csv', [capture]);
  return file;
}

function textOf(files: ReadonlyMap<string, Uint8Array>, table: string): string {
  const bytes = files.get(table);
  return bytes === undefined ? '' : new TextDecoder().decode(bytes);
}

function cellsIn(files: ReadonlyMap<string, Uint8Array>, table: string): Cells[] {
  const found = cellTable(table, textOf(files, table));
  return (found?.rows ?? []).map((row) =>
    Object.fromEntries(found!.columns.map((column, i) => [column, row[i]!])),
  );
}

async function append(
  folder: string,
  files: ReadonlyMap<string, Uint8Array>,
  table: string,
  rows: readonly Cells[],
): Promise<void> {
  if (rows.length === 0) return;
  const known = SHEET_COLUMNS.get(table)!;
  const found = cellTable(table, textOf(files, table)) ?? { columns: known, rows: [] };
  const added = known.filter((column) => !found.columns.includes(column) && rows.some((row) => row[column]));
  const columns = [...found.columns, ...added];
  const all = [
    ...found.rows.map((row) => [...row, ...added.map(() => '')]),
    ...rows.map((row) => columns.map((column) => row[column] ?? '')),
  ];
  await writeFileWhole(join(folder, table), cellTableText({ columns, rows: all }));
}

/** A copy that is there whole or not at all. */
async function copyWhole(from: string, to: string): Promise<void> {
  const fresh = besides(to);
  try {
    await mkdir(dirname(to), { recursive: true });
    await copyFile(from, fresh);
    const file = await open(fresh, 'r+');
    await file.sync().finally(() => file.close());
    await rename(fresh, to);
    await flushFolder(dirname(to));
  } catch (error) {
    await rm(fresh, { force: true }).catch(() => {});
    throw new InputError('unwritable', `cannot write ${to}: ${systemReason(error)}`);
  }
}
