import { mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join, resolve } from 'node:path';
import { checkPath } from './file-path.ts';
import { InputError, systemReason } from './input-error.ts';

/**
 * Writes a file so that at every instant the whole old one or the whole new one stands there, also when the power goes: a
 * temporary file beside it, flushed to the disk, takes its place, and the folder is flushed after it.
 *
 * @throws InputError  `unwritable`, with the reason; the temporary file is gone then
 */
export async function writeFileWhole(path: string, content: Uint8Array | string): Promise<void> {
  const fresh = besides(path);
  try {
    await writeFlushed(fresh, content);
    await rename(fresh, path);
    await flushFolder(dirname(path));
  } catch (error) {
    await rm(fresh, { force: true }).catch(() => {});
    throw new InputError('unwritable', `cannot write ${path}: ${systemReason(error)}`);
  }
}

/**
 * Writes a new folder with these files, which appears with all of them or not at all. Folders above it are made.
 *
 * @param signal  when it is given up before the end, nothing is left behind
 * @param files  by path in the folder, `photographs/NAME` for pictures
 * @throws InputError  `bad-name` for a path that leads out of the folder, `not-empty` when something stands there already, `unwritable` with the reason
 */
export async function writeFolder(
  path: string,
  files: ReadonlyMap<string, Content>,
  signal?: AbortSignal,
): Promise<void> {
  for (const name of files.keys()) checkPath(name);
  const there = await readdir(path).catch((error: NodeJS.ErrnoException) => error);
  if (Array.isArray(there) ? there.length > 0 : there.code === 'ENOTDIR') {
    throw new InputError(
      'not-empty',
      `${path} is there already and not empty; name a folder that is not there yet`,
    );
  }
  const target = resolve(path);
  const fresh = besides(target);
  try {
    await mkdir(dirname(target), { recursive: true });
    await mkdir(fresh);
    const folders = new Set([fresh]);
    for (const [name, content] of files) {
      signal?.throwIfAborted();
      const file = join(fresh, name);
      await mkdir(dirname(file), { recursive: true });
      folders.add(dirname(file));
      await writeFlushed(file, content);
    }
    for (const folder of folders) await flushFolder(folder);
    signal?.throwIfAborted();
    // An empty folder gives way to the new one.
    await rename(fresh, target);
    await flushFolder(dirname(target));
  } catch (error) {
    await rm(fresh, { recursive: true, force: true }).catch(() => {});
    if (signal?.aborted) throw signal.reason;
    throw new InputError('unwritable', `cannot write ${path}: ${systemReason(error)}`);
  }
}

/** Bytes whole or piece by piece, or a text. */
type Content = Uint8Array | Iterable<Uint8Array> | string;

let made = 0;

/** A name in the same folder that no other process and no other call uses. */
export function besides(path: string): string {
  return `${path}.${process.pid}-${made++}.part`;
}

async function writeFlushed(path: string, content: Content): Promise<void> {
  const file = await open(path, 'wx');
  try {
    // Each goes on where the one before ended.
    const pieces = typeof content === 'string' || content instanceof Uint8Array ? [content] : content;
    for (const piece of pieces) await file.writeFile(piece);
    await file.sync();
  } finally {
    await file.close();
  }
}

/** A rename is on the disk when the folder is. Windows opens no folder, and needs none opened. */
export async function flushFolder(path: string): Promise<void> {
  if (process.platform === 'win32') return;
  const folder = await open(path);
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}
