/** The files of a machine folder as the browser gets them, checked before anything is sent. */

import { unzipSync, zipSync } from 'fflate';
import { type Finding, MACHINE_FILES, readMachine } from '../../machine/index.ts';

export interface FolderFile {
  /** With its folders, parted by slashes. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

export interface Checked {
  readonly files: ReadonlyMap<string, Uint8Array>;
  readonly name: string;
  readonly findings: readonly Finding[];
  /** What stays of the folder, in words: `parts.csv`, `451 rows`. */
  readonly kept: readonly { readonly file: string; readonly words: string }[];
}

const PICTURE = /\.(?:png|jpe?g|webp)$/i;

/** The files of a zip. @throws Error  when it is none, or damaged */
export function filesOfZip(bytes: Uint8Array): FolderFile[] {
  return Object.entries(unzipSync(bytes))
    .filter(([name]) => !name.endsWith('/'))
    .map(([name, content]) => ({ name: name.replaceAll('\\', '/'), bytes: content }));
}

/**
 * The folder by itself: the one around machine.json is taken off, what lies outside of it and hidden files are left. Without a
 * machine.json the folder that all files share is taken off.
 */
export function folderOf(files: readonly FolderFile[]): Map<string, Uint8Array> {
  const named = files.filter(
    ({ name }) => !name.split('/').some((part) => part === '..' || /^(\.|__MACOSX$)/.test(part)),
  );
  const head = named.map(({ name }) => name).find((name) => /^(?:[^/]+\/)*machine\.json$/.test(name));
  const around = head?.slice(0, -'machine.json'.length) ?? sharedFolder(named.map(({ name }) => name));
  return new Map(
    named
      .filter(({ name }) => name.startsWith(around))
      .map(({ name, bytes }) => [name.slice(around.length), bytes] as const),
  );
}

function sharedFolder(names: readonly string[]): string {
  const [first = ''] = names;
  const folder = first.slice(0, first.indexOf('/') + 1);
  return names.every((name) => name.startsWith(folder)) ? folder : '';
}

/** Reads a folder by the same rules as the record, and says what would stay of it. */
export function checked(files: ReadonlyMap<string, Uint8Array>): Checked {
  const { machine, findings, source } = readMachine(files);
  const ours = MACHINE_FILES.filter((file) => files.has(file));
  const others = [...files.keys()].filter((file) => !MACHINE_FILES.includes(file));
  const pictures = others.filter((file) => file.startsWith('photographs/') && PICTURE.test(file));
  const rest = others.filter((file) => !pictures.includes(file));
  const kept = [
    ...ours.map((file) => ({ file, words: fileWords(file, source) })),
    ...(pictures.length > 0 ? [{ file: 'photographs/', words: counted(pictures.length, 'picture') }] : []),
    ...(rest.length > 0 ? [{ file: rest.slice(0, 3).join(', '), words: restWords(rest.length) }] : []),
  ];
  return { files, name: machine?.name ?? '', findings, kept };
}

function fileWords(
  file: string,
  { texts, refused, sheets }: ReturnType<typeof readMachine>['source'],
): string {
  if (refused.has(file) || !texts.has(file)) return 'cannot be read';
  const rows = sheets.get(file)?.records.length;
  return rows === undefined ? 'read' : `${counted(rows, 'row')} good`;
}

function restWords(count: number): string {
  return count > 3 ? `and ${count - 3} more, kept as they are` : 'kept as they are';
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}

/** As a zip for the server; pictures are packed already. */
export function zipOf(files: ReadonlyMap<string, Uint8Array>): Uint8Array<ArrayBuffer> {
  const entries = [...files].map(
    ([name, bytes]) =>
      [name, [bytes, { level: PICTURE.test(name) ? (0 as const) : (6 as const) }] as const] as const,
  );
  return new Uint8Array(zipSync(Object.fromEntries(entries) as Parameters<typeof zipSync>[0]));
}
