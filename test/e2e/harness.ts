/**
 * The built program and a real browser: each test gets a server of its own on a fresh record and a free port, and pages that
 * remember everything that went wrong in them. Start with `workbench()`.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { AxeBuilder } from '@axe-core/playwright';
import {
  type Browser,
  type BrowserContext,
  type BrowserContextOptions,
  chromium,
  type Page,
} from 'playwright-core';
import { installedBrowser } from '../../scripts/browser.js';

const PROGRAM = fileURLToPath(new URL('../../bin/sisterboard.js', import.meta.url));
const READY = /Sisterboard is (?:ready|running already with this record): (\S+)/;
const PATIENCE_MS = 20_000;
const QUIET = [
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/** A server on a record of its own. */
export interface Workbench {
  /** With the key. */
  readonly address: string;
  readonly origin: string;
  readonly record: string;
  /** A fresh page, admitted, at a path of ours; an empty one stands before the address was opened. */
  open(path?: string, options?: BrowserContextOptions): Promise<WatchedPage>;
  /** All that went wrong in any page; must stay empty. */
  readonly troubles: readonly string[];
  /** What the server wrote to its terminal since it was started last. */
  readonly output: () => string;
  /** Ends the server as by Ctrl-C, and starts it anew on the same record; open pages are closed. */
  restart(): Promise<void>;
  /** Kills the server without a word; `back` starts it anew on the same record and port. Open pages stay. */
  kill(): Promise<{ back(): Promise<void> }>;
  close(): Promise<void>;
}

export interface WatchedPage extends Page {
  /** Accessibility violations of the page as it stands, one line each. */
  violations(): Promise<readonly string[]>;
}

let browser: Promise<Browser> | undefined;

/** One browser for all tests of a file. */
function launched(): Promise<Browser> {
  const executablePath = installedBrowser();
  if (executablePath === undefined) throw new Error('no browser: run "npm test", which prepares one');
  const args = process.getuid?.() === 0 ? [...QUIET, '--no-sandbox'] : QUIET;
  browser ??= chromium.launch({ executablePath, args, headless: true });
  return browser;
}

/** Ends the browser; for the last hook of a test file. */
export async function endBrowser(): Promise<void> {
  const running = browser;
  browser = undefined;
  await (await running)?.close();
}

/** Starts the built program on a fresh record, or on the one that is given. */
export async function workbench(record?: string): Promise<Workbench> {
  const folder = mkdtempSync(join(tmpdir(), 'sisterboard-e2e-'));
  const file = record ?? join(folder, 'record.sisterboard');
  const troubles: string[] = [];
  const contexts: BrowserContext[] = [];
  let server = await started(file, folder);
  return {
    get address() {
      return server.address;
    },
    get origin() {
      return new URL(server.address).origin;
    },
    record: file,
    troubles,
    output: () => server.output(),
    async open(path = '/', options = {}) {
      const { address } = server;
      const { origin } = new URL(address);
      const context = await (await launched()).newContext({ locale: 'en-GB', baseURL: origin, ...options });
      contexts.push(context);
      const page = watched(await context.newPage(), origin, troubles);
      if (path !== '') await page.goto(address);
      if (path !== '' && path !== '/') await page.goto(path);
      return page;
    },
    async restart() {
      for (const context of contexts.splice(0)) await context.close();
      await ended(server.child);
      server = await started(file, folder);
    },
    async kill() {
      const { port } = new URL(server.address);
      const gone = new Promise((done) => server.child.on('exit', done));
      server.child.kill('SIGKILL');
      await gone;
      return {
        back: async () => {
          server = await started(file, folder, port);
        },
      };
    },
    async close() {
      for (const context of contexts) await context.close();
      await ended(server.child);
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

interface Started {
  readonly child: ChildProcess;
  readonly address: string;
  readonly output: () => string;
}

/** Nothing of the person's own is read or written: `folder` is the home of all of it. */
async function started(record: string, folder: string, port = '0'): Promise<Started> {
  const options = ['--record', record, '--port', port, '--no-browser'];
  const child = spawn(process.execPath, [PROGRAM, 'serve', ...options], {
    cwd: folder,
    env: { ...process.env, HOME: folder, XDG_CACHE_HOME: join(folder, 'cache'), XDG_DATA_HOME: folder },
  });
  let output = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.setEncoding('utf8').on('data', (text: string) => {
      output += text;
    });
  }
  return { child, address: await ready(child, () => output), output: () => output };
}

function ready(child: ChildProcess, output: () => string): Promise<string> {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`not ready in time: ${output()}`)), PATIENCE_MS);
    const look = (): void => {
      const address = READY.exec(output())?.[1];
      if (address === undefined) return;
      clearTimeout(late);
      resolve(address);
    };
    child.stdout!.on('data', look);
    child.on('exit', (code) => {
      clearTimeout(late);
      reject(new Error(`ended with ${code}: ${output()}`));
    });
  });
}

/** As by Ctrl-C. */
function ended(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
  return new Promise((done) => {
    child.on('exit', () => done());
    child.kill('SIGINT');
  });
}

/** Errors of scripts, what is written to the console as an error (the security policy does so too), requests that go elsewhere. */
function watched(page: Page, origin: string, troubles: string[]): WatchedPage {
  page.on('pageerror', (error) => troubles.push(`error: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error') troubles.push(`console: ${message.text()} (${message.location().url})`);
  });
  page.on('request', (request) => {
    const url = request.url();
    if (!url.startsWith(`${origin}/`) && !url.startsWith('blob:') && !url.startsWith('data:')) {
      troubles.push(`request to ${url}`);
    }
  });
  return Object.assign(page, {
    violations: async () => {
      const { violations } = await new AxeBuilder({ page }).analyze();
      return violations.flatMap(({ id, help, nodes }) =>
        nodes.map(({ target, failureSummary = '' }) =>
          `${id}: ${help}; ${target.join(' ')}; ${failureSummary}`.replaceAll(/\s+/g, ' '),
        ),
      );
    },
  });
}
