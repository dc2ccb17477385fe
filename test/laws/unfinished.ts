/** Law: nothing is left for later, no test is left out, and every test file asserts something. */

import { isCode, isTest, lineAt, type TextFile } from './files.ts';
import { scan } from './source.ts';

/** Pieced together so that this file does not break its own law. */
const LATER = new RegExp(`\\b(?:${['TO' + 'DO', 'FIX' + 'ME', 'HA' + 'CK'].join('|')})\\b`, 'g');
const LEFT_OUT =
  /\b(?:it|test|describe|suite)\s*(?:\.\s*\w+\s*)*\.\s*(?:skip|only|todo|fails)\b|\b(?:xit|xtest|xdescribe|fit|fdescribe)\s*\(/g;
const ASSERTION = /\b(?:expect|expectTypeOf|assert|assertType)\s*[.(<]/;

/** Breaches over code and documents. `skipIf` with its condition is allowed: what is absent cannot be tested. */
export function unfinishedBreaches(files: readonly TextFile[]): string[] {
  return files
    .filter((file) => isCode(file) || file.path.endsWith('.md'))
    .flatMap((file) => {
      const where = (position: number) => `${file.path}:${lineAt(file.text, position)}`;
      const later = [...file.text.matchAll(LATER)].map((match) => `${where(match.index)}: ${match[0]}`);
      if (!isTest(file)) return later;
      const { code } = scan(file.text);
      const leftOut = [...code.matchAll(LEFT_OUT)].map(
        (match) => `${where(match.index)}: ${match[0]} leaves tests out`,
      );
      const idle = ASSERTION.test(code) ? [] : [`${file.path}: asserts nothing`];
      return [...later, ...leftOut, ...idle];
    });
}
