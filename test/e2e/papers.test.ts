import { zipSync } from 'fflate';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { LogEntryView, MachineEntry, SuspectsView } from '../../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

/** An inverter pair, invented, its east unit read every year: C1 drifts. West has Q1 shorted from collector to emitter. */
const PINS = Array.from({ length: 60 }, (_, i) => `T${i}`);
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'weighbridge',
    summary: 'Two inverters, invented.',
    reference: '0V',
    ambient: 22,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins
A,R1,resistor,,10k,,1=-12V 2=IN
A,R2,resistor,,4K7,,1=IN 2=B1
A,R3,resistor,,47k,,1=+6V 2=B1
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1
A,R4,resistor,,2.2k,,1=-12V 2=C1
A,R5,resistor,,8.2k,,1=C1 2=B2
A,R6,resistor,,68k,,1=+6V 2=B2
A,Q2,transistor,GE-PNP,,,e=0V b=B2 c=C2
A,R7,resistor,,1.5k,,1=-12V 2=C2
L,P1,connector,,,,${PINS.map((net, i) => `${i + 1}=${net}`).join(' ')}
`,
  'boards.csv': 'board,caution,note\nL,mains on the rear edge; qualified people only,\n',
  'states.csv': 'condition,steps,note\nheld low,"empty the pan, hold the tare key",\n',
  'conditions.csv': 'condition,net,role,volts,ohms\nheld low,IN,drive,0,100\n',
  'points.csv': `point,minutes,note\nIN,1,\nB1,1,\nC1,1,\nB2,1,\nC2,1,\n${PINS.map((net) => `${net},1,`).join('\n')}\n`,
  'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at
${[2015, 2017, 2019, 2021, 2023].map((year, i) => `east,held low,C1,V,${-9.4 + 0.1 * i},,${year}-05-01T10:00:00Z`).join('\n')}
east,held low,C2,V,-0.05,,2023-05-01T10:01:00Z
${PINS.map((net) => `east,held low,${net},V,-6,,2023-05-01T10:02:00Z`).join('\n')}
`,
};

let bench: Workbench;
let page: WatchedPage;
let id: number;
/** The levels and the fault table of so small a circuit take a moment, on a busy machine some seconds. */
const PATIENCE_MS = 30_000;

beforeEach(async () => {
  bench = await workbench();
  page = await bench.open('/');
  const files = Object.entries(FILES).map(([name, text]) => [
    `bridge/${name}`,
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

async function take(point: string, text: string): Promise<void> {
  const data = { unit: 'west', state: 'held low', point, quantity: 'V', text };
  const headers = { origin: bench.origin };
  expect((await page.request.post(`/api/machines/${id}/readings`, { data, headers })).status()).toBe(201);
}

async function log(): Promise<readonly LogEntryView[]> {
  return (await page.request.get(`/api/machines/${id}/log`)).json();
}

async function suspects(): Promise<SuspectsView> {
  const ask = async (): Promise<SuspectsView> =>
    (await page.request.get(`/api/machines/${id}/suspects?unit=west`)).json();
  await expect.poll(async () => (await ask()).table.state, { timeout: PATIENCE_MS }).toBe('ready');
  return ask();
}

describe('a repair', () => {
  it('is opened by a symptom and closed by the points that are back, with the keyboard alone', async () => {
    const { keyboard } = page;
    await page.goto(`/m/${id}/log`);
    await page.getByText('Nothing is written down yet').waitFor();
    expect(await page.violations()).toEqual([]);

    await keyboard.press('n');
    const words = page.getByLabel('What the unit does');
    await expect.poll(() => words.evaluate((field) => field.matches(':focus'))).toBe(true);
    await keyboard.type('Shows 3 with an empty pan.');
    await page.getByRole('button', { name: 'Keep it' }).press('Enter');
    await page.getByText('open since').waitFor();

    await take('C1', '-0.1');
    await take('C2', '-8.4');
    await take('IN', '-0.12');
    const rows = page.locator('.proof-rows tbody tr');
    await expect.poll(() => rows.count(), { timeout: PATIENCE_MS }).toBe(2);
    expect(await rows.first().textContent()).toContain('not read again');
    expect(await page.getByRole('button', { name: 'Close the repair' }).isDisabled()).toBe(true);

    const before = await suspects();
    await page.getByRole('button', { name: 'A part was replaced' }).press('Enter');
    await page.getByText('Old parts may hold asbestos').waitFor();
    expect(await page.violations()).toEqual([]);
    await page
      .getByRole('checkbox', { name: /A\/Q1.*collector to emitter/ })
      .first()
      .press('Space');
    await page.getByLabel('What was taken out').focus();
    await keyboard.type('Q1 out, another of its type in.');
    await page.getByRole('button', { name: 'Keep it' }).press('Enter');
    await expect.poll(async () => (await log()).at(-1)?.suspects).toEqual(['A/Q1:short-ce']);
    // From now on it counts among the priors, and the answer says so.
    const after = await suspects();
    expect(before.notes.join()).not.toContain('repair');
    expect(after.notes.join()).toMatch(
      /1 repair on record counts: before any reading, .*A\/Q1:short-ce is [1-9].* times as/,
    );

    await take('C1', '-9.2');
    await take('C2', '-0.05');
    const close = page.getByRole('button', { name: 'Close the repair with these 2 points' });
    await close.press('Enter');
    await page.getByText('closed').first().waitFor();
    expect((await log()).at(-1)).toMatchObject({
      kind: 'proof',
      points: ['C1', 'C2'],
      text: '2 of 2 points that departed are back within the sound spread.',
    });
    expect(await page.violations()).toEqual([]);

    // A link opens the bench at the point.
    await page.getByRole('link', { name: 'C2' }).first().press('Enter');
    await page.getByText('Chosen by hand', { exact: true }).waitFor({ timeout: PATIENCE_MS });
    expect(new URL(page.url()).search).toContain('point=C2');

    await page.goto(`/m/${id}/log`);
    await page.getByRole('link', { name: 'Account to print' }).press('Enter');
    const paper = page.locator('.paper');
    await paper.getByText('Shows 3 with an empty pan.').waitFor();
    await expect.poll(() => paper.locator('.sheet-row').count(), { timeout: PATIENCE_MS }).toBe(2);
    expect(await paper.textContent()).toContain('Mains and charged capacitors can kill');
    expect(await page.violations()).toEqual([]);
    expect(pagesOf(await page.pdf({ preferCSSPageSize: true }))).toEqual({ pages: 1, format: 'a4' });
    expect(bench.troubles).toEqual([]);
  });

  it('can be looked for by words, unit and kind, and an entry that is corrected stays behind its successor', async () => {
    const headers = { origin: bench.origin };
    for (const [kind, text] of [
      ['symptom', 'The lamp is dim'],
      ['finding', 'The rail is low'],
    ]) {
      await page.request.post(`/api/machines/${id}/log`, { data: { unit: 'west', kind, text }, headers });
    }
    await page.goto(`/m/${id}/log`);
    await page.getByText('The rail is low', { exact: true }).waitFor();
    await page.keyboard.press('/');
    await page.keyboard.type('rail');
    await page.getByText('1 entry found').waitFor();
    await page.getByRole('button', { name: 'Correct the entry: The rail is low' }).press('Enter');
    await page.getByLabel('What a reading').fill('The rail is 2 V low');
    await page.getByRole('button', { name: 'Keep it' }).press('Enter');
    await page.getByText('The rail is 2 V low', { exact: true }).waitFor();
    expect((await log()).map(({ text, superseded }) => [text, superseded])).toEqual([
      ['The lamp is dim', false],
      ['The rail is low', true],
      ['The rail is 2 V low', false],
    ]);
    await page.getByText('corrected; as it was before').press('Enter');
    await page.getByText('finding: The rail is low').waitFor();
    await page.getByLabel('Unit').selectOption('east');
    await page.getByText('0 entries found').waitFor();
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });
});

describe('two sets of readings', () => {
  it('stand side by side, the furthest first, and a point has its years with the trend in words', async () => {
    await take('C1', '-0.1');
    await take('C2', '-0.06');
    await page.goto(`/m/${id}/compare`);
    const rows = page.locator('.compare-row');
    await expect.poll(() => rows.count(), { timeout: PATIENCE_MS }).toBe(2);
    expect(await rows.first().getAttribute('aria-label')).toMatch(
      /^C1 in held low, west −0\.10 volts, departs/,
    );
    expect(await rows.last().getAttribute('aria-label')).toMatch(/^C2 in held low, west −0\.06 volts, sound/);
    // One unit over the years: the first day against the last.
    await page.getByLabel('Set on the left').selectOption('east@2015-05-01');
    await page.getByLabel('Set on the right').selectOption('east@2023-05-01');
    await expect.poll(() => rows.count()).toBe(1);
    await rows.first().press('Enter');
    await page.getByText(/It rises 50 mV a year .* over 8 years/).waitFor();
    expect(await page.locator('.years circle').count()).toBe(5);
    expect(await page.violations()).toEqual([]);
    await page.keyboard.press('s');
    await expect.poll(() => new URL(page.url()).searchParams.get('left')).toBe('east@2023-05-01');
    expect(bench.troubles).toEqual([]);
  });
});

describe('a bench sheet', () => {
  it('is whole on every page: cautions, state, scale; each page fits its paper', async () => {
    await take('C1', '-0.1');
    await suspects();
    for (const format of ['a4', 'letter'] as const) {
      await page.goto(`/m/${id}/print/sheet?unit=west&board=L&state=held%20low`);
      await page.getByLabel('Paper').selectOption(format);
      const sheets = page.locator('.paper');
      await expect.poll(() => page.locator('.sheet-row').count(), { timeout: PATIENCE_MS }).toBe(60);
      await page.getByText('Suspects before this sheet').waitFor();
      await page.waitForTimeout(300);
      const count = await sheets.count();
      expect(count).toBeGreaterThan(1);
      for (const sheet of await sheets.all()) {
        const text = await sheet.textContent();
        expect(text).toContain('Mains and charged capacitors can kill');
        expect(text).toContain('This board: mains on the rear edge; qualified people only.');
        expect(text).toContain('Set: empty the pan, hold the tare key.');
        expect(text).toMatch(/sheet \d of \d/);
        expect(await sheet.locator('thead .scale-line').count()).toBe(1);
      }
      expect(await page.violations()).toEqual([]);
      expect(pagesOf(await page.pdf({ preferCSSPageSize: true }))).toEqual({ pages: count, format });
    }
    await page.emulateMedia({ media: 'print' });
    expect(await page.getByRole('button', { name: 'Print' }).isVisible()).toBe(false);
    expect(await page.locator('.running-head').isVisible()).toBe(false);
    expect(bench.troubles).toEqual([]);
  });

  it('says what the first line decides', async () => {
    await take('C2', '-8.4');
    const { next } = await suspects();
    await page.goto(`/m/${id}/print/sheet?unit=west`);
    await page.getByText(/What line \d+, .* decides/).waitFor({ timeout: PATIENCE_MS });
    const text = await page.locator('.paper').first().textContent();
    expect(text).toContain(`, ${next[0]!.point}, decides`);
    expect(await page.locator('.decides > div').count()).toBeGreaterThan(1);
    expect(await page.locator('.sheet-row', { hasText: 'first' }).count()).toBe(1);
    expect(bench.troubles).toEqual([]);
  });
});

/** Pages of a document and the format of the first. */
function pagesOf(pdf: Buffer): { pages: number; format: string } {
  const text = pdf.toString('latin1');
  const [, width] = /\/MediaBox \[0 0 ([\d.]+) /.exec(text) ?? [];
  return {
    pages: text.match(/\/Type \/Page\b(?!s)/g)?.length ?? 0,
    format: Math.round(Number(width)) === 612 ? 'letter' : 'a4',
  };
}
