import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

const PROGRAM = fileURLToPath(new URL('../../bin/sisterboard.js', import.meta.url));
/** The first levels of a circuit take a second or two, with the fault table in the making. */
const PATIENCE_MS = 60_000;

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

/** How many points of the state have been read, as the foot of the bench says. */
async function pointsRead(page: WatchedPage): Promise<number> {
  const text = await page
    .getByText(/^\d+ of \d+ points read in this state$/)
    .textContent({ timeout: PATIENCE_MS });
  return Number.parseInt(text!, 10);
}

describe('two windows on one record', () => {
  it('show each other’s readings and undos at once', async () => {
    bench = await workbench();
    const place = '/m/1/bench?unit=south&state=counter%200';
    const [left, right] = [await bench.open(place), await bench.open(place)];
    const before = await pointsRead(left);
    const both = async (): Promise<readonly number[]> => [await pointsRead(left), await pointsRead(right)];
    const wait = { timeout: PATIENCE_MS };
    await expect.poll(both, wait).toEqual([before, before]);
    const headers = { origin: bench.origin };
    const data = { unit: 'south', state: 'counter 0', point: '-24V', quantity: 'V', text: '-23.9' };
    const taken = await left.request.post('/api/machines/1/readings', { data, headers });
    expect(taken.status()).toBe(201);
    await expect.poll(both, wait).toEqual([before + 1, before + 1]);
    const undone = await right.request.post('/api/machines/1/undo', { headers });
    expect(undone.status()).toBe(200);
    await expect.poll(both, wait).toEqual([before, before]);
    expect(bench.troubles).toEqual([]);
  });

  it('show what a command does on the record', async () => {
    bench = await workbench();
    const page = await bench.open('/');
    await page.getByText('Harbour tide gauge totaliser').first().waitFor();
    const demo = fileURLToPath(new URL('../../demo/tide-gauge', import.meta.url));
    await promisify(execFile)(process.execPath, [PROGRAM, 'import', demo, '--record', bench.record]);
    await page.getByText('Harbour tide gauge totaliser 2').first().waitFor();
    expect(bench.troubles).toEqual([]);
  });
});
