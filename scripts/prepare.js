/** What has to be there before anything runs: the packages, and the built program. */

import { buildProgram } from './build.js';
import { installPackages } from './install.js';

/** Installs and builds what is missing or older than its sources; quick when nothing is. */
export async function prepare() {
  await installPackages();
  await buildProgram();
}
