import { describe, expect, it } from 'vitest';
import { repositoryFiles, repositoryPictures } from './files.ts';
import { linkBreaches } from './links.ts';

const OTHER = { path: 'docs/method.md', text: '# Method\n## The next reading, and its cost\n' };

describe('links', () => {
  it('every link in the documents lands', () => {
    expect(linkBreaches(repositoryFiles(), repositoryPictures())).toEqual([]);
  });

  it.each([
    '[a](docs/nowhere.md)',
    '![picture](docs/nowhere.png)',
    '[a](docs/method.md#nowhere)',
    '[a](#nowhere)',
    '[a](../outside.md)',
    'See [a].\n\n[a]: docs/nowhere.md',
  ])('%s is a breach', (text) => {
    expect(linkBreaches([{ path: 'README.md', text }, OTHER])).toHaveLength(1);
  });

  it.each([
    '[a](docs/method.md)',
    '[a](docs/)',
    '[a](docs/method.md#the-next-reading-and-its-cost)',
    '# Here\n[a](#here)',
    '[a](https://example.org/nowhere)',
    '![picture](docs/strip.png)',
    '`[a](nowhere.md)`',
    '```\n[a](nowhere.md)\n```',
  ])('%s is in order', (text) => {
    expect(linkBreaches([{ path: 'README.md', text }, OTHER], ['docs/strip.png'])).toEqual([]);
  });
});
