import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { pageWorldBreaches } from './page-world.ts';

describe('the page', () => {
  it('knows nothing of Node.js', () => {
    expect(pageWorldBreaches(repositoryFiles())).toEqual([]);
  });

  it.each([
    "import { join } from 'node:path';",
    'const mode = process.env.MODE;',
    'const bytes = Buffer.from(text);',
    'setImmediate(draw);',
    "const fs = require('fs');",
  ])('%s is a breach', (text) => {
    expect(pageWorldBreaches([{ path: 'src/web/made-up.tsx', text }])).toHaveLength(1);
  });

  it.each([
    '// the process of elimination',
    "const words = 'process';",
    'const shown = run.process;',
    'const shape = { global: 3 };',
  ])('%s is in order', (text) => {
    expect(pageWorldBreaches([{ path: 'src/web/made-up.tsx', text }])).toEqual([]);
  });

  it('may be tested in Node.js, and the server lives there', () => {
    const text = "import { join } from 'node:path';";
    const paths = ['src/web/made-up.test.ts', 'src/server/made-up.ts'];
    expect(pageWorldBreaches(paths.map((path) => ({ path, text })))).toEqual([]);
  });
});
