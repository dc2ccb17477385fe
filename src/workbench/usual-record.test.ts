import { describe, expect, it } from 'vitest';
import { usualRecord } from './usual-record.ts';

describe('the usual place of the record', () => {
  it.each([
    ['linux', {}, '/home/ada/.local/share/sisterboard/record.sisterboard'],
    ['linux', { XDG_DATA_HOME: '/srv/data' }, '/srv/data/sisterboard/record.sisterboard'],
    ['linux', { XDG_DATA_HOME: 'data' }, '/home/ada/.local/share/sisterboard/record.sisterboard'],
    ['darwin', {}, '/home/ada/Library/Application Support/sisterboard/record.sisterboard'],
    ['win32', { LOCALAPPDATA: '/local' }, '/local/sisterboard/record.sisterboard'],
  ])('on %s with %j is %s', (platform, env, path) => {
    expect(usualRecord(env, platform, '/home/ada')).toBe(path);
  });
});
