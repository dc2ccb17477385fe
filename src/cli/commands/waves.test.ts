import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../run.ts';

/** An inverter with a speed-up capacitor, clocked. */
const FOLDER: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'inverter',
    reference: '0V',
    rails: [
      { net: '-12V', volts: -12 },
      { net: '+6V', volts: 6 },
    ],
    units: [{ id: 'west', health: 'faulty' }],
  }),
  'parts.csv': `board,ref,kind,type,value,pins
A,R1,resistor,,6.8k,1=IN 2=B
A,C1,capacitor,,330p,1=IN 2=B
A,R2,resistor,,47k,1=+6V 2=B
A,Q1,transistor,GE-PNP,,e=0V b=B c=OUT
A,R3,resistor,,2.2k,1=-12V 2=OUT
`,
  'conditions.csv': `condition,net,role,volts,ohms,wave
halted,IN,drive,-6,470,
clocked,IN,drive,,470,pulses low=-6 high=0 width=10u period=50u edge=0.3u
`,
};

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  for (const [file, text] of Object.entries(FOLDER)) writeFileSync(join(folder, file), text);
});
afterAll(() => rmSync(folder, { recursive: true }));

async function said(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  let [out, err] = ['', ''];
  const terminal = {
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      err += text;
    },
    ...{ columns: 100, colours: false, unicode: true, progress: undefined },
  };
  const [command = '', ...options] = args;
  const code = await run([command, folder, ...options], terminal, new AbortController().signal);
  return { code, out, err };
}

describe('waves', () => {
  it('gives instants and volts of each point, with the band of sound units around the sound wave', async () => {
    const { code, out } = await said('waves', '--condition', 'clocked', '--json');
    expect(code).toBe(0);
    const { from, to, repeats, waves } = JSON.parse(out);
    expect(to - from).toBeCloseTo(50e-6, 9);
    expect(repeats).toBe(true);
    expect(waves.map(({ point }: { point: string }) => point).sort()).toEqual(['B', 'IN', 'OUT']);
    for (const { instants, volts, sound } of waves) {
      expect(instants.length).toBe(volts.length);
      expect(instants[0]).toBeCloseTo(from, 12);
      expect(instants.at(-1)).toBeCloseTo(to, 12);
      expect(instants).toEqual([...instants].sort((a, b) => a - b));
      sound.volts.forEach((v: number, i: number) => {
        expect(sound.low[i]).toBeLessThanOrEqual(v);
        expect(sound.high[i]).toBeGreaterThanOrEqual(v);
      });
    }
  });

  it('draws a strip for each point, and with a fault one below the sound one', async () => {
    const sound = await said('waves', '--condition', 'clocked', '--point', 'OUT', '--ascii');
    expect(sound.out).toMatch(/OUT +[\^_.-]{20,}/);
    expect(sound.out).toContain('0 s to 50.00 us, and again');
    const fault = await said('waves', '--condition', 'clocked', '--point', 'OUT', '--fault', 'A/C1:open');
    const [, , own, broken] = /OUT +sound +(\S+)[\s\S]*fault +(\S+)/.exec(fault.out)
      ? ['', '', RegExp.$1, RegExp.$2]
      : [];
    expect(own).toHaveLength(broken!.length);
    expect(broken).not.toBe(own);
  });

  it('tells the band of a sound unit as it is for most of the time, not where instants stand close', async () => {
    const { out } = await said('waves', '--condition', 'clocked', '--point', 'OUT');
    // On the collector's saturation four fifths of the time; at rest on the rail its 5 % would be 0.6 V.
    expect(Number(/OUT.*±([\d.]+)/.exec(out)![1])).toBeLessThan(0.1);
  });

  it.each([
    [['--condition', 'halted'], 'nothing moves in "halted"; these do: clocked'],
    [['--condition', 'cloked'], 'did you mean'],
    [['--condition', 'clocked', '--point', 'OUTT'], 'there is no point "OUTT"'],
    [['--condition', 'clocked', '--fault', 'A/R1:slow'], 'has no mode'],
    [[], '--condition'],
  ])('says what is wrong with %j', async (options, message) => {
    const { code, err } = await said('waves', ...options);
    expect(code).toBe(2);
    expect(err).toContain(message);
  });

  it('are what expect and what-if tell of in figures', async () => {
    const { expectations } = JSON.parse((await said('expect', '--condition', 'clocked', '--json')).out);
    const rise = expectations.find(
      (x: { point: string; quantity: string }) => x.point === 'OUT' && x.quantity === 'rise',
    );
    expect(rise.value).toBeGreaterThan(1e-8);
    expect(rise.value).toBeLessThan(5e-6);
    const whatIf = await said('what-if', '--fault', 'A/C1:open');
    expect(whatIf.out).toMatch(/OUT (rise|fall|delay:IN|width) /);
    expect(whatIf.out).toMatch(/ns|µs/);
  });
});
