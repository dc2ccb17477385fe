import { zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { checked, type FolderFile, filesOfZip, folderOf, zipOf } from './folder.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const HEAD = JSON.stringify({
  format: 1,
  name: 'till',
  reference: '0V',
  rails: [{ net: '-9V', volts: -9 }],
  units: [{ id: 'one', health: 'healthy' }],
});
const PARTS =
  'board,ref,kind,type,value,pins\nKEY,R1,resistor,,4K7,1=-9V 2=OUT\nKEY,J1,connector,,,1=OUT 2=0V\n';

function files(more: Readonly<Record<string, string>> = {}, around = ''): FolderFile[] {
  const all = { 'machine.json': HEAD, 'parts.csv': PARTS, ...more };
  return Object.entries(all).map(([name, text]) => ({ name: around + name, bytes: bytes(text) }));
}

describe('a folder that is brought in', () => {
  it('is the one around machine.json, without hidden files and what lies elsewhere', () => {
    const found = folderOf([
      ...files({ 'photographs/a.png': 'x', '.DS_Store': 'y' }, 'home/till/'),
      { name: '__MACOSX/till/parts.csv', bytes: bytes('z') },
      { name: 'home/other.csv', bytes: bytes('z') },
    ]);
    expect([...found.keys()]).toEqual(['machine.json', 'parts.csv', 'photographs/a.png']);
  });

  it('comes out of its zip as it went in', () => {
    const zip = zipOf(folderOf(files()));
    expect(
      filesOfZip(zip).map(({ name, bytes: content }) => [name, new TextDecoder().decode(content)]),
    ).toEqual([
      ['machine.json', HEAD],
      ['parts.csv', PARTS],
    ]);
    expect(() => filesOfZip(bytes('no zip'))).toThrow();
    expect(filesOfZip(zipSync({ 'till/': new Uint8Array() }))).toEqual([]);
  });

  it('says what stays of it, and what is wrong with file, row and column', () => {
    const good = checked(folderOf(files({ 'photographs/a.png': 'x', 'notes.txt': 'y' })));
    expect(good.name).toBe('till');
    expect(good.findings.filter(({ severity }) => severity === 'error')).toEqual([]);
    expect(good.kept).toEqual([
      { file: 'machine.json', words: 'read' },
      { file: 'parts.csv', words: '2 rows good' },
      { file: 'photographs/', words: '1 picture' },
      { file: 'notes.txt', words: 'kept as they are' },
    ]);
    const bad = checked(folderOf(files({ 'parts.csv': PARTS.replace('4K7', '4K7x') })));
    expect(bad.findings).toContainEqual(
      expect.objectContaining({ severity: 'error', file: 'parts.csv', row: 2, column: 'value' }),
    );
  });

  it('without machine.json is read all the same, for what else there is to say', () => {
    const found = folderOf([{ name: 'till/parts.csv', bytes: bytes(PARTS) }]);
    expect([...found.keys()]).toEqual(['parts.csv']);
    expect(checked(found).findings.some(({ file }) => file === 'machine.json')).toBe(true);
  });
});
