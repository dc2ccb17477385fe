import { timingSafeEqual } from 'node:crypto';
import type { Context, MiddlewareHandler } from 'hono';
import { getCookie, setCookie } from 'hono/cookie';
import { Refused } from './refused.ts';

export interface Guard {
  /** Made at each start; whoever has it is the person who started the program. */
  readonly secret: string;
  /** Asked at each request, since the port is known only when the server listens. */
  readonly port: () => number;
}

/** Cookies are common to all ports of a host: the port keeps two servers apart. */
export function cookieName(port: number): string {
  return `sisterboard-${port}`;
}

const HEADERS: Readonly<Record<string, string>> = {
  'content-security-policy':
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; " +
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'no-referrer',
  'x-frame-options': 'DENY',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
};

const READS = ['GET', 'HEAD'];
export const WRITES: readonly string[] = ['POST', 'PUT', 'PATCH', 'DELETE'];
/** Types of a body that is not JSON, by the path it goes to. */
const UPLOADS: readonly (readonly [path: RegExp, types: readonly string[]])[] = [
  [/^\/api\/machines\/import$/, ['application/zip', 'application/octet-stream']],
  [
    /^\/api\/machines\/[^/]+\/photographs$/,
    ['image/png', 'image/jpeg', 'image/webp', 'application/octet-stream'],
  ],
  [/^\/api\/machines\/[^/]+\/captures(\/understood)?$/, ['application/octet-stream']],
];

/**
 * Lets only the person's own browser page through. A web site elsewhere may make the browser ask this server, and may even
 * get its own name to mean this machine; so the name in Host must be a literal one of ours, a write must come from our own
 * page, and all of it needs the secret.
 */
export function guarded(guard: Guard): MiddlewareHandler {
  return async (c, next) => {
    refuseForeign(c, guard.port());
    const url = new URL(c.req.url);
    if (url.pathname === '/' && url.searchParams.has('key')) {
      const response = admitted(c, guard, url.searchParams.get('key')!);
      if (response !== undefined) return withHeaders(response);
    } else if (/^\/api(\/|$)/i.test(url.pathname)) {
      if (!same(getCookie(c, cookieName(guard.port())) ?? '', guard.secret)) {
        throw new Refused(401, 'no-key', 'open the address that the terminal shows: it holds the key');
      }
      if (WRITES.includes(c.req.method)) refuseWrite(c, guard.port());
    }
    await next();
    withHeaders(c.res);
    // What is on record is kept by this machine's disk alone.
    if (/^\/api(\/|$)/i.test(url.pathname)) c.res.headers.set('cache-control', 'no-store');
    return undefined;
  };
}

/** Also on refusals. */
export function withHeaders(response: Response): Response {
  for (const [name, value] of Object.entries(HEADERS)) response.headers.set(name, value);
  return response;
}

function refuseForeign(c: Context, port: number): void {
  const host = c.req.header('host') ?? '';
  if (!hosts(port).includes(host)) {
    throw new Refused(421, 'foreign-host', 'this server answers to 127.0.0.1 and localhost only');
  }
  const { method } = c.req;
  if (!READS.includes(method) && !WRITES.includes(method)) {
    throw new Refused(405, 'bad-method', 'GET, HEAD, POST, PUT, PATCH and DELETE only');
  }
  // `none` is a person who typed the address or followed the link in the terminal.
  const site = c.req.header('sec-fetch-site');
  const link = c.req.header('sec-fetch-mode') === 'navigate' && method === 'GET' && c.req.path === '/';
  if (site !== undefined && site !== 'same-origin' && site !== 'none' && !link) {
    throw new Refused(403, 'cross-site', 'another site asked for this');
  }
}

function refuseWrite(c: Context, port: number): void {
  const origin = c.req.header('origin');
  if (origin === undefined || !hosts(port).some((host) => origin === `http://${host}`)) {
    throw new Refused(403, 'foreign-origin', 'a change must come from a page of this server');
  }
  const types = uploadTypes(c) ?? ['application/json'];
  const type = (c.req.header('content-type') ?? '').split(';')[0]!.trim().toLowerCase();
  const length = c.req.header('content-length') ?? '0';
  const empty = length === '0' && c.req.header('transfer-encoding') === undefined;
  if (!types.includes(type) && !(empty && type === '')) {
    throw new Refused(415, 'bad-type', `the content type must be ${types.join(' or ')}`);
  }
}

function uploadTypes(c: Context): readonly string[] | undefined {
  return c.req.method === 'POST' ? UPLOADS.find(([path]) => path.test(c.req.path))?.[1] : undefined;
}

/** Whether the body of this request may be a file. */
export function takesUpload(c: Context): boolean {
  return uploadTypes(c) !== undefined;
}

function hosts(port: number): readonly string[] {
  return [`127.0.0.1:${port}`, `localhost:${port}`];
}

/** The address of the terminal becomes a cookie, and the key goes from the address bar. */
function admitted(c: Context, guard: Guard, key: string): Response | undefined {
  if (!same(key, guard.secret)) return undefined;
  setCookie(c, cookieName(guard.port()), guard.secret, { httpOnly: true, sameSite: 'Strict', path: '/' });
  c.header('cache-control', 'no-store');
  return c.redirect('/', 303);
}

function same(a: string, b: string): boolean {
  const [x, y] = [Buffer.from(a), Buffer.from(b)];
  return x.length === y.length && timingSafeEqual(x, y);
}
