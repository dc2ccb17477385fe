import { zipSync } from 'fflate';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { CaptureEntry, MachineEntry } from '../../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

/** A stage that inverts, invented; the capture is invented as well. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'turnstile counter',
    reference: '0V',
    ambient: 22,
    rails: [{ net: '-12V', volts: -12, tolerance: 5 }],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins
A,R1,resistor,,10k,5,1=-12V 2=B1
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1
A,R4,resistor,,2.2k,5,1=-12V 2=C1
`,
  'conditions.csv': `condition,net,role,volts,ohms,wave
standing,B1,drive,-0.3,1000,
turning,B1,drive,,1000,pulses low=-0.6 high=3 width=70u period=200u edge=1u
`,
  'points.csv': 'point,minutes,note,caution\nB1,1,base,\nC1,1,collector,the lamp above it is at 110 V\n',
};

/** Four turns at C1, begun 35 µs after the state's own time 0, and a little of what looks like noise, by a rule. */
const CAPTURE = `t (s),CH1 (V)\n${Array.from({ length: 800 }, (_, i) => {
  const inside = (i + 35) % 200 < 70;
  return `${i}e-6,${((inside ? -11.9 : -0.05) + 0.01 * (((i * 7919) % 5) - 2)).toFixed(3)}\n`;
}).join('')}`;

let bench: Workbench;
let page: WatchedPage;
let id: number;

beforeEach(async () => {
  bench = await workbench();
  page = await bench.open('/');
  const files = Object.entries(FILES).map(([name, text]) => [
    `turnstile/${name}`,
    new TextEncoder().encode(text),
  ]);
  const answer = await page.request.post('/api/machines/import', {
    data: Buffer.from(zipSync(Object.fromEntries(files))),
    headers: { origin: bench.origin, 'content-type': 'application/zip' },
  });
  id = ((await answer.json()) as MachineEntry).id;
});
afterEach(() => bench.close());
afterAll(endBrowser);

const column = (name: string) =>
  page.getByRole('region', { name: 'Expected' }).getByRole('row', { name: new RegExp(`^${name}`) });
const picture = () => page.getByRole('img').getAttribute('aria-label');

describe('expected waveforms', () => {
  it('are shown without any capture, with cautions, levels and times, and those under a fault beside them', async () => {
    await page.goto(`/m/${id}/waves`);
    await page.getByRole('link', { name: 'turning' }).press('Enter');
    await page.getByRole('heading', { name: 'Expected in turning' }).waitFor();
    await page.getByRole('heading', { name: 'Expected at B1' }).waitFor();
    await page.getByText('C1: the lamp above it is at 110 V').waitFor();
    await page.keyboard.press('ArrowDown');
    await page.getByRole('heading', { name: 'Expected at C1' }).waitFor();
    await expect.poll(() => column('low level').textContent()).toMatch(/−(11\.9|12\.0|12)\d* V/);
    expect(await column('high level').textContent()).toMatch(/−0\.0\d* V/);
    expect(await column('period').textContent()).toMatch(/(199\.9|200\.?0?)\d* µs/);
    expect(await column('pulse width, high').textContent()).toMatch(/1[23]\d\.\d* µs/);
    expect(await picture()).toMatch(/^2 traces .*expected of a sound unit$/);
    expect(await page.violations()).toEqual([]);

    await page.getByLabel('What if').selectOption('another part');
    await page.getByLabel('part', { exact: true }).fill('A/Q1');
    await page.getByLabel('has failed by').selectOption('open-b');
    await page.getByText('with A/Q1 failed so').waitFor();
    await expect.poll(picture).toMatch(/expected of a sound unit, and with A\/Q1,/);
    // It never conducts: nothing moves at its collector.
    await expect.poll(() => column('moves at all').textContent()).toBe('moves at allyesno');
    expect(new URL(page.url()).searchParams.get('fault')).toBe('A/Q1:open-b');
    expect(await page.violations()).toEqual([]);
    await page.emulateMedia({ colorScheme: 'dark' });
    await page.setViewportSize({ width: 360, height: 800 });
    expect(await page.violations()).toEqual([]);
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(360);
    expect(bench.troubles).toEqual([]);
  });

  it('lie behind a capture of a running state, laid on it by its likeness', async () => {
    await page.goto(`/m/${id}/waves`);
    await page.getByText('Bring in captures').first().waitFor();
    await page
      .locator('input[type=file]')
      .setInputFiles({ name: 'west.csv', mimeType: 'text/csv', buffer: Buffer.from(CAPTURE) });
    await page.getByLabel('Point, column 2').fill('C1');
    await page.getByRole('combobox', { name: 'Unit', exact: true }).selectOption('west');
    await page.getByRole('combobox', { name: 'State of the machine' }).selectOption('turning');
    await page.getByRole('button', { name: 'Bring it in' }).press('Enter');
    await page.getByText('Kept west.csv').waitFor();
    const captures = await page.request.get(`/api/machines/${id}/captures`);
    const [west] = (await captures.json()) as CaptureEntry[];
    await page.goto(`/m/${id}/waves/${west!.id}`);
    await page.getByRole('heading', { name: 'Expected at C1' }).waitFor();
    await expect.poll(picture).toMatch(/^1 trace .*; behind them what is expected of a sound unit$/);
    // From the capture's seconds to the state's: 35 µs on, or as many less than a turn back, and so on with every turn.
    await expect
      .poll(() => page.getByText(/^Expected: moved by/).textContent())
      .toMatch(/^Expected: moved by [^;]+; (9\d|100) % alike/);
    const words = (await page.getByText(/^Expected: moved by/).textContent())!;
    const moved = Number(/by ([+−]?[\d.]+) µs/.exec(words)![1]!.replace('−', '-'));
    expect(Math.abs(((((moved - 35) % 200) + 300) % 200) - 100)).toBeLessThan(8);
    expect(await page.violations()).toEqual([]);
    await page.getByLabel('Expected laid on by').selectOption('edges');
    await expect.poll(() => page.getByText(/^Expected: moved by/).textContent()).toMatch(/% alike/);
    expect(bench.troubles).toEqual([]);
  });
});
