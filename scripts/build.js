/**
 * The program in dist/: src/ bundled by esbuild, so that a start reads a few files instead of hundreds, and the page in
 * dist/web/, bundled by Vite.
 *
 * dist/cli/main.js is the command; what it imports only when a command asks for it lies in dist/shared/. The
 * workers lie in dist/workbench/, the script that makes demo machines in dist/demo/. Every output is one folder below dist/, so that from any of them
 * `new URL('../workbench/fault-table-worker.js', import.meta.url)` is the worker.
 */

import { createHash } from 'node:crypto';
import { cpSync, existsSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root, Stopped, script, step } from './step.js';

/** Entry points that are built when they are there. */
const ENTRIES = [
  'src/cli/main.ts',
  'src/workbench/fault-table-worker.ts',
  'src/workbench/reckoner-worker.ts',
  'demo/written.ts',
];

/** Loaded from node_modules at run time: what starts files of its own beside it, and compiled code. */
const EXTERNAL = ['piscina', 'better-sqlite3', 'open'];

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
  const stamps = sourceStamps();
  const [program, page] = ['stamp', join('web', 'stamp')].map((file) => keptStamp(file));
  const fresh = { program: force || program !== stamps.program, page: force || page !== stamps.page };
  if (!fresh.program && !fresh.page) return false;
  await step('Building Sisterboard', () => build(stamps, fresh));
  return true;
}

/** @param {string} file */
function keptStamp(file) {
  const path = join(root, 'dist', file);
  return existsSync(path) ? readFileSync(path, 'utf8') : undefined;
}

/**
 * What has not changed is taken over from the old dist/.
 *
 * @param {{ program: string, page: string }} stamps
 * @param {{ program: boolean, page: boolean }} fresh
 */
async function build(stamps, fresh) {
  const folder = join(root, '.cache', `dist-${process.pid}`);
  const old = join(root, 'dist');
  try {
    if (fresh.program) await bundleProgram(folder);
    else cpSync(old, folder, { recursive: true, filter: (path) => path !== join(old, 'web') });
    if (fresh.page) await bundlePage(join(folder, 'web'));
    else cpSync(join(old, 'web'), join(folder, 'web'), { recursive: true });
    writeFileSync(join(folder, 'stamp'), stamps.program);
    writeFileSync(join(folder, 'web', 'stamp'), stamps.page);
    replaceFolder(old, folder);
  } catch (error) {
    if (error instanceof Error && 'errors' in error) throw new Stopped('The program could not be built.');
    throw error;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** @param {string} folder */
async function bundlePage(folder) {
  const vite = await import('vite');
  try {
    await vite.build({
      configFile: join(root, 'vite.config.ts'),
      logLevel: 'error',
      build: { outDir: folder, emptyOutDir: true },
    });
  } catch (error) {
    throw new Stopped(`The page could not be built.\n${error instanceof Error ? error.message : error}`);
  }
}

/** @param {string} folder */
async function bundleProgram(folder) {
  const { build } = await import('esbuild');
  await build({
    absWorkingDir: root,
    entryPoints: ENTRIES.filter((entry) => existsSync(join(root, entry))).map((entry) => ({
      in: entry,
      out: entry.replace(/^src\//, '').replace(/\.ts$/, ''),
    })),
    outdir: folder,
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

/**
 * One hash each over everything that the program and the page depend on. The page takes types and pure modules from the rest,
 * so that a change there builds both; a change of the page alone leaves the program, and the fault tables that it has kept.
 */
function sourceStamps() {
  const web = join('src', 'web');
  const sources = readdirSync(join(root, 'src'), { recursive: true, encoding: 'utf8' })
    .filter((file) => /\.(ts|tsx|json|sql|css|html|svg|woff2)$/.test(file) && !/\.test\.tsx?$/.test(file))
    .map((file) => join('src', file))
    .sort();
  const demo = readdirSync(join(root, 'demo'), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.ts') && !file.endsWith('.test.ts'))
    .map((file) => join('demo', file))
    .sort();
  const shared = [
    ...sources.filter((file) => !file.startsWith(web)),
    ...demo,
    ...['package.json', 'package-lock.json', 'scripts/build.js'],
  ];
  const hash = createHash('sha256');
  /** @param {string} file */
  const add = (file) => {
    const text = readFileSync(join(root, file));
    hash.update(`${file}\0${text.length}\0`).update(text);
  };
  shared.forEach(add);
  const program = hash.copy().digest('hex');
  [...sources.filter((file) => file.startsWith(web)), 'vite.config.ts'].forEach(add);
  return { program, page: hash.digest('hex') };
}
