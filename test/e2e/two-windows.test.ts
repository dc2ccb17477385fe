import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

const PROGRAM = fileURLToPath(new URL('../../bin/sisterboard.js', import.meta.url));
const SUPPLY = 'button.row-button[aria-label^="-24V,"]';

/** The first levels of a circuit take a second or two, with the fault table in the making. */
const PATIENCE_MS = 30_000;

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

function row(page: WatchedPage) {
  return page.locator(SUPPLY);
}

describe('two windows on one record', () => {
  it('show each other’s readings and undos at once', async () => {
    bench = await workbench();
    const place = '/m/1/bench?unit=south&state=counter%200';
    const [left, right] = [await bench.open(place), await bench.open(place)];
    await row(left).waitFor();
    await expect
      .poll(() => row(right).getAttribute('aria-label'), { timeout: PATIENCE_MS })
      .toContain('south not read');
    const reading = { unit: 'south', state: 'counter 0', point: '-24V', quantity: 'V', text: '-23.9' };
    await left.request.post('/api/machines/1/readings', { data: reading, headers: { origin: bench.origin } });
    for (const page of [left, right]) {
      await expect
        .poll(() => row(page).getAttribute('aria-label'), { timeout: PATIENCE_MS })
        .toContain('−23.90');
    }
    const undone = await right.request.post('/api/machines/1/undo', { headers: { origin: bench.origin } });
    expect(undone.status()).toBe(200);
    await expect
      .poll(() => row(left).getAttribute('aria-label'), { timeout: PATIENCE_MS })
      .toContain('south not read');
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
