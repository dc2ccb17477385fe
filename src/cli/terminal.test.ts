import { describe, expect, it } from 'vitest';
import { lineWidth, showsColours, showsUnicode } from './terminal.ts';

describe('what a terminal shows', () => {
  it.each([
    [{}, { columns: 132 }, 132],
    [{ COLUMNS: '60' }, { columns: 132 }, 60],
    [{ COLUMNS: 'wide' }, {}, 100],
    [{ COLUMNS: '0' }, {}, 100],
    [{}, { columns: 12 }, 40],
  ])('%j and %j: lines of %d', (env, stream, columns) => {
    expect(lineWidth(env, stream)).toBe(columns);
  });

  it.each([
    [{ LANG: 'en_GB.UTF-8' }, 'linux', true],
    [{ LANG: 'C.utf8' }, 'linux', true],
    [{ LANG: 'en_GB.UTF-8', LC_ALL: 'C' }, 'linux', false],
    [{ LANG: 'en_GB.ISO-8859-15' }, 'linux', false],
    [{}, 'linux', false],
    [{}, 'win32', false],
    [{ WT_SESSION: '1' }, 'win32', true],
  ])('%j on %s: signs beyond ASCII %j', (env, platform, shown) => {
    expect(showsUnicode(env, platform)).toBe(shown);
  });

  it.each([
    [{}, { isTTY: true }, true],
    [{}, {}, false],
    [{ CI: 'true' }, {}, false],
    [{ NO_COLOR: '1' }, { isTTY: true }, false],
    [{ NO_COLOR: '' }, { isTTY: true }, true],
    [{ TERM: 'dumb' }, { isTTY: true }, false],
  ])('%j and %j: colours %j', (env, stream, shown) => {
    expect(showsColours(env, stream)).toBe(shown);
  });
});
