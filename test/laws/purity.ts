/** Law: the pure half computes and nothing else, so that it runs anywhere and a result depends on its inputs alone. */

import { isCode, isTest, lineAt, type TextFile } from './files.ts';
import { isPure, moduleOf, resolved } from './modules.ts';
import { imports, scan } from './source.ts';

const NAMES = [
  'performance',
  'process',
  'document',
  'window',
  'fetch',
  'navigator',
  'console',
  'crypto',
  'Buffer',
  'setTimeout',
  'setInterval',
  'setImmediate',
  'queueMicrotask',
  'localStorage',
  'indexedDB',
  'Worker',
  'XMLHttpRequest',
  'WebSocket',
];

/**
 * What reaches outside. A name counts wherever it stands in code, unless it is a property or a key, or the file
 * declares it as its own: a parsed document, a window of time.
 */
const OUTSIDE: readonly RegExp[] = [
  /\bMath\s*\.\s*random\b/g,
  /\bDate\s*\.\s*now\b/g,
  /\bnew\s+Date\b/g,
  /(?<![\w$.])(?<!\bnew\s+)Date\s*\(/g,
  // WebAssembly computes and nothing else, and is not in the library of types that the pure half is checked against.
  /(?<![\w$.])(?<!\{ WebAssembly \} = )globalThis\b/g,
  new RegExp(`(?<![\\w$.])(?:${NAMES.join('|')})(?![\\w$]|\\??:)`, 'g'),
];

/** Whether a source has a variable, a function or a parameter of this name. */
function declares(code: string, name: string): boolean {
  return new RegExp(`\\b(?:const|let|function)\\s+${name}\\b|[(,]\\s*${name}\\??\\s*:`).test(code);
}

/** Breaches in the sources of the pure modules; their tests may do as they like. */
export function purityBreaches(files: readonly TextFile[]): string[] {
  const pure = files.filter((file) => isCode(file) && !isTest(file) && isPure(moduleOf(file.path) ?? ''));
  return pure.flatMap((file) => {
    const where = (position: number) => `${file.path}:${lineAt(file.text, position)}`;
    const packages = imports(file.text)
      .filter(({ from }) => resolved(file.path, from) === undefined)
      .map(({ from, position }) => `${where(position)}: a pure module imports ${from}`);
    const { code } = scan(file.text);
    const names = OUTSIDE.flatMap((pattern) => [...code.matchAll(pattern)])
      .filter(([name]) => !(NAMES.includes(name) && declares(code, name)))
      .map((match) => `${where(match.index)}: a pure module mentions ${match[0].trim()}`);
    return [...packages, ...names];
  });
}
