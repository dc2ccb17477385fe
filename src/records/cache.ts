import { createHash } from 'node:crypto';
import { mkdir, readdir, readFile, rm, stat, utimes } from 'node:fs/promises';
import { homedir } from 'node:os';
import { isAbsolute, join } from 'node:path';
import { writeFileWhole } from './whole-write.ts';

/**
 * The folder for what can be computed again: `XDG_CACHE_HOME` where it is set to an absolute path, else the platform's.
 *
 * @returns an absolute path, which need not exist
 * @source XDG Base Directory Specification 0.8; for macOS and Windows the folders that these systems name (from memory)
 */
export function cacheFolder(
  env: Readonly<Record<string, string | undefined>> = process.env,
  platform: string = process.platform,
  home: string = homedir(),
): string {
  const xdg = env.XDG_CACHE_HOME;
  if (xdg && isAbsolute(xdg)) return join(xdg, 'sisterboard');
  if (platform === 'darwin') return join(home, 'Library', 'Caches', 'sisterboard');
  if (platform === 'win32')
    return join(env.LOCALAPPDATA || join(home, 'AppData', 'Local'), 'sisterboard', 'cache');
  return join(home, '.cache', 'sisterboard');
}

const MARK = Buffer.from('sisterboard kept 1\n');
const CHECK_BYTES = 32;
const ENDING = '.kept';
/** Left by a writer that was killed; one that still writes is younger. */
const LITTER_AGE_MS = 3600_000;

/**
 * Bytes under a key, in files of their own. A damaged or foreign entry counts as none. The least recently used go
 * when all together grow beyond `most` bytes.
 */
export class Cache {
  readonly folder: string;
  readonly #most: number;

  /** @param most  bytes */
  constructor(folder: string, most = 256 * 1024 * 1024) {
    this.folder = folder;
    this.#most = most;
  }

  /** What was put under this key, or `undefined`. Never throws: what cannot be read is computed again. */
  async get(key: string): Promise<Uint8Array | undefined> {
    const path = this.#path(key);
    const entry = await readFile(path).catch(() => undefined);
    if (entry === undefined) return undefined;
    const content = entry.subarray(MARK.length + CHECK_BYTES);
    const check = entry.subarray(MARK.length, MARK.length + CHECK_BYTES);
    if (!entry.subarray(0, MARK.length).equals(MARK) || !check.equals(sum(key, content))) return undefined;
    const now = new Date();
    await utimes(path, now, now).catch(() => {});
    // A view of its own, so that the caller may look at it as numbers of any width.
    return new Uint8Array(content);
  }

  /** Keeps the bytes. @throws InputError  `unwritable` when the folder cannot take them */
  async put(key: string, content: Uint8Array): Promise<void> {
    await mkdir(this.folder, { recursive: true, mode: 0o700 }).catch(() => {});
    await writeFileWhole(this.#path(key), Buffer.concat([MARK, sum(key, content), content]));
    await this.#tidy();
  }

  #path(key: string): string {
    return join(this.folder, createHash('sha256').update(key).digest('hex') + ENDING);
  }

  async #tidy(): Promise<void> {
    const names = await readdir(this.folder).catch(() => []);
    const files = await Promise.all(
      names.map(async (name) => {
        const path = join(this.folder, name);
        const { size, mtimeMs } = await stat(path).catch(() => ({
          size: 0,
          mtimeMs: Number.POSITIVE_INFINITY,
        }));
        return { path, size, mtimeMs };
      }),
    );
    const old = Date.now() - LITTER_AGE_MS;
    const kept = files.filter(({ path }) => path.endsWith(ENDING)).sort((a, b) => b.mtimeMs - a.mtimeMs);
    const gone = files.filter(({ path, mtimeMs }) => path.endsWith('.part') && mtimeMs < old);
    let sum = 0;
    kept.forEach((file, i) => {
      sum += file.size;
      if (i > 0 && sum > this.#most) gone.push(file);
    });
    await Promise.all(gone.map(({ path }) => rm(path, { force: true }).catch(() => {})));
  }
}

/** Over key and content, so that an entry under another's name is noticed too. */
function sum(key: string, content: Uint8Array): Buffer {
  return createHash('sha256').update(`${key.length}\n${key}`).update(content).digest();
}
