/** The modules of src/ and the order in which they may know of each other. */

import { posix } from 'node:path';

/** A folder may import from those before it, never from those after. */
export const ORDER = [
  'quantity',
  'machine',
  'circuit',
  'logic',
  'waveform',
  'capture',
  'memory-line',
  'sums',
  'stock',
  'faults',
  'diagnosis',
  'records',
  'instruments',
  'report',
  'workbench',
  'server',
  'web',
  'cli',
] as const;

/** Those before `records` compute and nothing else: no file, clock, network, process or chance. */
export function isPure(module: string): boolean {
  const place = (ORDER as readonly string[]).indexOf(module);
  return place >= 0 && place < ORDER.indexOf('records');
}

/** The module of a path from the checkout's folder; `undefined` outside src/ and for a file right in it. */
export function moduleOf(path: string): string | undefined {
  return /^src\/([^/]+)\//.exec(path)?.[1];
}

/** Path from the checkout's folder of a relative import, `undefined` for a package. */
export function resolved(importer: string, from: string): string | undefined {
  return from.startsWith('.') ? posix.normalize(posix.join(posix.dirname(importer), from)) : undefined;
}
