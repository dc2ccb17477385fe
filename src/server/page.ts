import { readdir, readFile } from 'node:fs/promises';
import { extname, join } from 'node:path';
import type { MiddlewareHandler } from 'hono';

const TYPES: Readonly<Record<string, string>> = {
  '.css': 'text/css; charset=utf-8',
  '.html': 'text/html; charset=utf-8',
  '.ico': 'image/x-icon',
  '.js': 'text/javascript; charset=utf-8',
  '.json': 'application/json',
  '.png': 'image/png',
  '.svg': 'image/svg+xml',
  '.webmanifest': 'application/manifest+json',
  '.woff2': 'font/woff2',
};
/** Their names change with their contents. */
const LASTING = 'public, max-age=31536000, immutable';
const INDEX = '/index.html';

/**
 * The built page. Only names that stand in the folder are served, so that no path leads out of it; any other path without an
 * ending is a place within the page, and gets the page itself.
 */
export function page(folder: string): MiddlewareHandler {
  let listed: Promise<ReadonlyMap<string, string>> | undefined;
  const kept = new Map<string, Uint8Array<ArrayBuffer>>();
  return async (c, next) => {
    listed ??= pageFiles(folder);
    const files = await listed;
    const { path } = c.req;
    const within = /^\/api(\/|%2f|$)/i.test(path);
    const name = files.has(path) ? path : extname(path) === '' && !within ? INDEX : undefined;
    const file = name === undefined ? undefined : files.get(name);
    if (name === undefined || file === undefined) return next();
    let bytes = kept.get(name);
    if (bytes === undefined) {
      bytes = new Uint8Array(await readFile(file));
      kept.set(name, bytes);
    }
    return c.body(bytes, 200, {
      'content-type': TYPES[extname(name)] ?? 'application/octet-stream',
      'cache-control': name.startsWith('/assets/') ? LASTING : 'no-cache',
    });
  };
}

/** Paths as the browser asks for them, to files; empty when the page is not built. */
async function pageFiles(folder: string): Promise<ReadonlyMap<string, string>> {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true }).catch(() => []);
  return new Map(
    entries
      .filter((entry) => entry.isFile())
      .map((entry) => {
        const file = join(entry.parentPath, entry.name);
        return [`/${file.slice(folder.length).replaceAll('\\', '/').replace(/^\/+/, '')}`, file] as const;
      }),
  );
}
