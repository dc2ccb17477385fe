import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { writeFileWhole, writeFolder } from './whole-write.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('a file written whole', () => {
  it('takes the place of the old one and leaves nothing beside it', async () => {
    const path = join(folder, 'readings.csv');
    writeFileSync(path, 'old');
    await writeFileWhole(path, 'new');
    expect(readFileSync(path, 'utf8')).toBe('new');
    expect(readdirSync(folder)).toEqual(['readings.csv']);
  });

  it('that cannot be written says where and why, and leaves nothing', async () => {
    mkdirSync(join(folder, 'readings.csv', 'inside'), { recursive: true });
    await expect(writeFileWhole(join(folder, 'readings.csv'), 'new')).rejects.toMatchObject({
      code: 'unwritable',
      message: expect.stringContaining('readings.csv'),
    });
    expect(readdirSync(folder)).toEqual(['readings.csv']);
  });
});

describe('a folder written whole', () => {
  const files = new Map<string, string>([
    ['machine.json', '{}'],
    ['parts.csv', 'board\n'],
  ]);

  it('appears with all its files, the folders above it too', async () => {
    const path = join(folder, 'a', 'b');
    await writeFolder(path, files);
    expect(readdirSync(path).sort()).toEqual(['machine.json', 'parts.csv']);
    expect(readdirSync(join(folder, 'a'))).toEqual(['b']);
  });

  it('may take the place of an empty one', async () => {
    await writeFolder(folder, files);
    expect(readdirSync(folder)).toHaveLength(2);
  });

  it('never touches what is there', async () => {
    writeFileSync(join(folder, 'mine.txt'), 'x');
    await expect(writeFolder(folder, files)).rejects.toMatchObject({ code: 'not-empty' });
    expect(readdirSync(folder)).toEqual(['mine.txt']);
    await expect(writeFolder(join(folder, 'mine.txt'), files)).rejects.toMatchObject({ code: 'not-empty' });
  });

  it('that is given up half-way leaves nothing behind', async () => {
    const stop = new AbortController();
    const halfway = new Map<string, string>(files);
    // The second file asks for its content when the first is on the disk.
    const asked = Object.assign(halfway, {
      *[Symbol.iterator]() {
        yield ['machine.json', '{}'] as [string, string];
        stop.abort(new Error('given up'));
        yield ['parts.csv', 'board\n'] as [string, string];
      },
    });
    await expect(writeFolder(join(folder, 'new'), asked, stop.signal)).rejects.toThrow('given up');
    expect(readdirSync(folder)).toEqual([]);
  });

  it('that cannot be written is refused with its path, and leaves nothing behind', async () => {
    const bad = new Map([...files, ['x'.repeat(300), '']]);
    await expect(writeFolder(join(folder, 'new'), bad)).rejects.toMatchObject({
      code: 'unwritable',
      message: `cannot write ${join(folder, 'new')}: the name is too long`,
    });
    expect(readdirSync(folder)).toEqual([]);
  });

  it('holds pictures in a folder of their own', async () => {
    await writeFolder(
      join(folder, 'new'),
      new Map<string, string | Uint8Array>([...files, ['photographs/a.png', Uint8Array.of(7)]]),
    );
    expect([...readFileSync(join(folder, 'new', 'photographs', 'a.png'))]).toEqual([7]);
  });

  it.each(['../out', '/out', 'a/../../out', 'C:\\out', 'a\\b', '', 'a//b', '.', 'a\nb', 'a/b/c/d'])(
    'with a file %j is refused before anything is written',
    async (path) => {
      const bad = new Map([...files, [path, '']]);
      await expect(writeFolder(join(folder, 'new'), bad)).rejects.toMatchObject({ code: 'bad-name' });
      expect(readdirSync(folder)).toEqual([]);
    },
  );
});
