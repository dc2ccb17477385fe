/**
 * Peak resident memory of each command on the demo, run from the built program with an empty cache and again with the kept
 * table. Prints the machine and medians. Yardstick of the same run: a Node.js that does nothing. Limit: 400 MB.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const LIMIT_MB = 400;
const RUNS = 3;
const ROOT = fileURLToPath(new URL('..', import.meta.url));
const DEMO = join(ROOT, 'demo', 'tide-gauge');
const PROGRAM = join(ROOT, 'bin', 'sisterboard.js');

/** Notes the peak, in kilobytes, of the process that loads it; worker threads are part of that process. */
const NOTE = `data:text/javascript,${encodeURIComponent(
  "import{isMainThread}from'node:worker_threads';import{writeFileSync}from'node:fs';" +
    "if(isMainThread)process.on('exit',()=>writeFileSync(process.env.PEAK_FILE,String(process.resourceUsage().maxRSS)));",
)}`;

const work = mkdtempSync(join(tmpdir(), 'peak-'));
let runs = 0;

function peakMegabytes(args: readonly string[]): number {
  const file = join(work, 'peak');
  const result = spawnSync(process.execPath, ['--import', NOTE, ...args], {
    env: { ...process.env, PEAK_FILE: file, XDG_CACHE_HOME: work, LOCALAPPDATA: work, HOME: work },
    encoding: 'utf8',
  });
  if (result.status !== 0) throw new Error(`${args.join(' ')}: ${result.stderr}`);
  return Number(readFileSync(file, 'utf8')) / 1024;
}

function median(numbers: readonly number[]): number {
  return [...numbers].sort((a, b) => a - b)[numbers.length >> 1]!;
}

const COMMANDS: [string, () => string[]][] = [
  ['check', () => ['check', DEMO]],
  ['compare', () => ['compare', DEMO]],
  ['suspects', () => ['suspects', DEMO]],
  ['next', () => ['next', DEMO]],
  ['sound', () => ['sound', DEMO]],
  ['expect', () => ['expect', DEMO]],
  ['what-if', () => ['what-if', DEMO, '--fault', 'ADD/Q3:short-ce']],
  ['demo', () => ['demo', join(work, `copy ${++runs}`)]],
];

try {
  if (!existsSync(join(ROOT, 'dist', 'stamp'))) throw new Error('the program is not built (npm run build)');
  console.log(
    `${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}; medians of ${RUNS}, MB`,
  );
  const idle = median(Array.from({ length: RUNS }, () => peakMegabytes(['--eval', '0'])));
  console.log(`a Node.js that does nothing: ${idle.toFixed(0)}`);
  let most = 0;
  for (const [name, args] of COMMANDS) {
    const cold = Array.from({ length: RUNS }, () => {
      rmSync(join(work, 'sisterboard'), { recursive: true, force: true });
      return peakMegabytes([PROGRAM, ...args()]);
    });
    const kept = Array.from({ length: RUNS }, () => peakMegabytes([PROGRAM, ...args()]));
    most = Math.max(most, ...cold, ...kept);
    console.log(
      `${name.padEnd(10)} nothing kept ${median(cold).toFixed(0).padStart(4)} (${(median(cold) / idle).toFixed(1)} times)   table kept ${median(kept).toFixed(0).padStart(4)} (${(median(kept) / idle).toFixed(1)} times)`,
    );
  }
  console.log(`most of all: ${most.toFixed(0)} MB (limit ${LIMIT_MB})`);
} finally {
  rmSync(work, { recursive: true, force: true });
}
