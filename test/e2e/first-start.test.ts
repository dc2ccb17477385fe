import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { endBrowser, type Workbench, workbench } from './harness.ts';

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

describe('the first start', () => {
  it('makes a record with the demo machine in it, and the page shows it without a fault', async () => {
    bench = await workbench();
    expect(bench.output()).toContain('A new record with the demo machine in it');
    const page = await bench.open();
    await page.getByText('Harbour tide gauge totaliser').first().waitFor();
    expect(await page.violations()).toEqual([]);
    expect(page.url()).toBe(`${bench.origin}/`);
    expect(bench.troubles).toEqual([]);
  });
});
