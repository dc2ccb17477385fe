import { type AsyncZippable, unzipSync, zip } from 'fflate';
import { MEGABYTE } from './body.ts';
import { Refused } from './refused.ts';

/** What an archive may come to when it is unpacked: a small one can hold a mountain of zeros. */
const MOST_UNPACKED = 400 * MEGABYTE;
const MOST_FILES = 5000;

/**
 * The files of a machine folder from a zip: by name, `photographs/NAME` for those in that folder. A folder around them
 * all is taken off. Nothing is written anywhere, so that no name can point elsewhere.
 *
 * @throws Refused  when it is no zip, or too much comes out of it
 */
export function zipFiles(zip: Uint8Array): Map<string, Uint8Array> {
  let bytes = 0;
  let files = 0;
  let unpacked: Record<string, Uint8Array>;
  try {
    unpacked = unzipSync(zip, {
      filter: ({ originalSize, name }) => {
        bytes += originalSize;
        files += 1;
        if (bytes > MOST_UNPACKED || files > MOST_FILES) {
          throw new Refused(413, 'too-large', 'too much in the archive');
        }
        return !name.endsWith('/') && !name.startsWith('__MACOSX/');
      },
    });
  } catch (error) {
    if (error instanceof Refused) throw error;
    throw new Refused(400, 'not-an-archive', 'this is not a zip archive, or it is damaged');
  }
  const entries = Object.entries(unpacked).map(
    ([name, content]) => [name.replaceAll('\\', '/'), content] as const,
  );
  const head = entries.map(([name]) => name).find((name) => /^([^/]+\/)?machine\.json$/.test(name));
  const folder = head?.slice(0, -'machine.json'.length) ?? '';
  return new Map(
    entries
      .filter(([name]) => name.startsWith(folder))
      .map(([name, content]) => [name.slice(folder.length), content] as const)
      .filter(([name]) => !name.split('/').includes('..')),
  );
}

/** A machine folder as a zip. Long files are packed in threads of their own, so that others are served meanwhile. */
export function zipOf(files: ReadonlyMap<string, Uint8Array>): Promise<Uint8Array<ArrayBuffer>> {
  const entries = [...files].map(([name, content]) => {
    // Pictures are packed already; of captures what counts is the time.
    const level = /\.(png|jpe?g|webp)$/i.test(name) ? 0 : name.startsWith('captures/') ? 1 : 6;
    return [name, [content, { level }] as const] as const;
  });
  return new Promise((resolve, reject) => {
    zip(Object.fromEntries(entries) as unknown as AsyncZippable, (error, packed) => {
      if (error) reject(error);
      else resolve(new Uint8Array(packed));
    });
  });
}
