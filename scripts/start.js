/** `npm start`: prepares what is missing, then works on the demo machine's faulty unit in the terminal. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { prepare } from './prepare.js';
import { root, runNode, script } from './step.js';

const DEMO = 'demo/tide-gauge';

export function main() {
  return script(async () => {
    await prepare();
    const machine = JSON.parse(readFileSync(join(root, DEMO, 'machine.json'), 'utf8'));
    const unit = machine.units.find((/** @type {{ health: string }} */ { health }) => health === 'faulty').id;
    for (const command of ['compare', 'suspects', 'next']) {
      const args = [command, DEMO, '--unit', unit];
      console.log(`\n> node bin/sisterboard.js ${args.join(' ')}\n`);
      const { code } = await runNode(join(root, 'bin/sisterboard.js'), args);
      if (code !== 0) return code;
    }
    return 0;
  });
}
