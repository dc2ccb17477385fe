/** The browser that the tests of the page run in: one that is installed, else from the system's package manager. */

import { existsSync, readdirSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, join } from 'node:path';
import { run, Stopped, step } from './step.js';

const NAMES = [
  'chromium',
  'chromium-browser',
  'google-chrome',
  'google-chrome-stable',
  'chrome',
  'microsoft-edge',
  'microsoft-edge-stable',
  'msedge',
  'brave-browser',
];

/**
 * A browser of the Chromium family: `SISTERBOARD_BROWSER`, the usual places, or what a test tool has downloaded before.
 *
 * @param {NodeJS.ProcessEnv} [env]
 * @param {string} [platform]
 * @param {string} [home]
 * @returns {string | undefined}  the path of the program
 * @throws Stopped  when `SISTERBOARD_BROWSER` names none
 */
export function installedBrowser(env = process.env, platform = process.platform, home = homedir()) {
  const wanted = env.SISTERBOARD_BROWSER;
  if (wanted) {
    if (existsSync(wanted)) return wanted;
    throw new Stopped(`SISTERBOARD_BROWSER is ${wanted}, and there is no such file.`);
  }
  return candidates(env, platform, home).find((path) => existsSync(path));
}

/**
 * @param {NodeJS.ProcessEnv} env
 * @param {string} platform
 * @param {string} home
 * @returns {string[]}
 */
function candidates(env, platform, home) {
  if (platform === 'win32') {
    const roots = [env.PROGRAMFILES, env['PROGRAMFILES(X86)'], env.LOCALAPPDATA].filter(Boolean);
    const programs = ['Google/Chrome/Application/chrome.exe', 'Microsoft/Edge/Application/msedge.exe'];
    const cache = join(env.LOCALAPPDATA ?? home, 'ms-playwright');
    return [
      ...roots.flatMap((folder) => programs.map((program) => join(String(folder), program))),
      ...downloaded(cache, ['chrome-win/chrome.exe', 'chrome-win64/chrome.exe']),
    ];
  }
  if (platform === 'darwin') {
    const programs = ['Google Chrome', 'Chromium', 'Microsoft Edge'];
    const apps = ['/Applications', join(home, 'Applications')];
    const inside = ['chrome-mac', 'chrome-mac-arm64'].map(
      (folder) => `${folder}/Chromium.app/Contents/MacOS/Chromium`,
    );
    return [
      ...apps.flatMap((folder) => programs.map((name) => join(folder, `${name}.app/Contents/MacOS/${name}`))),
      ...downloaded(join(home, 'Library/Caches/ms-playwright'), inside),
    ];
  }
  const folders = [
    ...(env.PATH ?? '').split(delimiter),
    '/usr/bin',
    '/usr/local/bin',
    '/snap/bin',
    '/opt/google/chrome',
  ];
  return [
    ...folders.filter(Boolean).flatMap((folder) => NAMES.map((name) => join(folder, name))),
    ...downloaded(join(env.XDG_CACHE_HOME ?? join(home, '.cache'), 'ms-playwright'), [
      'chrome-linux/chrome',
      'chrome-linux64/chrome',
      'chrome-linux/headless_shell',
    ]),
  ];
}

/**
 * @param {string} cache
 * @param {string[]} programs
 * @returns {string[]}  the newest first
 */
function downloaded(cache, programs) {
  if (!existsSync(cache)) return [];
  const folders = readdirSync(cache).filter((name) => name.startsWith('chromium'));
  return folders
    .sort()
    .reverse()
    .flatMap((name) => programs.map((program) => join(cache, name, program)));
}

/**
 * A browser, installed where there is none and that is ours to do: by apt, as root.
 *
 * @returns {Promise<string>}
 * @throws Stopped  when there is none, with what to do
 */
export async function preparedBrowser() {
  const found = installedBrowser();
  if (found) return found;
  if (process.platform === 'linux' && process.getuid?.() === 0 && existsSync('/usr/bin/apt-get')) {
    console.error('Installing Chromium for the tests of the page (apt-get install chromium).');
    const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
    const apt = (/** @type {string[]} */ args) => run('apt-get', ['-y', '-q', ...args], { quiet: true, env });
    await step('Installing Chromium', async () => {
      await apt(['update']);
      return apt(['install', '--no-install-recommends', 'chromium']);
    });
    const installed = installedBrowser();
    if (installed) return installed;
  }
  throw new Stopped(
    'The tests of the page need Chromium, Chrome or Edge, and none was found. Install one (Debian and Ubuntu: "apt install\n' +
      'chromium"; macOS: "brew install --cask chromium"; Windows: Edge is usually there), or name one in SISTERBOARD_BROWSER.',
  );
}
