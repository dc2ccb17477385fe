import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run, SCENARIOS } from '../src/cli/run.ts';
import { scenarioNames, writtenDemo } from './written.ts';

let place: string;
beforeAll(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterAll(() => rmSync(place, { recursive: true }));

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

describe('the command demo', () => {
  it('makes any scenario from any seed', async () => {
    const folder = join(place, 'deaf');
    const { code, out } = await ask('demo', folder, '--scenario', 'deaf to the float', '--seed', '7');
    expect(code).toBe(0);
    expect(out).toContain('The counter does not follow the float');
    const { files } = writtenDemo('deaf to the float', 7)!;
    expect(readdirSync(folder).sort()).toEqual([...files.keys()].sort());
    for (const [file, text] of files) expect(readFileSync(join(folder, file), 'utf8')).toBe(text);
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
