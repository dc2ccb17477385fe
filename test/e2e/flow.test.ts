import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { endBrowser, type Workbench, workbench } from './harness.ts';

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

describe('the signal flow', () => {
  it('is followed back by the keyboard, with its loops and the cautions of their places, in reach of everybody', async () => {
    bench = await workbench();
    const page = await bench.open('/');
    await page.goto('/m/1/flow?board=CTR&point=BIT8');
    await page.getByRole('heading', { name: 'BIT8', exact: false }).first().waitFor();
    await page.getByText('inverter CTR/Q7, bistable').first().waitFor();
    await page.getByRole('heading', { name: 'Loops through BIT8' }).waitFor();
    await page
      .getByText(/Clip BIT8 to 0V through/)
      .first()
      .waitFor();
    await page.getByText(/never to mains or high voltage/).waitFor();
    expect(await page.violations()).toEqual([]);

    await page.keyboard.press('ArrowLeft');
    await page.waitForURL(/point=CTR\.Q7\.b/);
    await page.keyboard.press('ArrowDown');
    await page.waitForURL((url) => !/point=CTR\.Q7\.b/.test(url.search));

    // From the bench by a link at the point that is wanted.
    await page.goto('/m/1/bench?unit=south&state=counter%200');
    await page.getByRole('link', { name: 'driven by' }).press('Enter');
    await page.waitForURL(/\/m\/1\/flow\?unit=south&point=/);

    // From any page by G and the letter.
    await page.goto('/m/1/log');
    await page.getByRole('heading', { name: 'Log', exact: true }).waitFor();
    await page.keyboard.press('g');
    await page.keyboard.press('f');
    await page.waitForURL(/\/m\/1\/flow/);
    await page.getByText(/readings? of south look/).waitFor();
    await page.getByText(/stages in question/).waitFor();
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });
});
