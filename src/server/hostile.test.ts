import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import type { Server } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { strToU8, zipSync } from 'fflate';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { application } from './app.ts';
import { zipFiles } from './archive.ts';
import { httpServer } from './serve.ts';
import type { Workshop } from './workshop.ts';

const SECRET = 'a-secret-of-the-test-and-of-nothing-else';
const COOKIE = (port: number) => `sisterboard-${port}=${SECRET}`;
const PNG = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 0];

/** What reached the workshop: each refusal must leave it empty. */
let reached: string[];
let server: Server;
let port: number;
let folder: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  const pages = join(folder, 'web');
  mkdirSync(join(pages, 'assets'), { recursive: true });
  writeFileSync(join(pages, 'index.html'), 'the page');
  writeFileSync(join(pages, 'assets', 'main.js'), 'script');
  writeFileSync(join(folder, 'secret.txt'), 'beside the pages');
  const workshop = new Proxy({} as Workshop, {
    get: (_, method) => (method === 'then' ? undefined : recorded(String(method))),
  });
  const app = application(workshop, { secret: SECRET, port: () => port }, pages);
  server = httpServer(app.fetch);
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  port = (server.address() as AddressInfo).port;
});
beforeEach(() => {
  reached = [];
});
afterAll(async () => {
  server.closeAllConnections();
  await new Promise((done) => server.close(done));
  rmSync(folder, { recursive: true });
});

function recorded(method: string) {
  return (...given: unknown[]) => {
    reached.push(method);
    if (method === 'exportMachine') return { name: 'a"b\r\nSet-Cookie: x=1', files: new Map() };
    if (method === 'photographBytes') return new Uint8Array(strToU8('<svg onload="alert(1)"/>'));
    return given.length >= 0 ? {} : undefined;
  };
}

interface Sent {
  readonly method?: string;
  readonly path: string;
  /** Over those of our own page; an empty one is left out. */
  readonly headers?: Readonly<Record<string, string>>;
  readonly body?: string | Uint8Array;
}

/** As it stands, byte for byte: no client mends it on the way. */
function raw({ method = 'GET', path, headers = {}, body = '' }: Sent): Promise<string> {
  const bytes = typeof body === 'string' ? Buffer.from(body) : Buffer.from(body);
  const all = {
    host: `127.0.0.1:${port}`,
    cookie: COOKIE(port),
    ...(method === 'GET' ? {} : { origin: `http://127.0.0.1:${port}`, 'content-type': 'application/json' }),
    ...(bytes.length > 0 ? { 'content-length': String(bytes.length) } : {}),
    connection: 'close',
    ...headers,
  };
  const lines = Object.entries(all)
    .filter(([, value]) => value !== '')
    .map(([name, value]) => `${name}: ${value.replaceAll('PORT', String(port))}`);
  return new Promise((resolve) => {
    let answer = '';
    const socket = connect(port, '127.0.0.1', () => {
      socket.write(`${method} ${path} HTTP/1.1\r\n${lines.join('\r\n')}\r\n\r\n`);
      socket.write(bytes);
    });
    socket.setEncoding('latin1').on('data', (text) => {
      answer += text;
    });
    // A server that refuses a body may close while it is still being sent.
    socket.on('error', () => resolve(answer));
    socket.on('close', () => resolve(answer));
  });
}

function statusOf(answer: string): number {
  return Number(/^HTTP\/1\.1 (\d{3})/.exec(answer)?.[1]);
}

const WRITE = { method: 'POST', path: '/api/machines/1/undo', body: '{}' };
const READING = { unit: 'a', state: 's', point: 'p', quantity: 'V', text: '1' };
const reading = (over: object): Sent => ({
  method: 'POST',
  path: '/api/machines/1/readings',
  body: JSON.stringify({ ...READING, ...over }),
});
const rawReading = (body: string): Sent => ({ method: 'POST', path: '/api/machines/1/readings', body });
const chunked = (sent: Sent, type = 'application/json'): Sent => {
  const body = Buffer.from(sent.body ?? '');
  const pieces = Buffer.concat([
    Buffer.from(`${body.length.toString(16)}\r\n`),
    body,
    Buffer.from('\r\n0\r\n\r\n'),
  ]);
  return {
    ...sent,
    headers: { 'transfer-encoding': 'chunked', 'content-length': '', 'content-type': type },
    body: new Uint8Array(pieces),
  };
};
const PHOTOGRAPHS = '/api/machines/1/photographs?board=ADD&side=component';
const photograph = (body: string | Uint8Array, type: string): Sent => ({
  method: 'POST',
  path: PHOTOGRAPHS,
  headers: { 'content-type': type },
  body,
});
const capture = (
  about: unknown,
  body: string | Uint8Array = 'a,b\n1,2\n',
  type = 'application/octet-stream',
): Sent => ({
  method: 'POST',
  path: `/api/machines/1/captures?about=${encodeURIComponent(typeof about === 'string' ? about : JSON.stringify(about))}`,
  headers: { 'content-type': type },
  body,
});
const understood = (query: string, body: string | Uint8Array = 'a,b\n1,2\n'): Sent => ({
  method: 'POST',
  path: `/api/machines/1/captures/understood?${query}`,
  headers: { 'content-type': 'application/octet-stream' },
  body,
});
const HUGE = 'x'.repeat(1024 * 1024 + 10);

describe('a request of our own page', () => {
  it.each<[string, Sent]>([
    ['reads', { path: '/api/machines' }],
    [
      'reads under the other name of this machine',
      { path: '/api/machines', headers: { host: 'localhost:PORT' } },
    ],
    ['writes', WRITE],
    ['writes without a body', { method: 'DELETE', path: '/api/machines/1', headers: { 'content-type': '' } }],
    ['writes with a charset', { ...WRITE, headers: { 'content-type': 'application/json; charset=utf-8' } }],
    ['brings a photograph', photograph(new Uint8Array(PNG), 'image/png')],
    ['brings a photograph in pieces', chunked(photograph(new Uint8Array(PNG), ''), 'image/png')],
    ['sends a body in pieces', chunked(reading({}))],
    ['asks what a capture is', understood('file=a.csv')],
  ])('%s and is served', async (_, sent) => {
    expect(statusOf(await raw(sent))).toBeLessThan(300);
    expect(reached).toHaveLength(1);
  });
});

describe('a hostile request', () => {
  it.each<[string, number, Sent]>([
    // Whom it is for
    [
      'a name that somebody let point to this machine',
      421,
      { path: '/api/machines', headers: { host: 'evil.example:PORT' } },
    ],
    ['that name for the page itself', 421, { path: '/', headers: { host: 'evil.example' } }],
    [
      'a name that begins like ours',
      421,
      { path: '/api/machines', headers: { host: '127.0.0.1.evil.example:PORT' } },
    ],
    ['another port', 421, { path: '/api/machines', headers: { host: '127.0.0.1:1' } }],
    ['our address without a port', 421, { path: '/api/machines', headers: { host: '127.0.0.1' } }],
    ['no host', 400, { path: '/api/machines', headers: { host: '' } }],
    ['an address written another way', 421, { path: '/api/machines', headers: { host: '2130706433:PORT' } }],
    ['the unspecified address', 421, { path: '/api/machines', headers: { host: '0.0.0.0:PORT' } }],
    ['a whole address in the request line', 400, { path: 'http://evil.example/api/machines' }],
    // Who asks
    ['no key', 401, { path: '/api/machines', headers: { cookie: '' } }],
    ['a wrong key', 401, { path: '/api/machines', headers: { cookie: 'sisterboard-PORT=wrong' } }],
    [
      'the key under another server’s name',
      401,
      { path: '/api/machines', headers: { cookie: `sisterboard-1=${SECRET}` } },
    ],
    [
      'the key in the address in place of the cookie',
      401,
      { path: `/api/machines?key=${SECRET}`, headers: { cookie: '' } },
    ],
    ['no key for the events', 401, { path: '/api/events', headers: { cookie: '' } }],
    ['a write without the key', 401, { ...WRITE, headers: { cookie: '' } }],
    ['no key, and the path in capitals', 401, { path: '/API/machines', headers: { cookie: '' } }],
    // From where
    ['a write of another site', 403, { ...WRITE, headers: { origin: 'https://evil.example' } }],
    [
      'a write of another server on this machine',
      403,
      { ...WRITE, headers: { origin: 'http://127.0.0.1:1' } },
    ],
    ['a write under https', 403, { ...WRITE, headers: { origin: 'https://127.0.0.1:PORT' } }],
    ['a write from nowhere', 403, { ...WRITE, headers: { origin: '' } }],
    ['a write of a sandboxed frame', 403, { ...WRITE, headers: { origin: 'null' } }],
    [
      'a picture of another site’s page',
      403,
      { path: '/api/machines/1/photographs/1', headers: { 'sec-fetch-site': 'cross-site' } },
    ],
    [
      'a script of another site’s page',
      403,
      { path: '/assets/main.js', headers: { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'no-cors' } },
    ],
    ['a page beside ours', 403, { path: '/api/machines', headers: { 'sec-fetch-site': 'same-site' } }],
    // How
    ['TRACE', 405, { method: 'TRACE', path: '/' }],
    ['CONNECT', NaN, { method: 'CONNECT', path: '127.0.0.1:22' }],
    ['a method of its own', 400, { method: 'BREW', path: '/api/machines' }],
    [
      'a preflight',
      405,
      { method: 'OPTIONS', path: '/api/machines', headers: { origin: 'https://evil.example' } },
    ],
    ['a form', 415, { ...WRITE, headers: { 'content-type': 'application/x-www-form-urlencoded' } }],
    ['plain text, as a form can send it', 415, { ...WRITE, headers: { 'content-type': 'text/plain' } }],
    ['a body without a type', 415, { ...WRITE, headers: { 'content-type': '' } }],
    ['a type that begins like ours', 415, { ...WRITE, headers: { 'content-type': 'application/jsonp' } }],
    ['a body in pieces without a type', 415, chunked({ ...WRITE, body: 'x' }, '')],
    // How much
    ['a body beyond a megabyte', 413, rawReading(`{"note":"${HUGE}"}`)],
    ['a body beyond a megabyte in pieces', 413, chunked(rawReading(`{"note":"${HUGE}"}`))],
    ['a length that is no number', 400, { ...WRITE, headers: { 'content-length': 'much' } }],
    ['two lengths', 400, { ...WRITE, headers: { 'content-length': '2\r\ncontent-length: 3' } }],
    ['a length and pieces', 400, { ...WRITE, headers: { 'transfer-encoding': 'chunked' } }],
    ['a photograph beyond 25 megabytes', 413, photograph(new Uint8Array(25 * 1024 * 1024 + 1), 'image/png')],
    [
      'a header beyond all measure',
      431,
      { path: '/api/machines', headers: { 'x-much': 'y'.repeat(100_000) } },
    ],
    // What
    ['no JSON', 400, rawReading('{')],
    ['no UTF-8', 400, { ...rawReading(''), body: new Uint8Array([0x22, 0xff, 0x22]) }],
    ['nothing', 400, rawReading('')],
    ['a list in place of an object', 400, rawReading('[]')],
    ['a nesting beyond the stack', 400, rawReading(`${'['.repeat(200_000)}${']'.repeat(200_000)}`)],
    ['a field that is not asked for', 400, reading({ admin: true })],
    ['a prototype', 400, rawReading(JSON.stringify(READING).replace('{', '{"__proto__":{"unit":"b"},'))],
    [
      'a prototype in a cell',
      400,
      {
        method: 'PATCH',
        path: '/api/machines/1/sheets/parts',
        body: '{"what":"x","edits":[{"add":{"__proto__":"x"}}]}',
      },
    ],
    [
      'a constructor',
      400,
      {
        method: 'PATCH',
        path: '/api/machines/1/head',
        body: '{"version":1,"what":"x","json":{"constructor":{"prototype":{}}}}',
      },
    ],
    ['a number in place of a text', 400, reading({ text: 1 })],
    ['a reading of what there is not', 400, reading({ quantity: 'heat' })],
    ['a reading named after the language', 400, reading({ quantity: 'constructor' })],
    ['a delay from nowhere', 400, reading({ quantity: 'delay:' })],
    ['a unit without a name', 400, reading({ unit: '' })],
    ['a unit with a line break', 400, reading({ unit: 'a\nb' })],
    ['a name as long as a book', 400, reading({ unit: 'a'.repeat(5000) })],
    ['a room that melts', 400, reading({ ambient: 5000 })],
    ['a machine that is no number', 400, { path: '/api/machines/one' }],
    ['a machine before the first', 400, { path: '/api/machines/-1' }],
    ['a machine beyond all numbers', 400, { path: '/api/machines/1e400' }],
    ['a sheet that there is not', 400, { path: '/api/machines/1/sheets/passwords' }],
    ['a sheet named after the language', 400, { path: '/api/machines/1/sheets/__proto__' }],
    ['half a preview', 400, { path: '/api/machines/1/suspects?unit=a&point=p' }],
    ['a query twice over', 400, { path: '/api/machines/1/bench?unit=a&unit=b&state=s' }],
    // Files
    ['HTML as a photograph', 415, photograph('<!doctype html><script>alert(1)</script>', 'image/png')],
    [
      'SVG as a photograph',
      415,
      photograph('<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', 'image/png'),
    ],
    ['SVG by its own type', 415, photograph('<svg/>', 'image/svg+xml')],
    ['a photograph of nothing', 415, photograph('', 'image/png')],
    [
      'a folder that is no archive',
      400,
      {
        method: 'POST',
        path: '/api/machines/import',
        headers: { 'content-type': 'application/zip' },
        body: 'PK but not really',
      },
    ],
    // Captures
    ['a way in the name of a capture', 400, capture({ file: '../a.csv' })],
    ['a way of another system in it', 400, capture({ file: '..\\a.csv' })],
    ['a folder for a name', 400, capture({ file: '..' })],
    ['a zero byte in it', 400, capture({ file: 'a\0.csv' })],
    ['no name', 400, capture({})],
    ['a way in the name of what is to be understood', 400, understood('file=..%2F..%2Fa.csv')],
    ['a separator that is none', 400, understood('file=a.csv&separator=x')],
    ['nothing about a capture', 400, { ...capture({}), path: '/api/machines/1/captures' }],
    ['something else about it', 400, capture('{')],
    ['a list about it', 400, capture([])],
    ['a field about it that is not asked for', 400, capture({ file: 'a.csv', admin: true })],
    ['a prototype about it', 400, capture('{"file":"a.csv","__proto__":{"unit":"b"}}')],
    ['an understanding that is none', 400, capture({ file: 'a.csv', understanding: { kind: 'text' } })],
    [
      'an understanding named after the language',
      400,
      capture('{"file":"a.csv","understanding":{"constructor":{"prototype":{}}}}'),
    ],
    ['a full scale that is no number', 400, capture({ file: 'a.wav', fullScale: 'much' })],
    ['points that are no list', 400, capture({ file: 'a.csv', points: 'OUT' })],
    ['a capture as a form can send it', 415, capture({ file: 'a.csv' }, 'a', 'text/plain')],
    ['HTML for a capture', 415, capture({ file: 'a.csv' }, '<script>', 'text/html')],
    ['a capture in JSON', 415, capture({ file: 'a.csv' }, '{}', 'application/json')],
    [
      'a capture of another site',
      403,
      { ...capture({ file: 'a.csv' }), headers: { origin: 'https://evil.example' } },
    ],
    [
      'a capture beyond 500 megabytes by its own word',
      413,
      {
        ...capture({ file: 'a.csv' }),
        headers: { 'content-type': 'application/octet-stream', 'content-length': '600000000' },
      },
    ],
    ['a head of a capture that is a whole one', 413, understood('file=a.csv', new Uint8Array(70_000))],
    ['a channel before the first', 400, { path: '/api/machines/1/captures/1/samples/-1' }],
    ['a channel beyond all', 400, { path: '/api/machines/1/captures/1/samples/1e9' }],
    ['a capture that is no number', 400, { path: '/api/machines/1/captures/..%2f1/samples/0' }],
    // Where
    ['a way out of the pages', 404, { path: '/../secret.txt' }],
    ['an encoded way out', 404, { path: '/..%2fsecret.txt' }],
    ['a doubly encoded way out', 404, { path: '/..%252fsecret.txt' }],
    ['a way out with dots encoded', 404, { path: '/%2e%2e/secret.txt' }],
    ['a way out by backslashes', 400, { path: '/..\\secret.txt' }],
    ['a way out below the assets', 404, { path: '/assets/../../secret.txt' }],
    ['a name with a zero byte', 404, { path: '/secret.txt%00.js' }],
    ['a broken escape', 404, { path: '/%zz.txt' }],
    ['an API that there is not', 404, { path: '/api/everything' }],
  ])('with %s is refused with %d', async (_, status, sent) => {
    const answer = await raw(sent);
    expect(statusOf(answer)).toBe(status);
    expect(reached).toEqual([]);
    expect(answer).not.toContain('beside the pages');
  });

  it('with slashes encoded in an id reaches no other route', async () => {
    for (const path of [
      '/api/machines/1%2fundo',
      '/api/machines%2f1',
      '/api%2fmachines',
      '/api/machines/..%2f1',
    ]) {
      expect([400, 404]).toContain(statusOf(await raw({ path })));
      expect(statusOf(await raw({ path, headers: { cookie: '' } }))).not.toBe(200);
    }
    expect(reached).toEqual([]);
  });

  it('with a wrong key in the address gets the page and no cookie', async () => {
    const answer = await raw({ path: '/?key=wrong', headers: { cookie: '' } });
    expect(answer).not.toMatch(/set-cookie/i);
  });
});

describe('an archive', () => {
  const IMPORT: Sent = {
    method: 'POST',
    path: '/api/machines/import',
    headers: { 'content-type': 'application/zip' },
  };

  it('whose names point elsewhere brings in none of them', async () => {
    const body = zipSync({ '../../etc/passwd': strToU8('x'), 'machine.json': strToU8('{}') });
    const answer = await raw({ ...IMPORT, body });
    expect(statusOf(answer)).toBe(201);
    expect(reached).toEqual(['importMachine']);
  });

  it('that says it unpacks to more than a machine can be is refused before it is unpacked', async () => {
    const zip = Buffer.from(zipSync({ 'a.csv': strToU8('board,ref') }));
    const entry = zip.indexOf('PK\x01\x02', 0, 'latin1');
    zip.writeUInt32LE(500 * 1024 * 1024, entry + 24);
    expect(statusOf(await raw({ ...IMPORT, body: new Uint8Array(zip) }))).toBe(413);
    expect(reached).toEqual([]);
  });

  it('that unpacks to more than it says gives no more than that', () => {
    const zip = Buffer.from(zipSync({ 'machine.json': new Uint8Array(1024 * 1024) }));
    const entry = zip.indexOf('PK\x01\x02', 0, 'latin1');
    zip.writeUInt32LE(10, entry + 24);
    let bytes = 0;
    try {
      bytes = zipFiles(new Uint8Array(zip)).get('machine.json')!.length;
    } catch (error) {
      expect(error).toMatchObject({ code: 'not-an-archive' });
    }
    expect(bytes).toBeLessThanOrEqual(10);
  });
});

describe('an answer', () => {
  it.each(['/', '/m/1/bench', '/assets/main.js', '/api/machines', '/api/everything', '/nothing.txt'])(
    'to %s lets no other site frame, sniff or script it',
    async (path) => {
      const answer = (await raw({ path })).toLowerCase();
      const policy = /content-security-policy: (.*)\r/.exec(answer)?.[1];
      expect(policy).toContain("default-src 'none'");
      expect(policy).toContain("frame-ancestors 'none'");
      expect(policy).not.toContain('unsafe');
      expect(answer).toContain('x-content-type-options: nosniff');
      expect(answer).toContain('referrer-policy: no-referrer');
      expect(answer).toContain('cross-origin-resource-policy: same-origin');
      expect(answer).not.toContain('access-control-allow');
    },
  );

  it('to the key is a cookie that no script can read and no other site sends, and the key leaves the address', async () => {
    const answer = await raw({ path: `/?key=${SECRET}`, headers: { cookie: '' } });
    expect(statusOf(answer)).toBe(303);
    expect(answer).toMatch(/location: \/\r/i);
    expect(answer).toMatch(new RegExp(`set-cookie: sisterboard-${port}=${SECRET};[^\r]*HttpOnly`, 'i'));
    expect(answer).toMatch(/SameSite=Strict/);
  });

  it('names a file without letting the machine’s name into the header', async () => {
    const answer = await raw({ path: '/api/machines/1/export.zip' });
    expect(answer).toMatch(/content-disposition: attachment; filename="[\w.-]+\.zip"\r/i);
    expect(answer).not.toMatch(/^set-cookie/im);
  });

  it('never is a photograph that is none', async () => {
    const answer = await raw({ path: '/api/machines/1/photographs/1' });
    expect(statusOf(answer)).toBe(415);
    expect(answer).not.toContain('<svg');
  });
});
