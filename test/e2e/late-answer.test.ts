import { zipSync } from 'fflate';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { MachineEntry, ReadingView, SuspectsView } from '../../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

/** Two inverters, invented, in two states. West has Q1 shorted from collector to emitter. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'ticket counter',
    summary: 'Two inverters, invented.',
    reference: '0V',
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
`,
  'states.csv':
    'condition,steps,note\nheld low,"empty the pan; hold the tare key",\nfree,let go of the key,\n',
  'conditions.csv': 'condition,net,role,volts,ohms\nheld low,IN,drive,0,100\nfree,IN,drive,-6,100\n',
  'points.csv': 'point,minutes,note\nIN,1,\nB1,1,\nC1,1,\nB2,1,\nC2,1,\n',
};

const PATIENCE_MS = 60_000;
let bench: Workbench;
let page: WatchedPage;
let id: number;
/** Answers to the question for the ranking wait as long as this says. */
let held: Promise<void>;
let release: () => void;

beforeEach(async () => {
  bench = await workbench();
  page = await bench.open('/');
  const files = Object.entries(FILES).map(([name, text]) => [name, new TextEncoder().encode(text)]);
  const answer = await page.request.post('/api/machines/import', {
    data: Buffer.from(zipSync(Object.fromEntries(files))),
    headers: { origin: bench.origin, 'content-type': 'application/zip' },
  });
  id = ((await answer.json()) as MachineEntry).id;
  held = Promise.resolve();
  release = () => undefined;
  await page.route(/\/suspects\?unit=west$/, async (route) => {
    await held;
    await route.continue().catch(() => undefined);
  });
  await page.goto(`/m/${id}/bench?unit=west&state=held%20low`);
  await page.locator('.suspects').waitFor({ timeout: PATIENCE_MS });
});
afterEach(async () => {
  release();
  await page.unrouteAll({ behavior: 'ignoreErrors' });
  await bench.close();
});
afterAll(endBrowser);

function holdAnswers(): void {
  held = new Promise((resolve) => {
    release = resolve;
  });
}

const wanted = () => page.locator('.wanted-name h1').textContent();
const label = () => page.locator('.wanted-name .label').textContent();

async function ranking(): Promise<SuspectsView> {
  return (await page.request.get(`/api/machines/${id}/suspects?unit=west`)).json();
}

async function readings(): Promise<readonly [state: string, point: string, value: number | null][]> {
  const list = (await (
    await page.request.get(`/api/machines/${id}/readings?unit=west`)
  ).json()) as ReadingView[];
  return list.map(({ state, point, value }) => [state, point, value]);
}

async function readC1(): Promise<void> {
  await page.locator('.row-button', { hasText: 'C1' }).click();
  await expect.poll(wanted).toBe('C1');
  await page.keyboard.type('-0.1');
  holdAnswers();
  await page.keyboard.press('Enter');
  await page.getByText('C1: taken and kept').waitFor();
}

describe('a ranking that comes later than the reading', () => {
  it('leaves the point that was read where it is, then the second best of the old one is asked for, and stays', async () => {
    const { next } = await ranking();
    await readC1();
    expect(await wanted()).toBe('C1');
    expect(await label()).toBe('Taken; asking for the next');
    await expect.poll(label).toBe('Touch next');
    const second = await wanted();
    expect(next.map(({ point }) => point)).toContain(second);
    expect(second).not.toBe('C1');

    release();
    await expect.poll(async () => (await page.locator('.suspects .letter').count()) > 0).toBe(true);
    expect(await wanted()).toBe(second);
    if (await page.getByRole('button', { name: 'Done: it is in this state' }).isVisible()) {
      await page.keyboard.press('Enter');
      await page.getByText('The machine is in').waitFor();
    }
    await page.keyboard.type('-0.2');
    await page.keyboard.press('Enter');
    await page.getByText(`${second}: taken and kept`).waitFor();
    expect((await readings()).map(([, point, value]) => [point, value])).toEqual([
      ['C1', -0.1],
      [second, -0.2],
    ]);
    expect(bench.troubles).toEqual([]);
  });

  it('takes nothing for the point it has not named yet, and names it under what was typed meanwhile', async () => {
    await readC1();
    await page.keyboard.type('-7');
    await page.keyboard.press('Enter');
    expect(await wanted()).toBe('C1');
    release();
    await expect.poll(label).not.toBe('Taken; asking for the next');
    expect(await readings()).toEqual([['held low', 'C1', -0.1]]);
    expect(bench.troubles).toEqual([]);
  });
});

describe('a reading', () => {
  it('has the ranking asked for once, and nothing more about the value that was typed', async () => {
    await page.locator('.row-button', { hasText: 'C1' }).click();
    await expect.poll(wanted).toBe('C1');
    await page.keyboard.type('-0.1');
    await page.getByText('with −0.10 V').waitFor();
    const asked: string[] = [];
    page.on('request', (request) => {
      if (request.url().includes('/suspects?')) asked.push(new URL(request.url()).search);
    });
    await page.keyboard.press('Enter');
    await page.getByText('C1: taken and kept').waitFor();
    await expect.poll(async () => (await page.locator('.suspects .letter').count()) > 0).toBe(true);
    // The stream of events has told of it by now, too.
    await page.getByRole('button', { name: /Undo.*reading of west/ }).waitFor();
    expect(asked).toEqual(['?unit=west']);
    expect(bench.troubles).toEqual([]);
  });
});

describe('a state that is changed while the ranking is on its way', () => {
  it('is the state of what is read from then on, and the late ranking changes it no more', async () => {
    await readC1();
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => page.locator('.wanted-state .state-name').textContent()).toBe('free');
    await page.locator('.row-button', { hasText: 'C2' }).click();
    await expect.poll(wanted).toBe('C2');
    await page.keyboard.type('-0.3');
    release();
    await expect.poll(async () => (await page.locator('.suspects .letter').count()) > 0).toBe(true);
    expect(await wanted()).toBe('C2');
    expect(await page.locator('.wanted-state .state-name').textContent()).toBe('free');
    await page.keyboard.press('Enter');
    await page.getByText('C2: taken and kept').waitFor();
    expect(await readings()).toEqual([
      ['held low', 'C1', -0.1],
      ['free', 'C2', -0.3],
    ]);
    expect(bench.troubles).toEqual([]);
  });

  it('by hand shows its steps until a value is taken in it', async () => {
    await page.keyboard.press('ArrowRight');
    await page.locator('.state-steps', { hasText: 'let go of the key' }).waitFor();
    await page.keyboard.press('ArrowLeft');
    await page.locator('.state-steps li', { hasText: 'hold the tare key' }).waitFor();
    await readC1();
    expect(await page.locator('.state-steps').count()).toBe(0);
    await page.getByRole('button', { name: 'steps' }).press('Enter');
    await page.locator('.state-steps li').first().waitFor();
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });
});
