import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { purityBreaches } from './purity.ts';

describe('purity', () => {
  it('the pure modules reach nothing outside themselves', () => {
    expect(purityBreaches(repositoryFiles())).toEqual([]);
  });

  it.each([
    "import { readFileSync } from 'node:fs';",
    "import type { Stats } from 'node:fs';",
    "import { z } from 'zod';",
    'const r = Math.random();',
    'const t = Date.now();',
    'const t = new Date(0);',
    'const t = Date();',
    'const t = performance.now();',
    'const { env } = process;',
    'document.title = "";',
    'const w = window;',
    'const w = inside ? window : undefined;',
    'await fetch(address);',
    'console.log(1);',
    'globalThis.process.exit();',
    'function rows(file: Parsed) { return document.body; }',
    'setTimeout(f, 1);',
    // biome-ignore lint/suspicious/noTemplateCurlyInString: the substitution is in the made-up source
    'const s = `${Math.random()}`;',
    'const half = total / 2; const t = Date.now() / 2;',
    'const quote = /["\']/; const t = Date.now();',
  ])('%s is a breach', (text) => {
    expect(purityBreaches([{ path: 'src/circuit/made-up.ts', text }])).toHaveLength(1);
  });

  it.each([
    '// as Math.random() would, and process of elimination',
    '/** The document, the window and new Date(). */',
    "const message = 'the process is unknown';",
    // biome-ignore lint/suspicious/noTemplateCurlyInString: the substitution is in the made-up source
    'const message = `no window ${n}`;',
    'const step = run.process + frame.window;',
    'const shape = { window: 3 };',
    'function rows(document: Parsed) { return document.rows; }',
    'const window = hann(n); return window[0];',
    'const { WebAssembly } = globalThis as unknown as Wanted;',
    'const processed = windowed(documentation);',
    'const when = Date.parse(text);',
  ])('%s is in order', (text) => {
    expect(purityBreaches([{ path: 'src/circuit/made-up.ts', text }])).toEqual([]);
  });

  it('tests and the modules that touch the world are free to', () => {
    const text = "import { readFileSync } from 'node:fs';\nconst t = Date.now();";
    const paths = ['src/circuit/made-up.test.ts', 'src/records/made-up.ts', 'bench/made-up.ts'];
    expect(purityBreaches(paths.map((path) => ({ path, text })))).toEqual([]);
  });
});
