/** Law: every module has a front door, and a paragraph on it. */

import type { TextFile } from './files.ts';
import { moduleOf } from './modules.ts';

/** A paragraph, not a phrase. */
const SHORTEST = 60;

/** Breaches over src/: a module without index.ts (the command line and the page: main.ts), or one without its comment. */
export function moduleCommentBreaches(files: readonly TextFile[]): string[] {
  const sources = files.filter((file) => file.path.startsWith('src/'));
  const modules = new Set(sources.flatMap((file) => moduleOf(file.path) ?? []));
  const missing = [...modules]
    .map((module) => `src/${module}/${module === 'cli' || module === 'web' ? 'main.ts' : 'index.ts'}`)
    .filter((path) => !sources.some((file) => file.path === path || file.path === `${path}x`))
    .map((path) => `${path} is missing`);
  const silent = sources
    .filter((file) => /^src\/(.*\/index|(cli|web)\/main)\.tsx?$/.test(file.path))
    .filter((file) => (/^\/\*\*([\s\S]*?)\*\//.exec(file.text)?.[1]?.length ?? 0) < SHORTEST)
    .map((file) => `${file.path} does not open with a paragraph on what the module is for`);
  return [...missing, ...silent];
}
