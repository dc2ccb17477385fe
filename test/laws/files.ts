/** The repository's own text files, as the laws read them. */

import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

/** A file by its path from the checkout's folder, with slashes. */
export interface TextFile {
  readonly path: string;
  readonly text: string;
}

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const NOT_OURS = new Set(['node_modules', 'dist', '.git', '.cache', 'out', 'package-lock.json']);
const TEXT = /\.(ts|tsx|js|json|md|csv|html|css|sql|c|h|yml)$|^\.ci\/run$|^LICENSE$|^\.gitignore$/;

/** Every text file of the checkout in the order of the alphabet, without what is installed, built or measured. */
export function repositoryFiles(): readonly TextFile[] {
  return paths()
    .filter((path) => TEXT.test(path))
    .sort()
    .map((path) => ({ path, text: readFileSync(join(ROOT, path), 'utf8') }));
}

/** Paths of the pictures, which documents may show. */
export function repositoryPictures(): readonly string[] {
  return paths().filter((path) => /\.(png|jpg|svg)$/.test(path));
}

function paths(): string[] {
  return walk(ROOT).map((file) => relative(ROOT, file).split(sep).join('/'));
}

function walk(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    if (NOT_OURS.has(entry.name)) return [];
    const path = join(folder, entry.name);
    return entry.isDirectory() ? walk(path) : [path];
  });
}

/** TypeScript and JavaScript sources. */
export function isCode(file: TextFile): boolean {
  return /\.(ts|tsx|js)$/.test(file.path);
}

export function isTest(file: TextFile): boolean {
  return /\.test\.tsx?$/.test(file.path);
}

/** Line number, from 1, of a position counted from 0. */
export function lineAt(text: string, position: number): number {
  return text.slice(0, position).split('\n').length;
}
