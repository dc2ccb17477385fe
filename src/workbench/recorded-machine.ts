import { suggestion } from '../machine/index.ts';
import {
  InputError,
  importableFiles,
  type MachineEntry,
  openRecord,
  restoreRecord,
  type WorkshopRecord,
  writeFolder,
} from '../records/index.ts';

/** A machine in a record. */
export interface RecordedMachine {
  /** The record's file. */
  readonly record: string;
  /** The machine's name; may be left out when the record has one only. */
  readonly machine?: string | undefined;
}

const clock = (): Date => new Date();

/**
 * The tables of a machine in a record, for reading: bytes by file name.
 *
 * @throws InputError  `unknown-machine` or `which-machine` with those there are; as `openRecord`
 */
export async function recordedTables(place: RecordedMachine): Promise<ReadonlyMap<string, Uint8Array>> {
  return withMachine(place, (record, { id }) => record.tables(id));
}

/**
 * Takes a machine folder into a record, which is made where there is none.
 *
 * @param name  instead of the one in machine.json
 * @throws InputError  `folder` with all findings; as `importableFiles` and `openRecord`
 */
export async function importMachine(
  folder: string,
  record: string,
  name?: string | undefined,
): Promise<MachineEntry> {
  const files = await importableFiles(folder);
  return withRecord(record, true, (opened) => opened.importFolder(files, { name }));
}

/**
 * Writes a machine of a record to a folder that is not there yet: whole, or not at all.
 *
 * @returns the machine's name
 * @throws InputError  as `recordedTables` and `writeFolder`
 */
export async function exportMachine(
  place: RecordedMachine,
  folder: string,
  signal?: AbortSignal,
): Promise<string> {
  return withMachine(place, async (record, { id, name }) => {
    await writeFolder(folder, await record.folderPieces(id), signal);
    return name;
  });
}

/** Copies a record into a new file and reads the copy back. @throws InputError  as `WorkshopRecord.backup` */
export async function backUp(record: string, to: string): Promise<{ readonly bytes: number }> {
  return withRecord(record, false, (opened) => opened.backup(to));
}

/** Puts a backup in the place of a record. @returns where the earlier one is kept. @throws InputError  as `restoreRecord` */
export async function restore(from: string, record: string): Promise<{ readonly kept?: string }> {
  return restoreRecord(from, record, clock);
}

/** Works with one machine of a record, which is closed afterwards. @throws InputError  as `recordedTables` */
export async function withMachine<T>(
  { record, machine }: RecordedMachine,
  work: (record: WorkshopRecord, machine: MachineEntry) => Promise<T>,
): Promise<T> {
  return withRecord(record, false, async (opened) =>
    work(opened, chosenMachine(await opened.machines(), machine)),
  );
}

async function withRecord<T>(
  file: string,
  create: boolean,
  work: (record: WorkshopRecord) => Promise<T>,
): Promise<T> {
  const record = await openRecord(file, { clock, create });
  try {
    return await work(record);
  } finally {
    await record.close();
  }
}

function chosenMachine(machines: readonly MachineEntry[], name: string | undefined): MachineEntry {
  const names = machines.map((machine) => machine.name);
  const all =
    names.length === 0
      ? 'the record has no machine'
      : `machines: ${names.map((one) => JSON.stringify(one)).join(', ')}`;
  if (name === undefined) {
    if (machines.length === 1) return machines[0]!;
    throw new InputError('which-machine', `name the machine; ${all}`);
  }
  const found = machines.find((machine) => machine.name === name);
  if (found !== undefined) return found;
  throw new InputError(
    'unknown-machine',
    `no machine ${JSON.stringify(name)}; ${all}${suggestion(name, names)}`,
  );
}
