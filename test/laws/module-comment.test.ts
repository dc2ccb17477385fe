import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { moduleCommentBreaches } from './module-comment.ts';

const COMMENT = `/** ${'What it is for, the call to start with, and what it does not do. '.repeat(2)}*/\n`;

describe('module comments', () => {
  it('every module opens with what it is for', () => {
    expect(moduleCommentBreaches(repositoryFiles())).toEqual([]);
  });

  it('a module without a front door is a breach', () => {
    expect(moduleCommentBreaches([{ path: 'src/stock/spare.ts', text: COMMENT }])).toEqual([
      'src/stock/index.ts is missing',
    ]);
  });

  it.each([
    ['', 'src/stock/index.ts'],
    ['/** Parts. */', 'src/stock/index.ts'],
    [`export {};\n${COMMENT}`, 'src/circuit/matrix/index.ts'],
    ['', 'src/cli/main.ts'],
  ])('%j is no module comment', (text, path) => {
    const whole = [
      { path: 'src/circuit/index.ts', text: COMMENT },
      { path, text },
    ];
    expect(moduleCommentBreaches(whole)).toHaveLength(1);
  });

  it('a front door with a paragraph is in order', () => {
    const paths = ['src/stock/index.ts', 'src/cli/main.ts', 'src/web/main.tsx'];
    expect(moduleCommentBreaches(paths.map((path) => ({ path, text: COMMENT })))).toEqual([]);
  });
});
