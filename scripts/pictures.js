/** `npm run pictures` walks the first evening through the built workbench and writes what it shows to docs/pictures/. */

import { join } from 'node:path';
import { preparedBrowser } from './browser.js';
import { prepare } from './prepare.js';
import { root, runNode, script } from './step.js';

export function main() {
  return script(async () => {
    await prepare();
    process.env.SISTERBOARD_BROWSER = await preparedBrowser();
    const walk = join(root, 'test/e2e/pictures.ts');
    return (await runNode(join(root, 'node_modules/tsx/dist/cli.mjs'), [walk])).code;
  });
}
