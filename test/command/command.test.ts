/** The built program as a person or another program starts it: a process with pipes, signals and an exit code. */

import { type ChildProcess, spawn } from 'node:child_process';
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
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { buildProgram } from '../../scripts/build.js';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));

let place: string;
let cache: string;
beforeAll(async () => {
  await buildProgram();
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterAll(() => rmSync(place, { recursive: true }));
beforeEach(() => {
  cache = mkdtempSync(join(place, 'cache-'));
});

/** Many independent inverters, so that there is enough to compute for worker threads. */
function manyInverters(count: number): string {
  const folder = join(place, `inverters-${count}`);
  if (existsSync(folder)) return folder;
  mkdirSync(folder);
  const each = (line: (i: number) => string): string =>
    Array.from({ length: count }, (_, i) => line(i)).join('');
  const files = {
    'machine.json': JSON.stringify({
      format: 1,
      name: 'Lock-gate lamps',
      reference: '0V',
      ambient: 20,
      rails: [
        { net: '-12V', volts: -12, tolerance: 5 },
        { net: '+6V', volts: 6, tolerance: 5 },
      ],
      units: [
        { id: 'upper', health: 'healthy' },
        { id: 'lower', health: 'faulty' },
      ],
    }),
    'parts.csv': `board,ref,kind,type,value,pins\n${each(
      (i) =>
        `B,Q${i},transistor,GE-PNP,,e=0V b=B${i} c=OUT${i}\nB,RC${i},resistor,,2.2k,1=-12V 2=OUT${i}\nB,RB${i},resistor,,15k,1=IN 2=B${i}\nB,RO${i},resistor,,100k,1=B${i} 2=+6V\n`,
    )}`,
    'conditions.csv': 'condition,net,role,volts,ohms\nheld,IN,drive,-6,10\nfree,IN,drive,0,10\n',
    'readings.csv': `unit,condition,point,quantity,value\nlower,free,OUT3,V,-0.02\n${each((i) => `lower,held,OUT${i},V,-0.09\n`)}`,
  };
  for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
  return folder;
}

function start(args: readonly string[], env: NodeJS.ProcessEnv = {}): ChildProcess {
  return spawn(process.execPath, [join(ROOT, 'bin/sisterboard.js'), ...args], {
    env: { ...process.env, XDG_CACHE_HOME: cache, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
}

async function ended(child: ChildProcess) {
  let out = '';
  let err = '';
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    out += text;
  });
  child.stderr!.setEncoding('utf8').on('data', (text: string) => {
    err += text;
  });
  const code = await new Promise((resolve) => child.on('close', (exit, signal) => resolve(exit ?? signal)));
  return { code, out, err };
}

const kept = () => (existsSync(join(cache, 'sisterboard')) ? readdirSync(join(cache, 'sisterboard')) : []);

describe('the program', () => {
  it('reads nothing of the diagnosis until a command asks for it', () => {
    const seen = new Set<string>();
    const walk = (file: string): void => {
      if (seen.has(file)) return;
      seen.add(file);
      const text = readFileSync(file, 'utf8');
      for (const [, from] of text.matchAll(/^(?:import|export)\b[^'"]*?["'](\.[^'"]+)["']/gm)) {
        walk(join(dirname(file), from!));
      }
    };
    walk(join(ROOT, 'dist/cli/main.js'));
    const size = [...seen].reduce((sum, file) => sum + readFileSync(file).length, 0);
    expect(size).toBeLessThan(250_000);
    for (const file of seen) expect(readFileSync(file, 'utf8')).not.toContain('class Reckoning');
  });

  it('computes in worker threads, keeps the table, and gives the same answer from it', async () => {
    expect(existsSync(join(ROOT, 'dist/workbench/fault-table-worker.js'))).toBe(true);
    const args = ['suspects', manyInverters(90), '--json', '--unit', 'lower'];
    const first = await ended(start(args));
    expect([first.code, first.err]).toEqual([0, '']);
    expect(JSON.parse(first.out).suspects[0]).toMatchObject({ part: 'B/Q3' });
    expect(kept()).toEqual([expect.stringMatching(/\.kept$/)]);
    const second = await ended(start(args));
    expect(second).toEqual(first);
  });

  it('answers where nothing can be kept, and says so on standard error', async () => {
    const file = join(cache, 'file');
    writeFileSync(file, '');
    const { code, out, err } = await ended(
      start(['suspects', manyInverters(5), '--json', '--unit', 'lower'], { XDG_CACHE_HOME: file }),
    );
    expect(code).toBe(0);
    expect(() => JSON.parse(out)).not.toThrow();
    expect(err).toContain('the fault table is not kept');
  });

  it('ends quietly when nobody reads on', async () => {
    const child = start(['sound', manyInverters(90), '--json']);
    let err = '';
    child.stderr!.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    child.stdout!.once('data', () => child.stdout!.destroy());
    const code = await new Promise((resolve) => child.on('exit', (exit, signal) => resolve(exit ?? signal)));
    expect([code, err]).toEqual([0, '']);
  });

  it.skipIf(process.platform === 'win32')(
    'stopped with Ctrl-C ends with 130 and leaves nothing half-written',
    async () => {
      const child = start(['suspects', manyInverters(400), '--unit', 'lower']);
      setTimeout(() => child.kill('SIGINT'), 800);
      const { code, out, err } = await ended(child);
      expect([code, out]).toEqual([130, '']);
      expect(err).toBe('Stopped. Nothing was written.\n');
      expect(kept()).toEqual([]);
    },
  );
});
