/** Steps that may take a while: said in words when they take longer than a second, and programs run in them. */

import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** The folder of the checkout, with a separator at its end. */
export const root = fileURLToPath(new URL('..', import.meta.url));

/** An ending that has been explained to the person already: no stack is wanted. */
export class Stopped extends Error {}

/**
 * Runs `work`, and tells a waiting person what is going on: the title after one second, then the time every
 * ten seconds.
 *
 * @template T
 * @param {string} title  without a full stop: "Installing packages"
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 */
export async function step(title, work) {
  const began = Date.now();
  const first = setTimeout(() => console.error(`${title} …`), 1000);
  const later = setInterval(
    () => console.error(`… still at it after ${Math.round((Date.now() - began) / 1000)} s`),
    10_000,
  );
  try {
    return await work();
  } finally {
    clearTimeout(first);
    clearInterval(later);
  }
}

/**
 * Runs a JavaScript program with this Node.js, in the checkout's folder.
 *
 * @param {string} file  path from the checkout's folder, or an absolute one
 * @param {string[]} args
 * @param {{ quiet?: boolean, env?: NodeJS.ProcessEnv }} [options]  quiet: keep what it prints instead of showing it
 * @returns {Promise<{ code: number, output: string }>}  output is empty unless quiet
 */
export function runNode(file, args, options = {}) {
  return run(process.execPath, [file, ...args], options);
}

/**
 * @param {string} command
 * @param {string[]} args
 * @param {{ quiet?: boolean, env?: NodeJS.ProcessEnv, shell?: boolean }} options
 * @returns {Promise<{ code: number, output: string }>}
 */
export function run(command, args, { quiet = false, env = process.env, shell = false }) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, {
      cwd: root,
      env,
      shell,
      stdio: quiet ? ['ignore', 'pipe', 'pipe'] : 'inherit',
    });
    let output = '';
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding('utf8').on('data', (text) => {
        output += text;
      });
    }
    child.on('error', reject);
    child.on('close', (code, signal) => resolve({ code: signal ? 1 : (code ?? 1), output }));
  });
}

/**
 * The outermost call of a script: an ending already explained becomes an exit code, anything else is a fault of ours.
 *
 * @param {() => Promise<number>} work  returns the exit code
 */
export async function script(work) {
  try {
    process.exitCode = await work();
  } catch (error) {
    if (!(error instanceof Stopped)) throw error;
    console.error(error.message);
    process.exitCode = 1;
  }
}
