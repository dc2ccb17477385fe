/**
 * `npm run bench -- NAME …` measures; without a name it lists what can be measured.
 *
 * A bench is bench/NAME.ts or bench/NAME/run.ts; the first sentence of its opening comment is shown in the list.
 */

import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { installPackages } from './install.js';
import { root, runNode, Stopped, script } from './step.js';

/** @param {string[]} args  the name, then arguments for the bench */
export function main([name, ...args]) {
  return script(async () => {
    const files = benchFiles();
    if (!name) {
      for (const [known, file] of files) console.log(`${known.padEnd(16)} ${firstSentence(file)}`);
      return 0;
    }
    const file = files.get(name);
    if (!file) throw new Stopped(`unknown bench: ${name}; there are ${[...files.keys()].join(', ')}`);
    await installPackages();
    return (await runNode(join(root, 'node_modules/tsx/dist/cli.mjs'), [file, ...args])).code;
  });
}

/** Name to path, in the order of the alphabet. */
function benchFiles() {
  const files = readdirSync(join(root, 'bench'), { recursive: true, encoding: 'utf8' })
    .map((file) => file.replaceAll('\\', '/'))
    .filter((file) => /^[^/]+\.ts$|^[^/]+\/run\.ts$/.test(file) && !/\.test\.ts$/.test(file))
    .sort();
  return new Map(files.map((file) => [file.replace(/\/run\.ts$|\.ts$/, ''), join(root, 'bench', file)]));
}

/** @param {string} file */
function firstSentence(file) {
  const comment = /\/\*\*([\s\S]*?)\*\//.exec(readFileSync(file, 'utf8'))?.[1] ?? '';
  const text = comment
    .replaceAll(/^\s*\* ?/gm, '')
    .trim()
    .replaceAll(/\s+/g, ' ');
  return text.split(/(?<=\.) /)[0];
}
