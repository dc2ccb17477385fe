/**
 * The yardstick: KLU of SuiteSparse, through a small C driver that is compiled on first use into a temporary
 * folder. Compiler and library are the machine's own; where one is missing, `kluDriver` says which.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Pattern } from '../../src/circuit/matrix/index.ts';

export interface KluResult {
  readonly factorEntries: number;
  /** Median nanoseconds for one refactorisation and solve. */
  readonly nanoseconds: number;
  /** Solution of the last step. */
  readonly x: Float64Array;
}

export type KluRun = (pattern: Pattern, steps: readonly Step[], repeats: number) => KluResult | string;

/** Values and right-hand side of one system. */
export interface Step {
  readonly values: Float64Array;
  readonly b: Float64Array;
}

/** A way to run KLU, or the reason why there is none. What is built goes when the process ends. */
export function kluDriver(): KluRun | string {
  const compiler = ['cc', 'gcc', 'clang'].find((name) => spawnSync(name, ['--version']).status === 0);
  if (!compiler) return 'no C compiler (looked for cc, gcc and clang)';
  const folder = mkdtempSync(join(tmpdir(), 'klu-'));
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
  const program = join(folder, 'klu');
  const source = fileURLToPath(new URL('klu.c', import.meta.url));
  const built = spawnSync(
    compiler,
    ['-O3', '-o', program, source, '-I/usr/include/suitesparse', '-I/usr/local/include/suitesparse', '-lklu'],
    { encoding: 'utf8' },
  );
  if (built.status !== 0) {
    const missing = /klu\.h|-lklu/.test(built.stderr);
    return missing
      ? 'the library KLU is not installed (on Debian: libsuitesparse-dev)'
      : `the driver does not compile: ${built.stderr.trim()}`;
  }
  return (pattern, steps, repeats) => {
    const { status, stdout, stderr } = spawnSync(program, {
      input: inputOf(pattern, steps, repeats),
      encoding: 'utf8',
      maxBuffer: 1 << 28,
    });
    if (status !== 0) return stderr.trim();
    const [factorEntries, nanoseconds, ...x] = stdout.trim().split('\n').map(Number);
    return { factorEntries: factorEntries!, nanoseconds: nanoseconds!, x: Float64Array.from(x) };
  };
}

/** KLU takes columns; the pattern is structurally symmetric, so that only the values change places. */
function inputOf(pattern: Pattern, steps: readonly Step[], repeats: number): Buffer {
  const { n, rowStart, column } = pattern;
  const next = rowStart.slice();
  const mirror = column.map((j) => next[j]!++);
  const parts: (Int32Array | Float64Array)[] = [
    Int32Array.of(n, column.length, steps.length, repeats),
    rowStart,
    column,
  ];
  for (const { values, b } of steps)
    parts.push(
      Float64Array.from(mirror, (e) => values[e]!),
      b,
    );
  return Buffer.concat(parts.map((part) => Buffer.from(part.buffer, part.byteOffset, part.byteLength)));
}
