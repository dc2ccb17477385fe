/**
 * The folder of reference data that tests read in place where it is present: named by SISTERBOARD_REFERENCE, or `reference` in a
 * folder beside the checkout.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const BESIDE = dirname(fileURLToPath(new URL('../..', import.meta.url)));

/** A folder of the reference data, such as `captures`; `undefined` where it is not there. */
export function referenceFolder(name: string): string | undefined {
  const roots = [
    process.env.SISTERBOARD_REFERENCE ?? '',
    ...readdirSync(BESIDE).map((sibling) => join(BESIDE, sibling, 'reference')),
  ];
  return roots.map((root) => join(root, 'data', name)).find((folder) => existsSync(folder));
}

/** Rows of a table with quotation marks around cells that hold commas, by its headings. */
export function referenceTable(folder: string, file: string): Record<string, string>[] {
  const [heading, ...rows] = readFileSync(join(folder, file), 'utf8')
    .trim()
    .split('\n')
    .map((line) => [...line.matchAll(/(?:^|,)(?:"([^"]*)"|([^,]*))/g)].map((cell) => cell[1] ?? cell[2]!));
  return rows.map((cells) => Object.fromEntries(heading!.map((name, i) => [name, cells[i]!])));
}
