import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from './run.ts';
import { TALLY, writeTally } from './tally-folder.ts';
import type { Terminal } from './terminal.ts';

let place: string;
let tally: string;
beforeAll(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  tally = writeTally(join(place, 'tally'));
});
afterAll(() => rmSync(place, { recursive: true }));

async function ask(args: readonly string[], terminal: Partial<Terminal> = {}) {
  let out = '';
  let err = '';
  const code = await run(
    args,
    {
      columns: 100,
      unicode: true,
      colours: false,
      progress: undefined,
      ...terminal,
      out: (text) => {
        out += text;
      },
      err: (text) => {
        err += text;
      },
    },
    new AbortController().signal,
  );
  return { code, out, err };
}

/** Each command with what it needs, all answered. */
const CALLS: readonly (readonly string[])[] = [
  ['check'],
  ['compare'],
  ['compare', '--all'],
  ['suspects'],
  ['suspects', '--all'],
  ['next'],
  ['next', '--all'],
  ['flow'],
  ['flow', '--unit', 'stern', '--all'],
  ['flow', '--point', 'OUT'],
  ['sound', '--all'],
  ['sound', '--ambient', '35', '--condition', 'held'],
  ['expect', '--fault', 'TLY/Q2:short-ce'],
  ['what-if', '--fault', 'TLY/R5:open'],
  ['what-if', '--fault', 'TLY/Q2:open-joint:b', '--all'],
];

function call([command, ...options]: readonly string[], ...more: string[]): string[] {
  return [command!, tally, ...options, ...more];
}

describe('for other programs', () => {
  const fields = (object: object) => Object.keys(object);

  it('compare gives the departures, largest first', async () => {
    const { code, out } = await ask(call(['compare', '--unit', 'stern'], '--json'));
    expect(code).toBe(0);
    const answer = JSON.parse(out);
    expect(fields(answer)).toEqual(['departures']);
    expect(fields(answer.departures[0])).toEqual([
      'condition',
      'point',
      'quantity',
      'value',
      'expected',
      'sigma',
      'z',
    ]);
    expect(answer.departures[0]).toMatchObject({ condition: 'held', point: 'OUT', value: -0.01 });
    const sizes = answer.departures.map(({ z }: { z: number }) => Math.abs(z));
    expect(sizes).toEqual([...sizes].sort((a, b) => b - a));
    expect(sizes).toHaveLength(4);
  });

  it('suspects gives parts with modes, most probable first, adding up to one', async () => {
    const { code, out } = await ask(call(['suspects', '--unit', 'stern'], '--json'));
    expect(code).toBe(0);
    const answer = JSON.parse(out);
    expect(fields(answer)).toEqual(['suspects', 'unexplained', 'sound']);
    expect(fields(answer.suspects[0])).toEqual(['part', 'mode', 'probability']);
    expect(answer.suspects[0].part).toBe('TLY/Q2');
    const probabilities: number[] = answer.suspects.map((one: { probability: number }) => one.probability);
    expect(probabilities).toEqual([...probabilities].sort((a, b) => b - a));
    const sum = probabilities.reduce((a, b) => a + b, 0) + answer.unexplained + answer.sound;
    expect(sum).toBeCloseTo(1, 6);
  });

  it('next gives readings with bits and minutes', async () => {
    const { code, out } = await ask(call(['next', '--unit', 'stern'], '--json'));
    expect(code).toBe(0);
    const answer = JSON.parse(out);
    expect(fields(answer)).toEqual(['readings']);
    expect(fields(answer.readings[0])).toEqual(['condition', 'point', 'quantity', 'bits', 'minutes']);
  });

  it('expect gives values and spreads, of one condition and with a fault when asked', async () => {
    const sound = JSON.parse((await ask(call(['expect', '--condition', 'held'], '--json'))).out);
    expect(fields(sound)).toEqual(['expectations']);
    expect(fields(sound.expectations[0])).toEqual(['condition', 'point', 'quantity', 'value', 'sigma']);
    const out = (answer: typeof sound) =>
      answer.expectations.find((one: { point: string }) => one.point === 'OUT');
    expect(new Set(sound.expectations.map((one: { condition: string }) => one.condition))).toEqual(
      new Set(['held']),
    );
    expect(out(sound).value).toBeLessThan(-10);
    const fault = JSON.parse(
      (await ask(call(['expect', '--condition', 'held', '--fault', 'TLY/Q2:short-ce'], '--json'))).out,
    );
    expect(out(fault).value).toBeGreaterThan(-0.5);
  });

  it('nothing but the object stands on standard output, and the unit that was taken on the other', async () => {
    const { out, err } = await ask(call(['suspects'], '--json'));
    expect(() => JSON.parse(out)).not.toThrow();
    expect(err).toBe('unit stern, the only one called faulty\n');
  });

  it('every command has it', async () => {
    for (const one of CALLS) {
      const { code, out } = await ask(call(one, '--json'));
      expect([one, code, typeof JSON.parse(out)]).toEqual([one, 0, 'object']);
    }
  });
});

describe('for people', () => {
  it.each([40, 60, 100, 160])('every answer fits into %d columns', async (columns) => {
    for (const one of CALLS) {
      const { code, out } = await ask(call(one), { columns });
      expect([one, code]).toEqual([one, 0]);
      for (const line of out.split('\n')) expect([one, line.length > columns ? line : '']).toEqual([one, '']);
    }
  });

  it('every answer is plain ASCII when asked, or where the locale is', async () => {
    for (const one of CALLS) {
      for (const { out } of [await ask(call(one, '--ascii')), await ask(call(one), { unicode: false })]) {
        expect([one, out === '', /[^\n\x20-\x7e]/.exec(out)?.[0]]).toEqual([one, false, undefined]);
      }
    }
  });

  it('colours say nothing that is not said without them', async () => {
    for (const one of CALLS) {
      const plain = await ask(call(one));
      expect(plain.code).toBe(0);
      const coloured = await ask(call(one), { colours: true });
      // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what a colour is
      expect(coloured.out.replaceAll(/\u001b\[\d+m/g, '')).toBe(plain.out);
      expect((await ask(call(one, '--no-color'), { colours: true })).out).toBe(plain.out);
    }
  });

  it('compare shows the departure as an arrow, a figure and a word', async () => {
    const { out } = await ask(call(['compare']));
    expect(out).toContain('stern is the only unit called faulty.');
    expect(out.split('\n').find((line) => line.startsWith('  OUT '))).toMatch(
      /╞?[═○╡]+━+▶.* −0\.01 +−11\.90 +−1\d\.\d\d +±0\.\d\d +\S+ +departs$/,
    );
  });

  it('suspects names the part in words, what speaks for it, and what to see before unsoldering', async () => {
    const { out } = await ask(call(['suspects']));
    expect(out).toMatch(/^TLY\/Q2 .* %, whatever its mode\.$/m);
    expect(out).toMatch(/^ +a +\d+ % +TLY\/Q2 +GE-PNP, short, /m);
    expect(out).toMatch(/^ +<?\d+ % +none of these +something that is not modelled$/m);
    expect(out).toMatch(/^ +<?\d+ % +sound +nothing is wrong$/m);
    expect(out).toContain('speaks for it');
    expect(out).toMatch(/Before unsoldering: power off, ohms from Q2\./);
    expect(out.replaceAll(/\s+/g, ' ')).toContain('Mains and high voltage are for qualified people');
  });

  it('next says where to put the probe, in which state, and what each suspect would show', async () => {
    const { out } = await ask(call(['next']));
    expect(out).toMatch(/^1 {2}Read \S+.* in "(held|free)" +\d\.\d\d bits, [\d.]+ minutes?$/m);
    expect(out).toContain('would read');
  });

  it('levels of a sound unit carry the cautions of their points', async () => {
    const { out } = await ask(call(['sound']));
    expect(out).toMatch(/^ {2}CAUTION {2}-12V: beside the mains switch$/m);
  });

  it('a fault that shows nowhere is said to', async () => {
    const { out } = await ask(call(['what-if', '--fault', 'TLY/R7:open']));
    expect(out).toContain('No point would leave its sound spread');
  });
});

describe('a wrong call', () => {
  it.each<[string, readonly string[], string | RegExp]>([
    [
      'an unknown unit',
      ['suspects', '--unit', 'sterm'],
      'no unit "sterm"; units: bow (healthy), stern (faulty); did you mean stern?',
    ],
    [
      'an unknown condition',
      ['sound', '--condition', 'hold'],
      'conditions: "held", "free"; did you mean held?',
    ],
    ['an unknown part', ['what-if', '--fault', 'TLY/Q9:short-ce'], 'did you mean TLY/Q1 or TLY/Q2?'],
    ['an unknown mode', ['what-if', '--fault', 'TLY/Q2:short-cb'], 'did you mean'],
    ['a temperature that is none', ['sound', '--ambient', 'warm'], '--ambient'],
    ['a fault left out', ['what-if'], '--fault'],
    ['an unknown option', ['compare', '--unt', 'stern'], 'Did you mean --unit?'],
    ['an unknown command', ['suspect'], 'Did you mean suspects?'],
    ['a second folder', ['check', 'other'], /too many arguments/i],
  ])('%s ends with 2, nothing on standard output, and what is allowed', async (_, args, message) => {
    const { code, out, err } = await ask(call(args));
    expect(code).toBe(2);
    expect(out).toBe('');
    if (message instanceof RegExp) expect(err).toMatch(message);
    else expect(err).toContain(message);
  });

  it('a folder that is not there ends with 2', async () => {
    const { code, err } = await ask(['suspects', join(place, 'taly')]);
    expect(code).toBe(2);
    expect(err).toContain('did you mean tally?');
  });

  it('a faulty folder ends with 2, with file, row and column, whatever the command', async () => {
    const bad = writeTally(join(place, 'bad'), {
      'parts.csv': TALLY['parts.csv']!.replace('15k,1=IN', '15q,1=IN'),
      'readings.csv': `${TALLY['readings.csv']}stern,held,OTU,V,-1,,\n`,
    });
    for (const command of ['compare', 'suspects', 'next', 'expect', 'sound']) {
      const { code, out, err } = await ask([command, bad, '--json']);
      expect([command, code, out]).toEqual([command, 2, '']);
      expect(err).toContain('parts.csv row 4 column value');
      expect(err).toContain('readings.csv row 10 column point');
    }
    const { code, out } = await ask(['check', bad]);
    expect(code).toBe(2);
    expect(out).toContain('parts.csv row 4 column value');
  });

  it('no command at all ends with 2 and the list of commands', async () => {
    const { code, err } = await ask([]);
    expect(code).toBe(2);
    expect(err).toContain('suspects');
  });
});

describe('help', () => {
  it('has an example for each command, which is a call that the command takes', async () => {
    for (const command of ['check', 'compare', 'suspects', 'next', 'sound', 'expect', 'what-if', 'demo']) {
      const { code, out } = await ask([command, '--help']);
      expect(code).toBe(0);
      expect(out).toMatch(new RegExp(`^Example:\n {2}sisterboard ${command} gauge`, 'm'));
    }
  });
});

describe('the demo', () => {
  it('is written to a new folder, in order, and never over anything', async () => {
    const gauge = join(place, 'gauge');
    const { code, out } = await ask(['demo', gauge]);
    expect(code).toBe(0);
    expect(out).toContain(`sisterboard suspects ${gauge}`);
    expect(readdirSync(gauge)).toContain('machine.json');
    expect((await ask(['check', gauge])).code).toBe(0);
    const again = await ask(['demo', gauge]);
    expect(again.code).toBe(2);
    expect(again.err).toContain('not empty');
    expect(readdirSync(place).filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});
