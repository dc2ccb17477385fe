/**
 * Writes the demo as an ordinary machine folder:
 *
 *   npx tsx demo/write.ts [DIR] [--scenario NAME] [--seed N] [--readings all]
 */
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { MACHINE_FILES } from '../src/machine/index.ts';
import { DEFAULT_SEED } from './readings.ts';
import { DEFAULT_SCENARIO } from './scenarios.ts';
import { scenarioNames, writtenDemo } from './written.ts';

/** The folder of the default scenario in the repository. */
const HOME = fileURLToPath(new URL('tide-gauge', import.meta.url));

function main(): number {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      scenario: { type: 'string', default: DEFAULT_SCENARIO.name },
      seed: { type: 'string', default: `${DEFAULT_SEED}` },
      readings: { type: 'string', default: 'evening' },
    },
  });
  const seed = Number(values.seed);
  const extent = values.readings;
  if (!Number.isSafeInteger(seed)) return refusal('--seed', values.seed, 'a whole number');
  if (extent !== 'evening' && extent !== 'all') return refusal('--readings', extent, 'evening or all');
  if (positionals.length > 1) return refusal('folder', positionals.join(' '), 'one folder');
  const written = writtenDemo(values.scenario, seed, extent);
  if (!written) return refusal('--scenario', values.scenario, scenarioNames.join('; '));

  const folder = positionals[0] ?? HOME;
  const { files, symptom } = written;
  // A file of an earlier demo that this one does not have would be read with it.
  for (const file of [...MACHINE_FILES, 'captures'])
    rmSync(join(folder, file), { force: true, recursive: true });
  for (const path of ['photographs', 'captures']) mkdirSync(join(folder, path), { recursive: true });
  for (const [file, content] of files) writeFileSync(join(folder, file), content);
  console.log(`${folder}: ${values.scenario}\n${symptom}`);
  return 0;
}

function refusal(what: string, found: string, allowed: string): number {
  console.error(`${what} is ${JSON.stringify(found)}; allowed: ${allowed}`);
  return 2;
}

process.exitCode = main();
