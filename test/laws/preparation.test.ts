import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { installFault } from '../../scripts/install.js';

const PACKAGE = { dependencies: { tally: '^1.0.0' } };
const LISTED = {
  '': PACKAGE,
  'node_modules/tally': { version: '1.2.0' },
  'node_modules/elsewhere': { version: '3.0.0', optional: true },
};
const INSTALLED = { 'node_modules/tally': { version: '1.2.0' } };

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

function write(path: string, value: unknown) {
  mkdirSync(join(folder, path, '..'), { recursive: true });
  writeFileSync(join(folder, path), JSON.stringify(value));
}

function checkout(installed: object | undefined, own: object = PACKAGE) {
  write('package.json', own);
  write('package-lock.json', { packages: LISTED });
  if (!installed) return;
  write('node_modules/.package-lock.json', { packages: installed });
  write('node_modules/tally/package.json', {});
}

describe('what is installed before anything runs', () => {
  it('nothing, when every package is there as listed', () => {
    checkout(INSTALLED);
    expect(installFault(folder)).toBeUndefined();
  });

  it('everything, on a fresh clone', () => {
    checkout(undefined);
    expect(installFault(folder)).toBe('they are not there yet');
  });

  it('a package that is there in another version than listed', () => {
    checkout({ 'node_modules/tally': { version: '1.1.0' } });
    expect(installFault(folder)).toBe('node_modules/tally 1.2.0 is missing');
  });

  it('a package whose folder has been taken away', () => {
    checkout(INSTALLED);
    rmSync(join(folder, 'node_modules/tally'), { recursive: true });
    expect(installFault(folder)).toBe('node_modules/tally has gone');
  });

  it('a package that package.json asks for and the lock file does not list', () => {
    checkout(INSTALLED, { dependencies: { tally: '^1.0.0', strip: '^2.0.0' } });
    expect(installFault(folder)).toBe('package.json has changed since');
  });
});
