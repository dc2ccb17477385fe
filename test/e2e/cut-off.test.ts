import { afterAll, afterEach, expect, it } from 'vitest';
import type { MachineEntry, ReadingView } from '../../src/server/index.ts';
import { endBrowser, type Workbench, workbench } from './harness.ts';

let bench: Workbench;
afterEach(() => bench.close());
afterAll(endBrowser);

const MACHINE = {
  name: 'Cinema till',
  reference: '0V',
  rails: [{ net: '-9V', volts: -9, tolerance: 5 }],
  units: [
    { id: 'front', health: 'healthy' },
    { id: 'side', health: 'faulty' },
  ],
  boards: [{ name: 'SUM', pins: ['0V', '-9V', 'ONES', 'TENS'] }],
  states: [{ name: 'at rest' }],
};

it('a server that dies and comes back finds the value still in the field, and the page goes on once the new key was heard', async () => {
  bench = await workbench();
  const page = await bench.open();
  const headers = { origin: bench.origin };
  const made = await page.request.post('/api/machines', { data: MACHINE, headers });
  const { id } = (await made.json()) as MachineEntry;
  await page.goto(`/m/${id}/bench?unit=side&state=at%20rest&point=TENS`);
  const field = page.getByRole('textbox', { name: 'Reading of side, volts' });
  await field.waitFor();
  await page.keyboard.type('-0.4');
  const { back } = await bench.kill();
  await page.getByText('Sisterboard does not answer: what is shown is as it was').waitFor();
  await page.keyboard.press('Enter');
  await page.getByText('The value is still in the field.').waitFor();
  expect(await field.inputValue()).toBe('−0.4');
  expect(await page.violations()).toEqual([]);

  await back();
  await page.getByText('Sisterboard was started anew and has a new key').waitFor();
  const other = await page.context().newPage();
  await other.goto(bench.address);
  await other.getByRole('link', { name: MACHINE.name, exact: true }).waitFor();
  await expect.poll(() => page.getByText('started anew').count(), { timeout: 20_000 }).toBe(0);
  expect(await field.inputValue()).toBe('−0.4');
  await page.keyboard.press('Enter');
  await page.getByText('TENS: taken and kept').waitFor();
  const readings = (await (
    await page.request.get(`/api/machines/${id}/readings?unit=side`)
  ).json()) as ReadingView[];
  expect(readings.map(({ point, value }) => [point, value])).toEqual([['TENS', -0.4]]);
  // What the browser writes of requests that were not answered is no fault of the page.
  expect(bench.troubles.filter((trouble) => !/ERR_|401/.test(trouble))).toEqual([]);
});

it('a page whose parts are gone says so and offers to load it again', async () => {
  bench = await workbench();
  const page = await bench.open();
  await page.getByText('Machines').first().waitFor();
  await page.route(/\/assets\/.*\.js$/, (route) => route.abort());
  await page.getByRole('link', { name: 'A machine from nothing' }).click();
  await page.getByText('This page cannot be shown').waitFor();
  expect(await page.violations()).toEqual([]);
  await page.unrouteAll();
  await page.getByRole('button', { name: 'Load it again' }).click();
  await page.getByLabel('Name', { exact: true }).waitFor();
});
