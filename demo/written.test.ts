import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run, SCENARIOS } from '../src/cli/run.ts';
import { readMachine } from '../src/machine/index.ts';
import { scenarioNames, writtenDemo } from './written.ts';

let place: string;
beforeAll(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterAll(() => rmSync(place, { recursive: true }));

function filesIn(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).replaceAll('\\', '/'))
    .sort();
}

async function ask(...args: readonly string[]) {
  const text = { out: '', err: '' };
  const code = await run(
    args,
    {
      columns: 100,
      unicode: true,
      colours: false,
      progress: undefined,
      out: (more) => {
        text.out += more;
      },
      err: (more) => {
        text.err += more;
      },
    },
    new AbortController().signal,
  );
  return { code, ...text };
}

const FOLDER = fileURLToPath(new URL('tide-gauge', import.meta.url));

describe('the folder in the repository', () => {
  const { files } = writtenDemo()!;

  it('is what the script writes', () => {
    expect(filesIn(FOLDER)).toEqual([...files.keys()].sort());
    for (const [file, content] of files)
      expect(readFileSync(join(FOLDER, file)).equals(Buffer.from(content as string)), file).toBe(true);
  });

  it('has pictures below 60 kB, with every point and part of the machine placed on both sides', () => {
    const pictures = [...files.keys()].filter((file) => file.startsWith('photographs/'));
    expect(pictures).toHaveLength(10);
    for (const file of pictures) expect(files.get(file)!.length).toBeLessThan(60_000);
    const text = files.get('placements.csv') as string;
    const { machine } = readMachine(encoded(files));
    for (const side of ['component', 'copper'])
      for (const name of [...machine!.points.map((p) => p.point), ...machine!.parts.map((p) => p.name)])
        expect(text).toContain(`,${side},${name},`);
  });
});

describe('the written folder of each scenario', () => {
  it.each(scenarioNames)('%s: has nothing to find, and its log ends with what the keeper says', (name) => {
    const { files, symptom } = writtenDemo(name)!;
    const { machine, findings } = readMachine(encoded(files));
    expect(findings).toEqual([]);
    expect(machine!.repairs!.map((r) => r.part)).toEqual(['PWR/C3', 'CTR/LP4']);
    const said = (files.get('log.csv') as string).replaceAll('"', '');
    expect(said).toContain(`symptom,${symptom}`);
  });
});

function encoded(files: ReadonlyMap<string, Uint8Array | string>): Map<string, Uint8Array> {
  return new Map([...files].map(([file, content]) => [file, Buffer.from(content as string)]));
}

describe('the command demo', () => {
  it('makes any scenario from any seed', async () => {
    const folder = join(place, 'deaf');
    const { code, out } = await ask('demo', folder, '--scenario', 'deaf to the float', '--seed', '7');
    expect(code).toBe(0);
    expect(out).toContain('The counter does not follow the float');
    const { files } = writtenDemo('deaf to the float', 7)!;
    expect(filesIn(folder)).toEqual([...files.keys()].sort());
    for (const [file, content] of files)
      expect(readFileSync(join(folder, file)).equals(Buffer.from(content as string)), file).toBe(true);
  });

  it('lists the scenarios in its help, and for a name that is none of them', async () => {
    expect(SCENARIOS).toEqual(scenarioNames);
    const { out } = await ask('demo', '--help');
    const { code, err } = await ask('demo', join(place, 'no'), '--scenario', 'deaf to the flote');
    expect(code).toBe(2);
    expect(err).toContain('did you mean deaf to the float?');
    for (const name of scenarioNames) {
      expect(out).toContain(`  ${name}\n`);
      expect(err).toContain(name);
    }
  });

  it('refuses a seed that is no whole number, and readings of another kind, and writes nothing then', async () => {
    for (const option of [
      ['--seed', '1.5'],
      ['--readings', 'some'],
    ]) {
      const { code } = await ask('demo', join(place, 'no'), ...option);
      expect(code).toBe(2);
    }
    expect(readdirSync(place)).not.toContain('no');
  });
});
