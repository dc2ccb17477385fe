/**
 * Which Node.js runs Sisterboard, checked before anything else is loaded.
 *
 * No import and no syntax newer than 2018 in here: an old Node must get as far as the message.
 */

/** The same range as `engines.node` in package.json; a test holds the two together. */
export const NODE_RANGE = '^20.19.0 || ^22.12.0 || >=24.0.0';

/**
 * Why a version of Node.js cannot run this program, or `undefined` when it can.
 *
 * @param {string} version  as in `process.versions.node`, without a leading v
 * @param {string} [range]  alternatives of `^a.b.c` or `>=a.b.c`, separated by `||`
 * @returns {string | undefined}
 */
export function nodeFault(version, range = NODE_RANGE) {
  const found = numbers(version);
  for (const alternative of range.split('||')) {
    const wanted = numbers(alternative);
    if (alternative.trim().startsWith('^') && found[0] !== wanted[0]) continue;
    if (compare(found, wanted) >= 0) return undefined;
  }
  return (
    `Sisterboard needs Node.js ${range}; this is ${version}.\n` +
    'Install a current Node.js (an even-numbered release is best) and run the same command again.'
  );
}

/** @param {string} text */
function numbers(text) {
  return (text.match(/\d+/g) || []).slice(0, 3).map(Number);
}

/** @param {number[]} a @param {number[]} b */
function compare(a, b) {
  for (let i = 0; i < 3; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return 0;
}
