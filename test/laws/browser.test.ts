import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { installedBrowser } from '../../scripts/browser.js';

let home: string;
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(home, { recursive: true }));

function installed(path: string): string {
  const file = join(home, path);
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, '');
  return file;
}

describe('the browser that pages are tested in', () => {
  it('is the one that is named, and no other when that is not there', () => {
    const file = installed('my browser');
    installed('bin/chromium');
    const env = { SISTERBOARD_BROWSER: file, PATH: join(home, 'bin') };
    expect(installedBrowser(env, 'linux', home)).toBe(file);
    const gone = { ...env, SISTERBOARD_BROWSER: join(home, 'gone') };
    expect(() => installedBrowser(gone, 'linux', home)).toThrow('there is no such file');
  });

  it.each([
    [
      'on the path',
      'linux',
      'bin/google-chrome',
      (folder: string) => ({ PATH: `/nowhere:${join(folder, 'bin')}` }),
    ],
    ['an application', 'darwin', 'Applications/Chromium.app/Contents/MacOS/Chromium', () => ({})],
    [
      'a program',
      'win32',
      'Google/Chrome/Application/chrome.exe',
      (folder: string) => ({ PROGRAMFILES: folder }),
    ],
  ] as const)('is %s', (_, platform, path, env) => {
    const file = installed(path);
    expect(installedBrowser(env(home), platform, home)).toBe(file);
  });

  it('is the newest that was downloaded before, where this machine has none of its own', () => {
    installed('ms-playwright/chromium-1001/chrome-win/chrome.exe');
    const newer = installed('ms-playwright/chromium-1200/chrome-win/chrome.exe');
    expect(installedBrowser({ LOCALAPPDATA: home }, 'win32', home)).toBe(newer);
  });

  it('is none where there is none', () => {
    expect(installedBrowser({}, 'win32', home)).toBeUndefined();
  });
});
