/**
 * The program in dist/: src/ bundled by esbuild, so that a start reads a few files instead of hundreds.
 *
 * dist/cli/main.js is the command; what it imports only when a command asks for it lies in dist/shared/. The
 * worker lies in dist/workbench/. Every output is one folder below dist/, so that from any of them
 * `new URL('../workbench/fault-table-worker.js', import.meta.url)` is the worker.
 */

import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root, Stopped, script, step } from './step.js';

/** Entry points that are built when they are there. */
const ENTRIES = ['src/cli/main.ts', 'src/workbench/fault-table-worker.ts'];

/** Loaded from node_modules at run time: a file of its own that is started as a worker, and compiled code. */
const EXTERNAL = ['piscina', 'better-sqlite3'];

/** @param {string[]} args  `--force` builds although nothing has changed */
export function main(args) {
  return script(async () => {
    const { installPackages } = await import('./install.js');
    await installPackages();
    const built = await buildProgram({ force: args.includes('--force') });
    console.error(built ? 'Built dist/.' : 'dist/ is up to date.');
    return 0;
  });
}

/**
 * Builds dist/ when the sources have changed since it was built. The new one is made beside the old one and
 * takes its place only when it is complete.
 *
 * @param {{ force?: boolean }} [options]
 * @returns {Promise<boolean>}  whether anything was built
 * @throws Stopped  when the sources do not bundle; esbuild has said where
 */
export async function buildProgram({ force = false } = {}) {
  const stamp = sourceStamp();
  const stampFile = join(root, 'dist', 'stamp');
  if (!force && existsSync(stampFile) && readFileSync(stampFile, 'utf8') === stamp) return false;
  await step('Building Sisterboard', () => bundle(stamp));
  return true;
}

/** @param {string} stamp */
async function bundle(stamp) {
  const { build } = await import('esbuild');
  const fresh = join(root, '.cache', `dist-${process.pid}`);
  try {
    await build({
      absWorkingDir: root,
      entryPoints: ENTRIES.filter((entry) => existsSync(join(root, entry))),
      outdir: fresh,
      outbase: 'src',
      bundle: true,
      splitting: true,
      chunkNames: 'shared/[name]-[hash]',
      format: 'esm',
      platform: 'node',
      target: 'node20',
      external: EXTERNAL,
      sourcemap: true,
      sourcesContent: false,
      legalComments: 'none',
      logLevel: 'warning',
      // Packages in the older module format call require for Node's own modules.
      banner: {
        js: "import { createRequire as requireFrom } from 'node:module';\nconst require = requireFrom(import.meta.url);",
      },
    });
    writeFileSync(join(fresh, 'stamp'), stamp);
    replaceFolder(join(root, 'dist'), fresh);
  } catch (error) {
    if (error instanceof Error && 'errors' in error) throw new Stopped('The program could not be built.');
    throw error;
  } finally {
    rmSync(fresh, { recursive: true, force: true });
  }
}

/**
 * Puts `fresh` in the place of `folder`. Where another build has just done so, its work stays: it read the same sources.
 *
 * @param {string} folder
 * @param {string} fresh
 */
function replaceFolder(folder, fresh) {
  const old = `${fresh}-old`;
  if (existsSync(folder)) renameSync(folder, old);
  try {
    renameSync(fresh, folder);
  } catch (error) {
    if (!existsSync(folder)) throw error;
  }
  rmSync(old, { recursive: true, force: true });
}

/** One hash over everything that the built program depends on. */
function sourceStamp() {
  const hash = createHash('sha256');
  const sources = readdirSync(join(root, 'src'), { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.(ts|tsx|json|sql|css|html)$/.test(file) && !/\.test\.tsx?$/.test(file))
    .map((file) => join('src', file))
    .sort();
  for (const file of [...sources, 'package.json', 'package-lock.json', 'scripts/build.js']) {
    const text = readFileSync(join(root, file));
    hash.update(`${file}\0${text.length}\0`).update(text);
  }
  return hash.digest('hex');
}
