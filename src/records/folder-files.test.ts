import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readMachine } from '../machine/index.ts';
import { folderFiles } from './folder-files.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('the files of a folder', () => {
  it('those of the format come with their bytes, others with their name alone', async () => {
    writeFileSync(join(folder, 'parts.csv'), 'board,ref\n');
    writeFileSync(join(folder, 'photo.jpg'), 'x'.repeat(50));
    const files = await folderFiles(folder);
    expect([...files.keys()]).toEqual(['parts.csv', 'photo.jpg']);
    expect(Buffer.from(files.get('parts.csv')!).toString()).toBe('board,ref\n');
    expect(files.get('photo.jpg')).toHaveLength(0);
  });

  it('a file of a hundred megabytes is read, and refused by the machine with its size', async () => {
    writeFileSync(join(folder, 'parts.csv'), Buffer.alloc(100 * 1024 * 1024, 'a'));
    const { findings } = readMachine(await folderFiles(folder));
    expect(findings.map(({ code }) => code)).toContain('file-too-large');
    expect(findings.find(({ code }) => code === 'file-too-large')!.message).toContain('100 MB');
  });

  it('a folder that is not there is refused, with the name that was likely meant', async () => {
    mkdirSync(join(folder, 'counter'));
    await expect(folderFiles(join(folder, 'cuonter'))).rejects.toMatchObject({
      code: 'no-folder',
      message: expect.stringContaining('did you mean counter?'),
    });
  });

  it('a file in place of a folder is refused, with the folder it lies in', async () => {
    const file = join(folder, 'machine.json');
    writeFileSync(file, '{}');
    await expect(folderFiles(file)).rejects.toMatchObject({
      code: 'no-folder',
      message: `${file} is a file; give the folder that holds it: ${folder}`,
    });
  });

  it('a folder by the name of a table is refused, with its path', async () => {
    mkdirSync(join(folder, 'parts.csv'));
    await expect(folderFiles(folder)).rejects.toMatchObject({
      code: 'unreadable',
      message: `${join(folder, 'parts.csv')} is not an ordinary file`,
    });
  });
});
