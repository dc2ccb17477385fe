import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { usualRecordPath } from './record-path.ts';

const HOME = join('/', 'h');
const DATA = join('/', 'd');

describe('the usual place of the record', () => {
  it.each([
    [{}, 'linux', join(HOME, '.local', 'share', 'sisterboard', 'record.sisterboard')],
    [{ XDG_DATA_HOME: DATA }, 'linux', join(DATA, 'sisterboard', 'record.sisterboard')],
    [
      { XDG_DATA_HOME: 'relative' },
      'linux',
      join(HOME, '.local', 'share', 'sisterboard', 'record.sisterboard'),
    ],
    [{}, 'darwin', join(HOME, 'Library', 'Application Support', 'sisterboard', 'record.sisterboard')],
    [{ LOCALAPPDATA: DATA }, 'win32', join(DATA, 'sisterboard', 'record.sisterboard')],
    [{}, 'win32', join(HOME, 'AppData', 'Local', 'sisterboard', 'record.sisterboard')],
    [{ SISTERBOARD_RECORD: 'mine', XDG_DATA_HOME: DATA }, 'linux', 'mine'],
    [{ SISTERBOARD_RECORD: '' }, 'linux', join(HOME, '.local', 'share', 'sisterboard', 'record.sisterboard')],
  ])('with %j on %s is %s', (env, platform, path) => {
    expect(usualRecordPath(env, platform, HOME)).toBe(path);
  });
});
