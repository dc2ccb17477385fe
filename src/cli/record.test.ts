import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { run } from './run.ts';
import { TALLY, writeTally } from './tally-folder.ts';

let place: string;
let tally: string;
let record: string;
beforeEach(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  tally = writeTally(join(place, 'tally'));
  record = join(place, 'record.sisterboard');
});
afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(place, { recursive: true });
});

async function ask(...args: readonly string[]) {
  let out = '';
  let err = '';
  const terminal = {
    ...{ columns: 200, unicode: true, colours: false, progress: undefined },
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      err += text;
    },
  };
  const code = await run(args, terminal, new AbortController().signal);
  return { code, out, err };
}

describe('the commands on a record', () => {
  it.each([
    ['check'],
    ['compare', '--all'],
    ['suspects', '--all'],
    ['next'],
    ['sound', '--condition', 'held'],
    ['expect', '--fault', 'TLY/Q2:short-ce'],
    ['what-if', '--fault', 'TLY/R5:open'],
  ])('%s says what it says on the folder, with the name and without', async (command, ...options) => {
    await ask('import', tally, '--record', record);
    const folder = await ask(command, tally, ...options, '--json');
    expect(folder.code).toBe(0);
    const named = await ask(command, 'Ferry tally', '--record', record, ...options, '--json');
    expect(named).toEqual(folder);
    expect(await ask(command, '--record', record, ...options, '--json')).toEqual(folder);
  });

  it('name the machines there are when one must be named', async () => {
    await ask('import', tally, '--record', record);
    await ask('import', tally, '--record', record, '--name', 'Second tally');
    const unnamed = await ask('check', '--record', record);
    expect(unnamed).toEqual({
      ...{ code: 2, out: '' },
      err: 'name the machine; machines: "Ferry tally", "Second tally"\n',
    });
    const wrong = await ask('check', 'Ferry taly', '--record', record);
    expect(wrong.err).toMatch(/no machine "Ferry taly"; machines: .*did you mean Ferry tally\?/);
    expect((await ask('check', 'Second tally', '--record', record)).code).toBe(0);
  });

  it('say how to see what is doubtful', async () => {
    const doubtful = writeTally(join(place, 'doubtful'), {
      'states.csv': 'condition,steps\nhedl,hold the key\n',
    });
    await ask('import', doubtful, '--record', record);
    const { err } = await ask('sound', '--record', record);
    expect(err).toContain(`1 doubtful thing in the machine: sisterboard check --record ${record}`);
  });

  it('need a folder where no record is named', async () => {
    const { code, err } = await ask('check');
    expect([code, err]).toEqual([2, expect.stringContaining("missing required argument 'FOLDER'")]);
  });

  it('do not make a record that is not there', async () => {
    for (const args of [['check'], ['export', '--to', join(place, 'out')], ['backup', join(place, 'copy')]]) {
      const { code, err } = await ask(...args, '--record', record);
      expect([code, err]).toEqual([2, `there is no record ${record}\n`]);
    }
    expect(readdirSync(place)).toEqual(['tally']);
  });
});

describe('import and export', () => {
  it('bring a folder through the record without loss, with its pictures and what the format does not know', async () => {
    mkdirSync(join(tally, 'photographs'));
    mkdirSync(join(tally, 'scans'));
    writeFileSync(join(tally, 'photographs', 'tly.jpg'), Uint8Array.of(1, 2, 3));
    writeFileSync(join(tally, 'photographs.csv'), 'file,board\ntly.jpg,TLY\n');
    writeFileSync(join(tally, 'letter.txt'), 'from the ferry company');
    writeFileSync(join(tally, '.hidden'), 'stays');
    const taken = await ask('import', tally, '--record', record);
    expect(taken.out).toBe(`Ferry tally is in the record ${record}, with 9 parts and 8 readings.\n`);
    const out = join(place, 'out');
    const given = await ask('export', '--to', out, '--record', record);
    expect(given.out).toBe(`Ferry tally is in ${out}: sisterboard check ${out}\n`);
    for (const [file, text] of Object.entries(TALLY))
      expect(readFileSync(join(out, file), 'utf8')).toBe(text);
    expect([...readFileSync(join(out, 'photographs', 'tly.jpg'))]).toEqual([1, 2, 3]);
    expect(readFileSync(join(out, 'letter.txt'), 'utf8')).toBe('from the ferry company');
    expect(readdirSync(out)).toEqual(
      [...Object.keys(TALLY), 'letter.txt', 'photographs', 'photographs.csv'].sort(),
    );
    const again = await ask('export', '--to', out, '--record', record);
    expect([again.code, again.err]).toEqual([2, expect.stringContaining('is there already and not empty')]);
  });

  it('say all that is wrong with a folder, and take nothing in', async () => {
    writeFileSync(join(tally, 'points.csv'), 'point\nNOWHERE\n');
    const { code, err } = await ask('import', tally, '--record', record);
    expect(code).toBe(2);
    expect(err).toMatch(/nothing was taken in until this is mended:\n.*points\.csv.*NOWHERE/);
    expect((await ask('export', '--to', join(place, 'out'), '--record', record)).err).toBe(
      'name the machine; the record has no machine\n',
    );
  });

  it('use the person’s own record where none is named', async () => {
    vi.stubEnv('SISTERBOARD_RECORD', record);
    const { out } = await ask('import', tally, '--json');
    expect(JSON.parse(out)).toMatchObject({ record, machine: { name: 'Ferry tally', readings: 8 } });
    expect(existsSync(record)).toBe(true);
    expect((await ask('export', '--to', join(place, 'out'))).code).toBe(0);
  });
});

describe('backup and restore', () => {
  it('bring back what was there, and keep what is put aside', async () => {
    await ask('import', tally, '--record', record);
    const copy = join(place, 'copy.sisterboard');
    const made = await ask('backup', copy, '--record', record);
    expect(made.out).toMatch(
      /^.*copy\.sisterboard is a copy of the record .*, \d+ kB, read back and whole\.\n$/,
    );
    expect((await ask('backup', copy, '--record', record)).err).toMatch(/is there already/);
    await ask('import', tally, '--record', record, '--name', 'later');
    const restored = await ask('restore', copy, '--record', record, '--json');
    const { kept } = JSON.parse(restored.out);
    expect((await ask('check', '--record', record)).code).toBe(0);
    expect((await ask('check', 'later', '--record', kept)).code).toBe(0);
  });

  it('refuse what is no backup, and leave the record as it is', async () => {
    await ask('import', tally, '--record', record);
    const { code, err } = await ask('restore', join(tally, 'parts.csv'), '--record', record);
    expect([code, err]).toEqual([2, expect.stringContaining('is not a record of Sisterboard')]);
    expect((await ask('check', '--record', record)).code).toBe(0);
  });
});
