import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { unfinishedBreaches } from './unfinished.ts';

const LATER = 'TO' + 'DO';
const TRUE = 'it("is", () => { expect(1).toBe(1); });';

describe('nothing unfinished', () => {
  it('nothing is left for later, no test is left out, every test file asserts something', () => {
    expect(unfinishedBreaches(repositoryFiles())).toEqual([]);
  });

  it.each([
    ['src/circuit/made-up.ts', `// ${LATER}: the other sign`],
    ['docs/made-up.md', `${LATER}: a picture`],
    ['src/circuit/made-up.test.ts', `it.skip("is", () => {}); ${TRUE}`],
    ['src/circuit/made-up.test.ts', `describe.only("it", () => { ${TRUE} });`],
    ['src/circuit/made-up.test.ts', `it.concurrent.skip("is", () => {}); ${TRUE}`],
    ['src/circuit/made-up.test.ts', `it.todo("is"); ${TRUE}`],
    ['src/circuit/made-up.test.ts', 'it("is", () => { solve(); });'],
    ['src/circuit/made-up.test.ts', 'it("is", () => { /* expect(1).toBe(1); */ });'],
  ])('%s with %s is a breach', (path, text) => {
    expect(unfinishedBreaches([{ path, text }])).toHaveLength(1);
  });

  it.each([
    ['src/circuit/made-up.test.ts', TRUE],
    ['src/circuit/made-up.test.ts', `it.skipIf(absent)("is", () => { expect(1).toBe(1); });`],
    ['src/circuit/made-up.test.ts', 'it("is", () => { fc.assert(law); });'],
    ['src/circuit/made-up.ts', 'const rows = lines.skip(1); unit.only = true;'],
  ])('%s with %s is in order', (path, text) => {
    expect(unfinishedBreaches([{ path, text }])).toEqual([]);
  });
});
