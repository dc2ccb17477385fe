import { deflateSync } from 'node:zlib';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import type { BenchView, PlacementView, SheetView } from '../../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from './harness.ts';

let bench: Workbench | undefined;
afterEach(async () => {
  await bench?.close();
  bench = undefined;
});
afterAll(endBrowser);

async function got<T>(page: WatchedPage, path: string): Promise<T> {
  return (await page.request.get(`/api/machines/${path}`)).json();
}

/** As a spreadsheet would, from the clipboard. */
async function pasted(page: WatchedPage, text: string): Promise<void> {
  await page.evaluate(`{
    const data = new DataTransfer();
    data.setData('text/plain', ${JSON.stringify(text)});
    const event = new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true });
    document.activeElement.dispatchEvent(event);
  }`);
}

/** A grey PNG of so many pixels. */
function greyPicture(width: number, height: number): Buffer {
  const table = Array.from({ length: 256 }, (_, n) => {
    let c = n;
    for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
    return c >>> 0;
  });
  const crc = (bytes: Buffer) => {
    let c = 0xffffffff;
    for (const byte of bytes) c = table[(c ^ byte) & 0xff]! ^ (c >>> 8);
    return (c ^ 0xffffffff) >>> 0;
  };
  const chunk = (name: string, data: Buffer) => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)];
    length.writeUInt32BE(data.length);
    check.writeUInt32BE(crc(body));
    return Buffer.concat([length, body, check]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 0, 0, 0, 0], 8);
  const rows = Buffer.alloc((width + 1) * height, 0x90);
  for (let y = 0; y < height; y++) rows[y * (width + 1)] = 0;
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([
    signature,
    chunk('IHDR', head),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** A turnstile counter, invented, by the keyboard alone. @returns its id */
async function described(page: WatchedPage): Promise<number> {
  await page.goto('/');
  await page.getByRole('link', { name: 'A machine from nothing' }).press('Enter');
  const entry = (label: string) => page.getByLabel(label, { exact: true });
  await entry('Name').fill('Ferry turnstile');
  await entry('Rail, its net').fill('-12V');
  await entry('volts').fill('-12');
  await entry('Called, or where it stands').nth(0).fill('town');
  await entry('Called, or where it stands').nth(1).fill('island');
  await entry('Board').fill('COUNT');
  await entry('Contacts of its connector').fill('0V -12V 3-6 6=TENS');
  await entry('Test points').fill('TP1');
  await page.getByText('6 contacts').waitFor();
  expect(await page.violations()).toEqual([]);
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/m\/\d+\/bench/);
  return Number(/\/m\/(\d+)\//.exec(page.url())![1]);
}

describe('a machine from nothing', () => {
  it('is described by the keyboard, both units are read, and they are compared before any part is traced', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    for (const [unit, value] of [
      ['town', '-6.1'],
      ['island', '-0.3'],
    ] as const) {
      await page.goto(`/m/${id}/bench?unit=${unit}&state=at%20rest`);
      await page.locator('.value-field input').waitFor();
      const row = page.locator('.row-button', { hasText: 'TENS' });
      await row.click();
      await page.keyboard.type(value);
      await page.keyboard.press('Enter');
      await expect
        .poll(async () => (await got<unknown[]>(page, `${id}/readings?unit=${unit}`)).length)
        .toBe(1);
    }
    const view = await got<BenchView>(page, `${id}/bench?unit=island&state=at%20rest`);
    const tens = view.rows.find(({ point }) => point === 'TENS')!;
    expect(tens).toMatchObject({ learnt: true, verdict: 'departs', reading: { value: -0.3 } });
    await page.goto(`/m/${id}/bench?unit=island&state=at%20rest`);
    const row = page.locator('.row-button', { hasText: 'TENS' });
    await row.waitFor();
    await expect.poll(() => row.getAttribute('aria-label')).toContain('departs');
    await page.goto(`/m/${id}/board/COUNT?unit=island&state=at%20rest`);
    await page.getByRole('button', { name: /^TENS, island −0\.30 volts, departs/ }).waitFor();
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });

  it('what is missing is said at its field, and nothing that was typed is lost', async () => {
    bench = await workbench();
    const page = await bench.open('/new');
    await page.getByLabel('Rail, its net').fill('-12V');
    await page.keyboard.press('Enter');
    await page.getByText('A machine needs a name.').waitFor();
    expect(await page.locator(':focus').getAttribute('data-path')).toBe('name');
    expect(await page.getByLabel('Rail, its net').inputValue()).toBe('-12V');
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });

  it('that is removed is brought back, with all that was written down', async () => {
    bench = await workbench();
    const page = await bench.open();
    const readings = async () => (await got<unknown[]>(page, '1/readings')).length;
    const before = await readings();
    expect(before).toBeGreaterThan(0);
    await page.getByRole('button', { name: 'Remove Harbour tide gauge totaliser' }).press('Enter');
    await page.getByText('is removed. It can be brought back below.').waitFor();
    expect(await page.violations()).toEqual([]);
    await page.reload();
    await page.getByRole('button', { name: 'Bring back Harbour tide gauge totaliser' }).press('Enter');
    await page.getByText('Harbour tide gauge totaliser is back.').waitFor();
    expect(await readings()).toBe(before);
    expect(bench.troubles).toEqual([]);
  });
});

describe('a folder that is brought in', () => {
  it('is given out as a zip, comes in again as another machine, and is refused with file, row and column where it is wrong', async () => {
    bench = await workbench();
    const page = await bench.open();
    const zip = await (await page.request.get('/api/machines/1/export.zip')).body();
    await page.goto('/import');
    const input = page.locator('input[type=file]').first();
    await input.setInputFiles({ name: 'tide.zip', mimeType: 'application/zip', buffer: zip });
    await page.getByText('450 rows good').waitFor();
    await page.getByRole('button', { name: 'Bring it in' }).press('Enter');
    await page.waitForURL(/\/m\/2\/bench/);

    await page.goto('/import');
    const parts = Buffer.from('board,ref,kind,value,pins\nADD,R1,resistor,4K7x,1=A 2=B\n');
    const wrong = [{ name: 'parts.csv', mimeType: 'text/csv', buffer: parts }];
    await page.locator('input[type=file]').first().setInputFiles(wrong);
    const finding = page.getByRole('row', { name: /^parts\.csv 2 value/ });
    await finding.waitFor();
    expect(await page.getByRole('button', { name: 'Bring it in' }).count()).toBe(0);
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });
});

describe('a parts list from a spreadsheet', () => {
  it('is pasted, its fault is said at the cell, mended by keys, and undone', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    await page.goto(`/m/${id}/sheets/parts`);
    const grid = page.getByRole('grid', { name: 'Parts' });
    await grid.getByRole('gridcell').first().click();
    await page.keyboard.press('Control+End');
    await pasted(
      page,
      [
        'board\tref\tkind\ttype\tvalue\tpins',
        'COUNT\tR1\tresistor\t\t4K7x\t1=COUNT.3 2=-12V',
        'COUNT\tQ1\ttransistor\tGE-PNP\t\te=0V b=COUNT.3 c=TENS',
        'COUNT\tR2\tresistor\t\t1k5\t1=TENS 2=-12V',
        '',
      ].join('\n'),
    );
    await page.getByText('3 rows pasted, laid by their headings.').waitFor();
    const wrong = page.locator('.grid-cell.error');
    await wrong.waitFor();
    expect(await wrong.textContent()).toContain('4K7x');
    await page.getByRole('button', { name: 'row 4, value' }).press('Enter');
    await page.locator('.cell-note', { hasText: '4K7x' }).waitFor();
    expect(await page.violations()).toEqual([]);

    await page.keyboard.press('F2');
    await page.keyboard.press('End');
    await page.keyboard.press('Backspace');
    await page.keyboard.press('Enter');
    await expect.poll(() => wrong.count()).toBe(0);
    const sheet = () => got<SheetView>(page, `${id}/sheets/parts`);
    expect((await sheet()).rows.at(-3)!.cells).toMatchObject({ ref: 'R1', value: '4K7' });

    await page.keyboard.press('Control+z');
    await expect.poll(async () => (await sheet()).rows.at(-3)!.cells.value).toBe('4K7x');
    await page.keyboard.press('Control+z');
    await expect.poll(async () => (await sheet()).rows.length).toBe(2);
    // The rows that are gone leave the keyboard where it was.
    await expect.poll(() => page.locator('[role=gridcell]:focus').count()).toBe(1);
    expect(bench.troubles).toEqual([]);
  });

  it('written in two windows at once shows both values, and overwrites nothing unasked', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    await page.goto(`/m/${id}/sheets/boards`);
    const cell = page.getByRole('gridcell').nth(1);
    await cell.click();
    await page.keyboard.type('from here');
    const view = await got<SheetView>(page, `${id}/sheets/boards`);
    const { id: row, version } = view.rows[0]!;
    const answer = await page.request.patch(`/api/machines/${id}/sheets/boards`, {
      data: { edits: [{ row, version, cells: { caution: 'from there' } }], what: 'elsewhere' },
      headers: { origin: bench.origin },
    });
    expect(answer.status()).toBe(200);
    await page.keyboard.press('Enter');
    await page.getByText('This row was changed elsewhere while you wrote.').waitFor();
    expect(await page.violations()).toEqual([]);
    const standing = async () => (await got<SheetView>(page, `${id}/sheets/boards`)).rows[0]!.cells.caution;
    expect(await standing()).toBe('from there');
    await page.getByRole('button', { name: 'Write mine over it' }).press('Enter');
    await expect.poll(standing).toBe('from here');
    // The refusal itself is written to the console by the browser.
    expect(bench.troubles.filter((trouble) => !trouble.includes('409'))).toEqual([]);
  });

  it('of two thousand rows is in the page in part only', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    await page.goto(`/m/${id}/sheets/parts`);
    const lines = Array.from(
      { length: 2000 },
      (_, i) => `COUNT\tR${i + 1}\tresistor\t\t1k\t\t\t1=A${i} 2=A${i + 1}`,
    );
    await page.getByRole('gridcell').first().click();
    await page.keyboard.press('Control+End');
    await page.keyboard.press('Home');
    await pasted(page, lines.join('\n'));
    await page.getByText('2000 rows pasted.').waitFor();
    await page.getByText('kept, 2002 rows').waitFor({ timeout: 60_000 });
    expect(await page.getByRole('grid').getAttribute('aria-rowcount')).toBe('2004');
    expect(await page.getByRole('row').count()).toBeLessThan(80);
    await page.keyboard.press('Control+End');
    await page.locator('.grid-row.is-active .grid-number', { hasText: 'new row' }).waitFor();
    expect(bench.troubles).toEqual([]);
  });
});

describe('a photograph of a board', () => {
  it('is put in, marked by pointer and keys, turned and mirrored with its marks, and found both ways', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    await page.goto(`/m/${id}/board/COUNT`);
    const picture = page.locator('svg.picture');
    await picture.waitFor();
    const file = { name: 'add.png', mimeType: 'image/png', buffer: greyPicture(900, 600) };
    await page.locator('input[type=file]').setInputFiles(file);
    await page.locator('svg.picture.of-photograph').waitFor();

    await page.keyboard.press('p');
    await page.getByRole('button', { name: 'Placing is done', pressed: true }).waitFor();
    await page.getByRole('button', { name: 'Pins' }).click();
    await page.getByRole('button', { name: /^COUNT\/J1\.3,/ }).click();
    const box = (await picture.boundingBox())!;
    await picture.click({ position: { x: box.width / 2, y: box.height / 2 } });
    const placed = async (mark: string) =>
      (await got<PlacementView[]>(page, `${id}/placements`)).find((one) => one.mark === mark);
    await expect.poll(async () => (await placed('COUNT/J1.3')) !== undefined).toBe(true);
    const first = (await placed('COUNT/J1.3'))!;
    expect(first).toMatchObject({ board: 'COUNT', side: 'component' });
    expect(Math.abs(first.x - 0.5) + Math.abs(first.y - 0.5)).toBeLessThan(0.2);

    await page.getByRole('button', { name: /^COUNT\/J1\.3,/ }).click();
    for (let i = 0; i < 5; i++) await page.keyboard.press('Shift+ArrowRight');
    await expect.poll(async () => (await placed('COUNT/J1.3'))!.x).toBeGreaterThan(first.x);
    const before = (await placed('COUNT/J1.3'))!;
    expect(await page.violations()).toEqual([]);

    await page.keyboard.press('Escape');
    await page.keyboard.press('r');
    await page.keyboard.press('m');
    await expect
      .poll(async () => (await got<{ turn: number; mirrored: boolean }[]>(page, `${id}/photographs`))[0])
      .toMatchObject({ turn: 90, mirrored: true });
    expect(await placed('COUNT/J1.3')).toEqual(before);
    expect(await page.getByRole('button', { name: /^COUNT\/J1\.3, [A-K]\d+\.$/ }).count()).toBe(1);

    await page.keyboard.press('+');
    await page.keyboard.press('o');
    await page.locator('svg.picture.of-drawing').waitFor();
    await page.keyboard.press('o');
    await page.locator('svg.picture.of-photograph').waitFor();
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });

  it('of each unit has places of its own; until then those of the other stand near', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    const buffer = greyPicture(600, 400);
    for (const unit of ['town', 'island']) {
      const query = new URLSearchParams({ board: 'COUNT', side: 'component', unit });
      const answer = await page.request.post(`/api/machines/${id}/photographs?${query}`, {
        data: buffer,
        headers: { origin: bench.origin, 'content-type': 'application/octet-stream' },
      });
      expect(answer.status()).toBe(201);
    }
    await page.goto(`/m/${id}/board/COUNT?unit=town`);
    const picture = page.locator('svg.picture.of-photograph');
    await picture.waitFor();
    await page.keyboard.press('p');
    await page.getByRole('button', { name: 'Points' }).click();
    const mark = page.getByRole('button', { name: /^TENS,/ });
    const placedAt = async (x: number) => {
      await mark.click();
      const box = (await picture.boundingBox())!;
      await picture.click({ position: { x: x * box.width, y: box.height / 2 } });
    };
    const placed = async () =>
      (await got<PlacementView[]>(page, `${id}/placements`)).map((one) => [one.unit, one.mark]);
    await placedAt(0.6);
    await expect.poll(placed).toEqual([['town', 'TENS']]);

    await page.goto(`/m/${id}/board/COUNT?unit=island`);
    await picture.waitFor();
    await page.getByText('was placed on another unit’s photograph').waitFor();
    await page.keyboard.press('p');
    await page.getByRole('button', { name: 'Points' }).click();
    await placedAt(0.4);
    await expect.poll(placed).toEqual([
      ['town', 'TENS'],
      ['island', 'TENS'],
    ]);
    await expect.poll(() => page.getByText('was placed on another unit’s photograph').count()).toBe(0);
    expect(await page.violations()).toEqual([]);
    expect(bench.troubles).toEqual([]);
  });

  it('is not needed: on the drawing a mark is found in the list by pressing on it, and its row shows where it is', async () => {
    bench = await workbench();
    const page = await bench.open();
    const id = await described(page);
    await page.goto(`/m/${id}/board/COUNT`);
    await page.locator('svg.picture.of-drawing').waitFor();
    await page.getByRole('button', { name: 'Points' }).click();
    await page.getByRole('button', { name: /^COUNT\.4 |^COUNT\.4,/ }).click();
    await page.locator('.name-text', { hasText: 'COUNT.4' }).waitFor();
    const sign = page.locator('svg.picture .sign-ground').first();
    const spot = (await sign.boundingBox())!;
    await page.mouse.click(spot.x + spot.width / 2, spot.y + spot.height / 2);
    await expect.poll(() => page.locator('.name-text').textContent()).not.toBe('COUNT.4');
    await page.keyboard.press('ArrowDown');
    await page.keyboard.press('Enter');
    await page.waitForURL(/\/m\/\d+\/bench\?/);
    expect(bench.troubles).toEqual([]);
  });
});
