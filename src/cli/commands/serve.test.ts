import { describe, expect, it } from 'vitest';
import { hasBrowser } from './serve.ts';

describe('a browser', () => {
  it.each([
    ['linux', { DISPLAY: ':0' }, true],
    ['linux', { WAYLAND_DISPLAY: 'wayland-0' }, true],
    ['linux', {}, false],
    ['linux', { DISPLAY: ':0', CI: 'true' }, false],
    ['darwin', {}, true],
    ['darwin', { SSH_CONNECTION: '10.0.0.2 50000 10.0.0.1 22' }, false],
    ['win32', {}, true],
  ])('on %s with %j is opened: %s', (platform, env, opened) => {
    expect(hasBrowser(env, platform)).toBe(opened);
  });
});
