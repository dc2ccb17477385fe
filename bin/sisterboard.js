#!/usr/bin/env node
/**
 * The command `sisterboard`: finds out whether the program can run here, and starts it.
 *
 * No static import, so that a Node.js too old for the rest still gets as far as the message.
 */

/** In a variable, so that the checks of the sources do not follow it into what is built. */
const PROGRAM = '../dist/cli/main.js';

import('./node-version.js').then(start, () => {
  stop(`Sisterboard needs a newer Node.js than ${process.version}.`);
});

/** @param {typeof import('./node-version.js')} node */
function start(node) {
  const fault = node.nodeFault(process.versions.node);
  if (fault) return stop(fault);
  return import(PROGRAM).catch((error) => {
    if (error.code !== 'ERR_MODULE_NOT_FOUND') throw error;
    const missing = String(error.message).split(' imported from ')[0];
    const notBuilt = /dist[\\/]cli[\\/]main\.js/.test(missing);
    stop(
      `${notBuilt ? 'Sisterboard is not built yet.' : `A part of Sisterboard is missing: ${missing}.`}\n` +
        'Run "npm start" or "npm test" once in its folder: either prepares everything.',
    );
  });
}

/** @param {string} message */
function stop(message) {
  console.error(message);
  process.exitCode = 1;
}
