/**
 * Law: the page knows nothing of Node.js. The compiler cannot say so, since the types that the page takes from the server bring
 * those of Node.js along.
 */

import { isCode, isTest, lineAt, type TextFile } from './files.ts';
import { moduleOf } from './modules.ts';
import { imports, scan } from './source.ts';

const NODE_NAMES =
  /(?<![\w$.])(?:process|Buffer|require|setImmediate|__dirname|__filename|global)(?![\w$]|\??:)/g;

/** Breaches in the sources of the page; its tests run in Node.js. */
export function pageWorldBreaches(files: readonly TextFile[]): string[] {
  return files
    .filter((file) => isCode(file) && !isTest(file) && moduleOf(file.path) === 'web')
    .flatMap((file) => {
      const where = (position: number) => `${file.path}:${lineAt(file.text, position)}`;
      const modules = imports(file.text)
        .filter(({ from }) => from.startsWith('node:'))
        .map(({ from, position }) => `${where(position)}: the page imports ${from}`);
      const names = [...scan(file.text).code.matchAll(NODE_NAMES)].map(
        (match) => `${where(match.index)}: the page mentions ${match[0]}`,
      );
      return [...modules, ...names];
    });
}
