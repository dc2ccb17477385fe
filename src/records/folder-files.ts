import { open, readdir, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { MACHINE_FILES, suggestion } from '../machine/index.ts';
import { InputError, systemReason } from './input-error.ts';

/** Twice what `machine` accepts, so that it can say how large a file is without the rest being read. */
const MOST_BYTES = 128 * 1024 * 1024;

/**
 * The files of a machine folder for `readMachine`: bytes by name. Files that do not belong to the format are there with no
 * bytes, so that a misspelt name can be noticed; of a file beyond 128 MB only the beginning is read.
 *
 * @throws InputError  `no-folder` when there is none, `unreadable` when a file of the format cannot be read
 */
export async function folderFiles(path: string): Promise<Map<string, Uint8Array>> {
  const names = await namesIn(path);
  const files = new Map<string, Uint8Array>();
  for (const name of names) {
    files.set(name, MACHINE_FILES.includes(name) ? await bytesOf(path, name) : new Uint8Array());
  }
  return files;
}

/** The folders in a machine folder that belong to it, and how large a file in each may be. */
const FOLDERS: readonly (readonly [string, number])[] = [
  ['photographs', MOST_BYTES],
  ['captures', 4 * MOST_BYTES],
];

/**
 * The files of a machine folder as the record takes it in: those of the format, `photographs/NAME`, `captures/NAME`, and other
 * ordinary files beside them, so that they come out again. Hidden files and other folders stay behind.
 *
 * @throws InputError  as `folderFiles`; `file-too-large` for a file beyond 128 MB, or a capture beyond 512 MB
 */
export async function importableFiles(path: string): Promise<Map<string, Uint8Array>> {
  const files = await folderFiles(path);
  const others: (readonly [string, number])[] = [...files.keys()].map((name) => [name, MOST_BYTES]);
  for (const [folder, most] of FOLDERS) {
    const names = await readdir(join(path, folder)).catch(() => []);
    others.push(...names.sort().map((name) => [`${folder}/${name}`, most] as const));
  }
  for (const [name, most] of others.filter(([other]) => !MACHINE_FILES.includes(other))) {
    files.delete(name);
    const found = await stat(join(path, name)).catch(() => undefined);
    if (!found?.isFile() || basename(name).startsWith('.')) continue;
    if (found.size > most)
      throw new InputError(
        'file-too-large',
        `${join(path, name)} is larger than ${most >> 20} MB; leave it outside`,
      );
    files.set(name, await bytesOf(path, name, most));
  }
  return files;
}

async function namesIn(path: string): Promise<string[]> {
  try {
    return (await readdir(path)).sort();
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    if (code === 'ENOTDIR' && (await stat(path).catch(() => undefined))) {
      throw new InputError('no-folder', `${path} is a file; give the folder that holds it: ${dirname(path)}`);
    }
    const near = code === 'ENOENT' ? suggestion(basename(path), await foldersBeside(path)) : '';
    throw new InputError('no-folder', `cannot read the folder ${path}: ${systemReason(error)}${near}`);
  }
}

async function foldersBeside(path: string): Promise<string[]> {
  const entries = await readdir(dirname(path), { withFileTypes: true }).catch(() => []);
  return entries.filter((entry) => entry.isDirectory()).map((entry) => entry.name);
}

async function bytesOf(folder: string, name: string, most = MOST_BYTES): Promise<Uint8Array> {
  const path = join(folder, name);
  try {
    // A pipe or a device would be waited for without end.
    if (!(await stat(path)).isFile()) throw new InputError('unreadable', `${path} is not an ordinary file`);
    const file = await open(path);
    try {
      const { size } = await file.stat();
      const bytes = new Uint8Array(Math.min(size, most));
      let filled = 0;
      while (filled < bytes.length) {
        const { bytesRead } = await file.read(bytes, filled, bytes.length - filled, filled);
        if (bytesRead === 0) break;
        filled += bytesRead;
      }
      return bytes.subarray(0, filled);
    } finally {
      await file.close();
    }
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw new InputError('unreadable', `cannot read ${path}: ${systemReason(error)}`);
  }
}
