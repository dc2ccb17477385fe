/** The packages that package-lock.json lists, installed when they are not there or not the ones it lists. */

import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { root, run, runNode, Stopped, step } from './step.js';

/**
 * Installs what is missing; nothing is asked of the network when all is there.
 *
 * @throws Stopped  when npm cannot, with what to do about it
 */
export async function installPackages() {
  const reason = installFault(root);
  if (!reason) return;
  console.error(`Installing the packages that Sisterboard needs, because ${reason}.`);
  console.error('This asks the npm registry; it takes some ten seconds, on a slow line a few minutes.');
  console.error(
    'Where no ready-made store can be had for this machine it is compiled: a minute or two more.',
  );
  // A lock file that agrees with package.json is taken as it stands; otherwise npm brings it up to date.
  const verb = lockAgrees(root) ? 'ci' : 'install';
  const args = [verb, '--include=dev', '--no-audit', '--no-fund', '--no-update-notifier', '--loglevel=error'];
  const npm = process.env.npm_execpath;
  const env = { ...process.env, ...headers() };
  const { code } = await step(`Installing packages (npm ${verb})`, () =>
    npm ? runNode(npm, args, { env }) : run('npm', args, { env, shell: process.platform === 'win32' }),
  );
  const left = installFault(root);
  if (code === 0 && !left) return;
  throw new Stopped(
    `npm ${verb} did not succeed${left ? ` (${left})` : ''}. Sisterboard needs the npm registry for its first start only:\n` +
      'check the connection, then run the same command again. If better-sqlite3 is what failed, it could neither be fetched\n' +
      'ready-made nor be compiled: install a C++ compiler, make and Python 3.',
  );
}

/** Where the headers of this Node.js lie beside it, a package that must be compiled need not fetch them. */
function headers() {
  const prefix = dirname(dirname(process.execPath));
  const there = existsSync(join(prefix, 'include', 'node', 'node.h'));
  return there && !process.env.npm_config_nodedir ? { npm_config_nodedir: prefix } : {};
}

/**
 * Why the packages have to be installed, or `undefined` when node_modules holds what package-lock.json lists.
 * Contents are compared, not dates: a checkout of an older state dates its files anew.
 *
 * @param {string} folder  the checkout
 * @returns {string | undefined}
 */
export function installFault(folder) {
  const installed = packages(join(folder, 'node_modules', '.package-lock.json'));
  if (!installed) return 'they are not there yet';
  const listed = packages(join(folder, 'package-lock.json')) ?? {};
  for (const [path, entry] of Object.entries(listed)) {
    if (path === '') continue;
    // Packages for other machines than this one are listed, and rightly absent.
    if (entry.optional && !installed[path]) continue;
    if (installed[path]?.version !== entry.version) return `${path} ${entry.version} is missing`;
    if (!existsSync(join(folder, path))) return `${path} has gone`;
  }
  return lockAgrees(folder) ? undefined : 'package.json has changed since';
}

/** @param {string} folder */
function lockAgrees(folder) {
  const locked = packages(join(folder, 'package-lock.json'))?.[''];
  if (!locked) return false;
  const wanted = JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));
  return ['dependencies', 'devDependencies', 'optionalDependencies'].every(
    (group) => sorted(locked[group]) === sorted(wanted[group]),
  );
}

/** @param {Record<string, string> | undefined} group */
function sorted(group) {
  return JSON.stringify(Object.entries(group ?? {}).sort());
}

/**
 * @param {string} file
 * @returns {Record<string, any> | undefined}
 */
function packages(file) {
  return existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')).packages : undefined;
}
