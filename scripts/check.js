/** `npm run check`: the checks that need no test run. */

import { failedChecks } from './checks.js';
import { installPackages } from './install.js';
import { script } from './step.js';

export function main() {
  return script(async () => {
    await installPackages();
    return (await failedChecks()).length ? 1 : 0;
  });
}
