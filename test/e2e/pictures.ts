/**
 * The pictures of docs/pictures/: the first evening of the guide, walked through the built workbench on a fresh record.
 *
 * The values typed are those of the demo with every point read, so that whatever is asked for has its answer. What the page says on the
 * way is printed, for the guide's words. Run by `npm run pictures`; the guide and the README show what is written.
 */
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Page } from 'playwright-core';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const PICTURES = join(ROOT, 'docs', 'pictures');
const WIDE = { width: 1440, height: 900 };
const PHONE = { width: 390, height: 844 };
/** Of the readings sheet, the last: what the volunteers have read of the south unit. */
const EVENING = 30;
const TABLE_MS = 150_000;
const MOST_BYTES = 250_000;

mkdirSync(PICTURES, { recursive: true });
const values = southUnit();
const bench = await workbench();
try {
  await evening(bench);
} finally {
  await bench.close();
  await endBrowser();
}
if (bench.troubles.length > 0) throw new Error(bench.troubles.join('\n'));

async function evening({ open }: Workbench): Promise<void> {
  const page = await open('/', { viewport: WIDE });
  await withoutTheEvening(page);

  await page.goto('/m/1/bench?unit=south&state=counter%200');
  await page.locator('.legend select').first().selectOption('ADD');
  await page.locator('.row-button', { hasText: /^CARRY(?!N)/ }).click();
  await page.keyboard.type('-6.37');
  await page.keyboard.press('Enter');
  await page.getByText('ADD/Q7').first().waitFor({ timeout: TABLE_MS });
  await told(page, 'CARRY is taken');
  await picture(page, 'first-reading');

  await reached(page);
  await page.keyboard.type('2');
  await page.keyboard.press('Enter');
  await page.getByText('taken and kept').first().waitFor();
  await settled(page);
  await told(page, 'A slip');
  await page.keyboard.press('Backspace');
  await settled(page);
  await told(page, 'It is taken back');
  await reached(page);
  await page.keyboard.type(await wanted(page));
  await settled(page);
  await told(page, 'The second reading is typed');
  await picture(page, 'bench');
  await page.keyboard.press('Enter');
  await settled(page);
  for (let reading = 3; (await leader(page)) < 90 && reading < 12; reading++) {
    await told(page, `Before reading ${reading}`);
    await reached(page);
    await page.keyboard.type(await wanted(page));
    await settled(page);
    await page.keyboard.press('Enter');
    await settled(page);
  }
  await told(page, 'At the end');
  await page.locator('.suspects .suspect-name').first().click();
  await picture(page, 'why');

  await page.getByLabel('part', { exact: true }).fill('ADD/R40');
  await page.getByLabel('has failed by').selectOption('open');
  await page.getByText('of this state would', { exact: false }).waitFor();
  await told(page, 'What if');

  await page.emulateMedia({ colorScheme: 'dark' });
  await page.goto('/m/1/bench?unit=south&state=counter%200&point=CARRY');
  await page.locator('.suspect').first().waitFor();
  await picture(page, 'bench-dark');
  await page.emulateMedia({ colorScheme: 'light' });

  await page.goto('/m/1/board/ADD?unit=south&state=counter%200');
  await page.locator('svg.picture').waitFor();
  await picture(page, 'board');
  await page.goto('/m/1/log');
  await page.getByText('Points that departed').waitFor();
  await picture(page, 'log');
  await page.goto('/m/1/print/sheet');
  await page.getByText('Suspects before this sheet').waitFor();
  await picture(page, 'sheet');
  await page.goto('/new');
  await page.getByLabel('Name', { exact: true }).waitFor();
  await picture(page, 'new-machine');

  const phone = await open('/m/1/bench?unit=south&state=counter%200', { viewport: PHONE, hasTouch: true });
  await phone.locator('.suspect').first().waitFor();
  await picture(phone, 'bench-phone');
}

/** As when the evening begins: the sheet's last rows removed, as a person would. */
async function withoutTheEvening(page: WatchedPage): Promise<void> {
  await page.goto('/m/1/sheets/readings');
  await page.getByRole('gridcell').first().click();
  await page.keyboard.press('Control+End');
  await page.keyboard.press('ArrowUp');
  for (let row = 1; row < EVENING; row++) await page.keyboard.press('Shift+ArrowUp');
  await page.getByRole('button', { name: 'Remove rows' }).click();
  await page.getByText('kept, 321 rows').waitFor();
}

/** The south unit at every point: state and point to what the meter shows. */
function southUnit(): Map<string, string> {
  const folder = mkdtempSync(join(tmpdir(), 'sisterboard-pictures-'));
  const program = join(ROOT, 'bin', 'sisterboard.js');
  execFileSync(process.execPath, [program, 'demo', join(folder, 'gauge'), '--readings', 'all']);
  const text = readFileSync(join(folder, 'gauge', 'readings.csv'), 'utf8');
  rmSync(folder, { recursive: true });
  const cells = text.split('\n').map((line) => line.split(','));
  return new Map(
    cells
      .filter(([unit, , , , , , when = '']) => unit === 'south' && when.startsWith('2024'))
      .map(([, state, point, , value]) => [`${state} ${point}`, value!]),
  );
}

/** What the unit shows at the point that the head asks for. */
async function wanted(page: Page): Promise<string> {
  const point = (await page.title()).split(', ')[0];
  const state = new URL(page.url()).searchParams.get('state');
  const value = values.get(`${state} ${point}`);
  if (value === undefined) throw new Error(`no value for ${point} in ${state}`);
  console.log(`> ${point} in ${state}: ${value}`);
  return value;
}

/** The state is set up and the caution read, where the head asks for it. */
async function reached(page: Page): Promise<void> {
  for (const words of ['Done: it is in this state', 'Read and understood']) {
    const button = page.getByRole('button', { name: words }).first();
    if (await button.isVisible()) await button.click();
  }
  await page.locator('.value-field input').waitFor();
}

async function leader(page: Page): Promise<number> {
  const share = page.locator('.suspect').first().locator('.share-only, .share-now');
  return Number.parseInt((await share.textContent()) ?? '', 10);
}

/** The answer has come and the staves have eased. */
async function settled(page: Page): Promise<void> {
  await page.waitForTimeout(3000);
}

async function told(page: Page, title: string): Promise<void> {
  const texts = await page.locator('.bench-head, .suspects, .why, .remarks, .what-if').allInnerTexts();
  console.log(`\n## ${title}\n${texts.map((text) => text.replaceAll(/\s*\n\s*/g, ' | ')).join('\n')}`);
}

/** What the window shows, and no more. */
async function picture(page: Page, name: string): Promise<void> {
  await page.waitForTimeout(1500);
  const path = join(PICTURES, `${name}.png`);
  await page.screenshot({ path });
  const { size } = statSync(path);
  console.log(`${name}.png, ${Math.round(size / 1000)} kB`);
  if (size > MOST_BYTES)
    throw new Error(`${path} has ${size} bytes; more than ${MOST_BYTES} is too large for a document`);
}
