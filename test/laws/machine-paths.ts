/** Law: no file names a path of the machine that it was written on. */

import { lineAt, type TextFile } from './files.ts';

/** Folders where people and build machines keep their files; programs of the system may be named. */
const HOMES = ['home', 'root', 'work', 'Users', 'tmp', 'mnt', 'srv', 'workspace', 'builds'];
const PATH = new RegExp(
  `(?<![\\w./~$}*-])(?:/(?:${HOMES.join('|')})/[\\w.-]+|[A-Za-z]:\\\\\\\\?(?:Users|[Ww]ork)\\b)`,
  'g',
);

export function machinePathBreaches(files: readonly TextFile[]): string[] {
  return files.flatMap((file) =>
    [...file.text.matchAll(PATH)].map(
      (match) => `${file.path}:${lineAt(file.text, match.index)}: ${match[0]}`,
    ),
  );
}
