import { existsSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { MACHINE_FILES, suggestion } from '../machine/index.ts';
import { folderFiles, InputError, writeFolder } from '../records/index.ts';

/** Two folders up from every file of the program, built or not. */
const DEMOS = new URL('../../demo/', import.meta.url);

/** The machine folders that come with the program. */
function demoNames(): readonly string[] {
  return readdirSync(DEMOS, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(new URL(`${entry.name}/machine.json`, DEMOS)))
    .map((entry) => entry.name);
}

/**
 * The files of a demo machine's folder.
 *
 * @throws InputError  `unknown-demo`, with those there are
 */
export async function demoFiles(name = demoNames()[0]): Promise<Map<string, Uint8Array>> {
  const names = demoNames();
  if (name === undefined || !names.includes(name)) {
    throw new InputError(
      'unknown-demo',
      `no demo ${JSON.stringify(name)}${suggestion(name ?? '', names)}; demos: ${names.join(', ')}`,
    );
  }
  const files = await folderFiles(fileURLToPath(new URL(name, DEMOS)));
  for (const file of files.keys()) if (!MACHINE_FILES.includes(file)) files.delete(file);
  return files;
}

const DAY_MS = 86_400_000;

/**
 * A demo's files with all its readings moved by whole days, so that the last one was taken yesterday: what is read on it now belongs
 * to the same visit, and not to one years later.
 */
export function movedToYesterday(files: ReadonlyMap<string, Uint8Array>, now: Date): Map<string, Uint8Array> {
  const moved = new Map(files);
  const bytes = files.get(READINGS);
  if (bytes === undefined) return moved;
  const text = new TextDecoder().decode(bytes);
  const last = Math.max(...[...text.matchAll(DATE)].map(([date]) => Date.parse(date)));
  if (!Number.isFinite(last)) return moved;
  const days = Math.floor((now.getTime() - last) / DAY_MS) - 1;
  const later = text.replaceAll(DATE, (date) =>
    new Date(Date.parse(date) + days * DAY_MS).toISOString().slice(0, 'yyyy-mm-dd'.length),
  );
  return moved.set(READINGS, new TextEncoder().encode(later));
}
const READINGS = 'readings.csv';
const DATE = /\b\d{4}-\d{2}-\d{2}(?=T\d)/g;

/**
 * Writes a demo machine's folder to a place that is not there yet: whole, or not at all.
 *
 * @param signal  when it is given up before the end, nothing is left behind
 * @throws InputError  when something stands at `path`, or it cannot be written, or there is no such demo
 */
export async function writeDemo(path: string, name?: string, signal?: AbortSignal): Promise<void> {
  await writeFolder(path, await demoFiles(name), signal);
}
