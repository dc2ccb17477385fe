import { existsSync, readFileSync } from 'node:fs';
import about from '../../package.json' with { type: 'json' };
import { Cache, cacheFolder } from '../records/index.ts';

/** Lies in dist/ and changes with every source; there is none when the program runs from its sources. */
const STAMP = new URL('../stamp', import.meta.url);

/** What computed a result: another version, or another build of it, may compute another one. */
export function programMark(): string | undefined {
  return existsSync(STAMP) ? `${about.version} ${readFileSync(STAMP, 'utf8').trim()}` : undefined;
}

/**
 * Where results are kept between calls: the person's cache folder, and none for a program that runs from its sources, which
 * may change under a result.
 */
export function usualKeeping(): Keeping | undefined {
  const mark = programMark();
  return mark === undefined ? undefined : { cache: new Cache(cacheFolder()), mark };
}

export interface Keeping {
  readonly cache: Cache;
  /** Stands in every key. */
  readonly mark: string;
}
