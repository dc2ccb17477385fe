import { afterAll, afterEach, describe, expect, it } from 'vitest';
import type { ReadingView } from '../../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

/** A fault table of the demo takes half a minute on two processors. */
const TABLE_MS = 150_000;

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

async function readingsOf(page: WatchedPage): Promise<readonly ReadingView[]> {
  return (await page.request.get('/api/machines/1/readings?unit=south')).json();
}

describe('from an empty record', () => {
  it('the first start makes one with the demo machine, a reading is typed, and suspects and the next point are shown', async () => {
    bench = await workbench();
    expect(bench.output()).toContain('A new record with the demo machine in it');
    const page = await bench.open();
    await page.getByText('Harbour tide gauge totaliser').first().waitFor();
    expect(page.url()).toBe(`${bench.origin}/`);
    expect(await page.violations()).toEqual([]);

    await page.goto('/m/1/bench?unit=south&state=counter%200');
    await page.getByText('Working out the faults').waitFor();
    const before = await readingsOf(page);
    // The field has the focus, whatever else is going on.
    await page.keyboard.type('11.9');
    await page.keyboard.press('Enter');
    await expect
      .poll(async () => (await readingsOf(page)).length, { timeout: 10_000 })
      .toBe(before.length + 1);
    const taken = (await readingsOf(page)).find(({ id }) => before.every((one) => one.id !== id))!;
    expect(taken).toMatchObject({ unit: 'south', state: 'counter 0', value: 11.9, standing: 'counts' });

    await page.getByText('ADD/Q7').first().waitFor({ timeout: TABLE_MS });
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });

  it('the record is there again after the program has ended', async () => {
    bench = await workbench();
    const page = await bench.open();
    await page.getByText('Harbour tide gauge totaliser').first().waitFor();
    const reading = { unit: 'south', state: 'counter 0', point: 'CARRY', quantity: 'V', text: '-6.2' };
    const answer = await page.request.post('/api/machines/1/readings', {
      data: reading,
      headers: { origin: bench.origin },
    });
    expect(answer.status()).toBe(201);
    await bench.restart();
    const again = await bench.open();
    expect((await readingsOf(again)).at(-1)).toMatchObject({ point: 'CARRY', value: -6.2 });
    expect(bench.output()).not.toContain('A new record');
  });
});
