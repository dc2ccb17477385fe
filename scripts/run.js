/**
 * `node scripts/run.js NAME …`: runs scripts/NAME.js once this Node.js is known to be able to.
 *
 * No static import, so that a Node.js too old for the rest still gets as far as the message.
 */

import('../bin/node-version.js').then(
  (node) => {
    const fault = node.nodeFault(process.versions.node);
    if (fault) return stop(fault);
    return import(`./${process.argv[2]}.js`).then((script) => script.main(process.argv.slice(3)));
  },
  () => stop(`Sisterboard needs a newer Node.js than ${process.version}.`),
);

/** @param {string} message */
function stop(message) {
  console.error(message);
  process.exitCode = 1;
}
