import { chmodSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type Machine, readMachine } from '../machine/index.ts';
import { Cache } from '../records/index.ts';
import { faultTableOf } from './fault-table.ts';

/** One inverter of an invented tally. */
const INVERTER = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'tally',
    reference: '0V',
    ambient: 22,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [{ id: 'spare', health: 'faulty' }],
  }),
  'parts.csv': `board,ref,kind,type,value,pins
TLY,Q1,transistor,GE-PNP,,e=0V b=BASE c=OUT
TLY,R1,resistor,,2.2k,1=-12V 2=OUT
TLY,R2,resistor,,15k,1=IN 2=BASE
TLY,R3,resistor,,100k,1=BASE 2=+6V
`,
  'conditions.csv': 'condition,net,role,volts,ohms\nheld,IN,drive,-6,100\nfree,IN,drive,0,100\n',
};

function machineOf(files: Readonly<Record<string, string>>): Machine {
  const { machine, findings } = readMachine(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return machine!;
}

const MACHINE = machineOf(INVERTER);

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const keeping = (mark = 'mark') => ({ cache: new Cache(folder), mark });

/** What a call computed: the totals of its progress, none when it computed nothing. */
async function computed(machine: Machine, work: Parameters<typeof faultTableOf>[1]) {
  let reports = 0;
  const table = await faultTableOf(machine, { ...work, onProgress: () => reports++ });
  return { table, reports };
}

describe('the fault table', () => {
  it('is computed at the first call and kept for the second', async () => {
    const first = await computed(MACHINE, { keeping: keeping() });
    const second = await computed(MACHINE, { keeping: keeping() });
    expect(first.reports).toBeGreaterThan(0);
    expect(second.reports).toBe(0);
    expect(second.table.toBytes()).toEqual(first.table.toBytes());
  });

  it('is computed again for another machine and for another build of the program', async () => {
    await computed(MACHINE, { keeping: keeping() });
    const other = machineOf({ ...INVERTER, 'parts.csv': INVERTER['parts.csv'].replace('15k', '18k') });
    expect((await computed(other, { keeping: keeping() })).reports).toBeGreaterThan(0);
    expect((await computed(MACHINE, { keeping: keeping('other') })).reports).toBeGreaterThan(0);
    expect(readdirSync(folder)).toHaveLength(3);
  });

  it('is computed again when what was kept is damaged', async () => {
    await computed(MACHINE, { keeping: keeping() });
    const [entry] = readdirSync(folder);
    writeFileSync(join(folder, entry!), 'sisterboard kept 1\nand then nothing sensible');
    expect((await computed(MACHINE, { keeping: keeping() })).reports).toBeGreaterThan(0);
    expect((await computed(MACHINE, { keeping: keeping() })).reports).toBe(0);
  });

  it('does without a place to keep it, and says so', async () => {
    const file = join(folder, 'file');
    writeFileSync(file, '');
    chmodSync(file, 0o400);
    const notes: string[] = [];
    const { table } = await computed(MACHINE, {
      keeping: { cache: new Cache(file), mark: 'mark' },
      onNote: (text) => notes.push(text),
    });
    expect(table.hypotheses.length).toBeGreaterThan(20);
    expect(notes).toEqual([expect.stringMatching(/^the fault table is not kept.*cannot write/)]);
  });

  it('given up is not kept, and ends with the reason', async () => {
    const stop = new AbortController();
    stop.abort(new Error('enough'));
    await expect(faultTableOf(MACHINE, { keeping: keeping(), signal: stop.signal })).rejects.toThrow(
      'enough',
    );
    expect(readdirSync(folder)).toEqual([]);
  });

  it('of the states that stand still is one of its own where there are others, and knows nothing of those', async () => {
    const conditions = `${INVERTER['conditions.csv'].replace('ohms', 'ohms,wave').replaceAll('100\n', '100,\n')}beaten,IN,drive,,100,pulses low=-6 high=0 width=20u period=100u count=2 edge=1u\n`;
    const beaten = machineOf({ ...INVERTER, 'conditions.csv': conditions });
    const rest = await computed(beaten, { keeping: keeping(), atRest: true });
    expect(rest.table.running).toBeUndefined();
    const whole = await computed(beaten, { keeping: keeping() });
    expect(whole.reports).toBeGreaterThan(0);
    expect(whole.table.running?.followed(2)).toBe(true);
    expect(readdirSync(folder)).toHaveLength(2);
    // What it says of the others is the same, and it is found again.
    expect(whole.table.solves).toBe(rest.table.solves);
    expect((await computed(beaten, { keeping: keeping(), atRest: true })).reports).toBe(0);
    // Where nothing runs it is the whole one.
    await computed(MACHINE, { keeping: keeping(), atRest: true });
    expect((await computed(MACHINE, { keeping: keeping() })).reports).toBe(0);
  });

  it('reports progress that ends where it said it would', async () => {
    const seen: [number, number][] = [];
    await faultTableOf(MACHINE, { keeping: false, onProgress: (done, total) => seen.push([done, total]) });
    for (const [done, total] of seen) expect(done).toBeLessThanOrEqual(total);
    expect(new Set(seen.map(([, total]) => total)).size).toBe(1);
  });
});
