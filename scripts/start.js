/** `npm start`: prepares what is missing, then serves the workbench. `npm start -- --no-browser` hands its options on. */

import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { prepare } from './prepare.js';
import { root, script } from './step.js';

/** @param {string[]} args  of `sisterboard serve` */
export function main(args) {
  return script(async () => {
    await prepare();
    // In this process, so that Ctrl-C reaches the server itself, and a start pays for one process only.
    const program = join(root, 'bin', 'sisterboard.js');
    process.argv = [process.execPath, program, 'serve', ...args];
    await import(pathToFileURL(program).href);
    return 0;
  });
}
