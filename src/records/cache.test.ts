import { mkdtempSync, readdirSync, readFileSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { Cache, cacheFolder } from './cache.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const bytes = (...values: number[]) => Uint8Array.from(values);

describe('where results are kept', () => {
  it.each([
    [{ XDG_CACHE_HOME: '/var/keep' }, 'linux', '/var/keep/sisterboard'],
    [{ XDG_CACHE_HOME: '/var/keep' }, 'darwin', '/var/keep/sisterboard'],
    // The specification: a relative path is to be ignored.
    [{ XDG_CACHE_HOME: 'keep' }, 'linux', '/p/.cache/sisterboard'],
    [{ XDG_CACHE_HOME: '' }, 'linux', '/p/.cache/sisterboard'],
    [{}, 'darwin', '/p/Library/Caches/sisterboard'],
    [{}, 'win32', '/p/AppData/Local/sisterboard/cache'],
    [{ LOCALAPPDATA: '/q' }, 'win32', '/q/sisterboard/cache'],
  ])('%j on %s is %s', (env, platform, path) => {
    expect(cacheFolder(env, platform, '/p')).toBe(path);
  });
});

describe('a cache', () => {
  it('gives back under a key what was put there, and nothing under others', async () => {
    // Each in a folder of its own: the other key may be one that was drawn before.
    let run = 0;
    await fc.assert(
      fc.asyncProperty(fc.string(), fc.uint8Array({ maxLength: 50 }), async (key, content) => {
        const cache = new Cache(join(folder, `${run++}`));
        await cache.put(key, content);
        expect(await cache.get(key)).toEqual(content);
        expect(await cache.get(`${key} `)).toBeUndefined();
      }),
      { numRuns: 20 },
    );
  });

  it('makes its folder', async () => {
    const cache = new Cache(join(folder, 'a', 'b'));
    await cache.put('k', bytes(1));
    expect(await cache.get('k')).toEqual(bytes(1));
  });

  it('takes an entry with any one byte changed, or cut short anywhere, for none', async () => {
    const cache = new Cache(folder);
    await cache.put('k', bytes(1, 2, 3));
    const path = join(folder, readdirSync(folder)[0]!);
    const whole = readFileSync(path);
    for (let i = 0; i < whole.length; i++) {
      const changed = Buffer.from(whole);
      changed[i]! ^= 1;
      writeFileSync(path, changed);
      expect(await cache.get('k')).toBeUndefined();
      writeFileSync(path, whole.subarray(0, i));
      expect(await cache.get('k')).toBeUndefined();
    }
    writeFileSync(path, whole);
    expect(await cache.get('k')).toEqual(bytes(1, 2, 3));
  });

  it('lets the least recently used go when all grow too large', async () => {
    const cache = new Cache(folder, 1000);
    await cache.put('a', new Uint8Array(300));
    const [first] = readdirSync(folder);
    await cache.put('b', new Uint8Array(300));
    const second = readdirSync(folder).find((name) => name !== first)!;
    utimesSync(join(folder, second), 1, 1);
    utimesSync(join(folder, first!), 2, 2);
    await cache.get('b');
    await cache.put('c', new Uint8Array(300));
    expect(await cache.get('a')).toBeUndefined();
    expect(await cache.get('b')).toHaveLength(300);
    expect(await cache.get('c')).toHaveLength(300);
  });

  it('keeps the newest entry, however large', async () => {
    const cache = new Cache(folder, 10);
    await cache.put('a', new Uint8Array(300));
    expect(await cache.get('a')).toHaveLength(300);
  });

  it('sweeps away what a killed writer left an hour ago, and nothing that is being written', async () => {
    writeFileSync(join(folder, 'old.kept.7-0.part'), '');
    utimesSync(join(folder, 'old.kept.7-0.part'), 1, 1);
    writeFileSync(join(folder, 'now.kept.8-0.part'), '');
    await new Cache(folder).put('k', bytes(1));
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual(['now.kept.8-0.part']);
  });

  it('in a folder that takes nothing says so, and has nothing', async () => {
    writeFileSync(join(folder, 'file'), '');
    const cache = new Cache(join(folder, 'file'));
    await expect(cache.put('k', bytes(1))).rejects.toMatchObject({ code: 'unwritable' });
    expect(await cache.get('k')).toBeUndefined();
  });
});
