import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { cookieName } from './guard.ts';
import { type Serving, serve } from './serve.ts';
import type { MachineEntry } from './views.ts';

let folder: string;
let record: string;
const running: Serving[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  record = join(folder, 'deep', 'record.sisterboard');
});
afterEach(async () => {
  for (const one of running.splice(0)) await one.close();
  rmSync(folder, { recursive: true });
});

async function served(): Promise<Serving> {
  const one = await serve({ record, port: 0 });
  running.push(one);
  return one;
}

/** What a browser that was admitted is told. */
async function machinesOf({ address }: Serving): Promise<readonly MachineEntry[]> {
  const { origin, port, searchParams } = new URL(address);
  const cookie = `${cookieName(Number(port))}=${searchParams.get('key')}`;
  const response = await fetch(`${origin}/api/machines`, { headers: { cookie } });
  return (await response.json()) as readonly MachineEntry[];
}

describe('serving a record', () => {
  it('makes one with the demo machine in it on the first start, and only then', async () => {
    const first = await served();
    expect(first).toMatchObject({ fresh: true, already: false });
    expect((await machinesOf(first)).map(({ name }) => name)).toEqual(['Harbour tide gauge totaliser']);
    await running.pop()!.close();
    const second = await served();
    expect(second.fresh).toBe(false);
    expect(await machinesOf(second)).toHaveLength(1);
    expect(second.address).not.toBe(first.address);
  });

  it('is done once: a second start gives the address of the first', async () => {
    const first = await served();
    const second = await served();
    expect(second).toMatchObject({ already: true, address: first.address });
    await second.close();
    expect(await machinesOf(first)).toHaveLength(1);
  });

  it('leaves a notice that only the person can read, and takes it away', async () => {
    await served();
    const notice = `${record}.serving`;
    expect(statSync(notice).mode & 0o777).toBe(0o600);
    await running.pop()!.close();
    expect(() => statSync(notice)).toThrow('ENOENT');
  });

  it.each([
    ['of a server that is gone', '{"port":9,"secret":"aaaaaaaaaaaaaaaaaaaaaaaa"}'],
    ['that is no notice', 'not JSON'],
    ['that names no port', '{"port":"evil.example","secret":"aaaaaaaaaaaaaaaaaaaaaaaa"}'],
  ])('passes by a notice %s', async (_, text) => {
    await served();
    await running.pop()!.close();
    writeFileSync(`${record}.serving`, text);
    expect(await served()).toMatchObject({ already: false });
  });

  it('takes another port where the wanted one is taken, unless it was asked for by number', async () => {
    const first = await served();
    const port = Number(new URL(first.address).port);
    const other = { record: join(folder, 'other.sisterboard'), port };
    await expect(serve(other)).rejects.toMatchObject({ code: 'port-taken' });
  });
});
