/** The checks that read the sources without running them: format and lint, types, dead exports. */

import { join } from 'node:path';
import { root, runNode, step } from './step.js';

const CHECKS = [
  {
    name: 'format and lint',
    file: 'node_modules/@biomejs/biome/bin/biome',
    args: ['check', '--error-on-warnings', '.'],
  },
  { name: 'types', file: 'node_modules/typescript/bin/tsc', args: ['--noEmit', '-p', '.'] },
  {
    name: 'types of the page',
    file: 'node_modules/typescript/bin/tsc',
    args: ['--noEmit', '-p', 'src/web'],
  },
  { name: 'dead exports', file: 'node_modules/knip/bin/knip.js', args: ['--no-progress'] },
];

/**
 * Runs all checks, also after one has failed, and says of each how it went.
 *
 * @returns {Promise<string[]>}  names of the checks that failed
 */
export async function failedChecks() {
  const failed = [];
  for (const { name, file, args } of CHECKS) {
    const began = Date.now();
    const { code, output } = await step(`Checking ${name}`, () =>
      runNode(join(root, file), args, { quiet: true }),
    );
    const seconds = ((Date.now() - began) / 1000).toFixed(1);
    console.log(`${name}: ${code === 0 ? 'in order' : 'FAILED'} (${seconds} s)`);
    if (code === 0) continue;
    console.log(output.trimEnd());
    failed.push(name);
  }
  return failed;
}
