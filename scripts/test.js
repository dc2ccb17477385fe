/**
 * `npm test`: prepares what is missing, a browser included, then every check and every test.
 *
 * `npm test -- PATH …` runs the tests of these paths only. The last line is "tests: N passed, N failed".
 */

import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { preparedBrowser } from './browser.js';
import { failedChecks } from './checks.js';
import { prepare } from './prepare.js';
import { root, runNode, script } from './step.js';

/** @param {string[]} paths */
export function main(paths) {
  return script(async () => {
    await prepare();
    // The tests of the page read it there.
    process.env.SISTERBOARD_BROWSER = await preparedBrowser();
    const failed = paths.length ? [] : await failedChecks();
    const { code, counts } = await runTests(paths);
    if (code !== 0) failed.push('tests');
    if (failed.length) console.log(`Failed: ${failed.join(', ')}.`);
    console.log(`tests: ${counts}`);
    return failed.length ? 1 : 0;
  });
}

/**
 * @param {string[]} paths
 * @returns {Promise<{ code: number, counts: string }>}
 */
async function runTests(paths) {
  const report = join(root, '.cache', 'tests.json');
  mkdirSync(join(root, '.cache'), { recursive: true });
  rmSync(report, { force: true });
  const { code } = await runNode(join(root, 'node_modules/vitest/vitest.mjs'), [
    'run',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${report}`,
    ...paths,
  ]);
  if (!existsSync(report)) return { code: code || 1, counts: '0 passed, 0 failed' };
  const { numPassedTests, numFailedTests, numPendingTests } = JSON.parse(readFileSync(report, 'utf8'));
  const skipped = numPendingTests ? `, ${numPendingTests} skipped` : '';
  return { code, counts: `${numPassedTests} passed, ${numFailedTests} failed${skipped}` };
}
