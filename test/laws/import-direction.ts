/** Law: imports run one way, and other modules come in by the front door. */

import { isCode, lineAt, type TextFile } from './files.ts';
import { isPure, moduleOf, ORDER, resolved } from './modules.ts';
import { imports } from './source.ts';

/** Breaches, one line each, over the sources under src/. */
export function directionBreaches(files: readonly TextFile[]): string[] {
  const order: readonly string[] = ORDER;
  return files
    .filter((file) => isCode(file) && file.path.startsWith('src/'))
    .flatMap((file) => {
      const own = moduleOf(file.path);
      if (own === undefined || !order.includes(own)) return [`${file.path}: belongs to none of the modules`];
      return imports(file.text).flatMap(({ from, typeOnly, position }) => {
        const target = resolved(file.path, from);
        const where = `${file.path}:${lineAt(file.text, position)}`;
        if (target === undefined || target === 'package.json') return [];
        const other = moduleOf(target);
        if (other === undefined) return [`${where}: ${from} is outside src/`];
        if (other === own) return [];
        if (order.indexOf(other) > order.indexOf(own)) {
          return [`${where}: ${own} may not know of ${other}`];
        }
        if (target !== `src/${other}/index.ts`)
          return [`${where}: ${from} is inside ${other}; import its index.ts`];
        if (own === 'web' && !isPure(other) && !typeOnly) {
          return [`${where}: web may import only types from ${other}`];
        }
        return [];
      });
    });
}
