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
 * The built page, as it was when it was first asked for: one that is built anew meanwhile must not be mixed with it. Only names that
 * stand in the folder are served, so that no path leads out of it; any other path without an ending is a place within the page, and
 * gets the page itself.
 */
export function page(folder: string): MiddlewareHandler {
  let kept: ReturnType<typeof pageFiles> | undefined;
  return async (c, next) => {
    kept ??= pageFiles(folder);
    const files = await kept;
    const { path } = c.req;
    const within = /^\/api(\/|%2f|$)/i.test(path);
    const name = files.has(path) ? path : extname(path) === '' && !within ? INDEX : undefined;
    const bytes = name === undefined ? undefined : files.get(name);
    if (name === undefined || bytes === undefined) return next();
    return c.body(bytes, 200, {
      'content-type': TYPES[extname(name)] ?? 'application/octet-stream',
      'cache-control': name.startsWith('/assets/') ? LASTING : 'no-cache',
    });
  };
}

/** Files by the paths that the browser asks for; empty when the page is not built. */
async function pageFiles(folder: string): Promise<ReadonlyMap<string, Uint8Array<ArrayBuffer>>> {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true }).catch(() => []);
  const files = entries.filter((entry) => entry.isFile()).map((entry) => join(entry.parentPath, entry.name));
  return new Map(
    await Promise.all(
      files.map(async (file) => {
        const path = `/${file.slice(folder.length).replaceAll('\\', '/').replace(/^\/+/, '')}`;
        return [path, new Uint8Array(await readFile(file))] as const;
      }),
    ),
  );
}
