/** Law: every link in the documents lands, on a file of this repository and on a heading that is there. */

import { posix } from 'node:path';
import type { TextFile } from './files.ts';

const INLINE = /\[[^\]]*\]\(\s*<?([^)\s>]+)>?[^)]*\)/g;
const REFERENCE = /^\s*\[[^\]]+\]:\s*(\S+)/gm;

/**
 * Breaches over the documents. Links out to the world are not followed.
 *
 * @param files  the whole repository: the targets are looked up in it
 * @param others  paths that exist beside the text files, such as pictures
 */
export function linkBreaches(files: readonly TextFile[], others: readonly string[] = []): string[] {
  const known = new Map(files.map((file) => [file.path, file]));
  const folders = new Set([...known.keys(), ...others].flatMap(parents));
  return files.filter(isDocument).flatMap((file) => {
    const text = prose(file.text);
    const targets = [INLINE, REFERENCE]
      .flatMap((pattern) => [...text.matchAll(pattern)])
      .map((match) => match[1]!);
    return targets.flatMap((target) => {
      if (/^[a-z][a-z+.-]*:/i.test(target)) return [];
      const [path = '', anchor] = decodeURIComponent(target).split('#');
      const place = path === '' ? file.path : posix.normalize(posix.join(posix.dirname(file.path), path));
      const bare = place.replace(/\/$/, '');
      const landed = known.get(bare);
      if (!landed && !folders.has(bare) && !others.includes(bare))
        return [`${file.path}: ${target} is not there`];
      if (anchor && !(landed && isDocument(landed) && anchors(landed.text).has(anchor))) {
        return [`${file.path}: ${target} has no such heading`];
      }
      return [];
    });
  });
}

function isDocument(file: TextFile): boolean {
  return file.path.endsWith('.md');
}

/** Without code, fenced or in line: what looks like a link there is none. */
function prose(text: string): string {
  return text.replace(/^(```|~~~)[\s\S]*?^\1/gm, '').replace(/`[^`\n]*`/g, '');
}

/** Names of the headings as the usual renderers make them. */
function anchors(text: string): Set<string> {
  const names = new Set<string>();
  for (const [, heading] of text.replace(/^(```|~~~)[\s\S]*?^\1/gm, '').matchAll(/^#+\s+(.*)$/gm)) {
    const plain = heading!.trim().toLowerCase();
    const name = plain.replace(/[^\p{L}\p{N}\s_-]/gu, '').replace(/\s/g, '-');
    let free = name;
    for (let n = 1; names.has(free); n++) free = `${name}-${n}`;
    names.add(free);
  }
  return names;
}

function parents(path: string): string[] {
  const parent = posix.dirname(path);
  return parent === '.' ? ['.'] : [parent, ...parents(parent)];
}
