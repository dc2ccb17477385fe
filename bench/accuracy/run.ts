/**
 * Runs the trials and prints their tables.
 *
 *   npx tsx bench/accuracy/run.ts [--half tuning|test] [--board NAME,NAME] [--kind all,twelve,walk,double,sound,wrong]
 *       [--twin all|paired|none] [--trials N] [--from N] [--exact] [--processes 1|2] [--json FILE] [--quiet]
 *
 * `--exact` sets up the exact posterior of each board for the kinds `twelve` and `walk` (a few minutes a board the
 * first time). Boards named MANY… are large and are only run when named. Trial numbers make the seed.
 */
import { fork } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { BOARD_NAMES, trialBoard } from './boards/index.ts';
import { sections, text } from './report.ts';
import { KINDS, type Kind, type Score, score, type Twin } from './score.ts';
import { benchOf } from './trial.ts';
import { YARDSTICK_FOLDER, type Yardstick, yardstickOf } from './yardstick.ts';

const { values } = parseArgs({
  options: {
    half: { type: 'string', default: 'tuning' },
    board: { type: 'string' },
    kind: { type: 'string', default: 'all' },
    twin: { type: 'string', default: 'all' },
    trials: { type: 'string', default: '10' },
    from: { type: 'string', default: '1' },
    exact: { type: 'boolean', default: false },
    processes: { type: 'string', default: '1' },
    shard: { type: 'string' },
    json: { type: 'string' },
    quiet: { type: 'boolean', default: false },
  },
});

function wrongCall(message: string): never {
  console.error(message);
  process.exit(2);
}

const { half, twin } = values;
if (half !== 'tuning' && half !== 'test') wrongCall(`--half ${half}: it is tuning or test`);
if (twin !== 'all' && twin !== 'paired' && twin !== 'none')
  wrongCall(`--twin ${twin}: it is all, paired or none`);
const kinds = values.kind.split(',') as Kind[];
for (const kind of kinds)
  if (!KINDS.includes(kind)) wrongCall(`--kind ${kind}: it is one of ${KINDS.join(', ')}`);
const boards = values.board?.split(',') ?? BOARD_NAMES[half].filter((name) => !name.startsWith('MANY'));
const trials = Number(values.trials);
const from = Number(values.from);

interface Task {
  readonly board: string;
  readonly kind: Kind;
  readonly number: number;
}
const tasks: Task[] = boards.flatMap((board) =>
  kinds.flatMap((kind) => Array.from({ length: trials }, (_, k) => ({ board, kind, number: from + k }))),
);

function run(own: readonly Task[], onScore: (score: Score) => void): void {
  let bench: ReturnType<typeof benchOf> | undefined;
  let yardstick: Yardstick | undefined;
  for (const { board, kind, number } of own) {
    if (bench?.board.name !== board) {
      bench = benchOf(trialBoard(board));
      yardstick = undefined;
    }
    if (values.exact && (kind === 'twelve' || kind === 'walk') && yardstick === undefined) {
      if (!values.quiet)
        console.error(`${board}: the exact posterior's tables, a few minutes when they are not kept`);
      yardstick = yardstickOf(bench, YARDSTICK_FOLDER);
    }
    onScore(score(bench, kind, twin as Twin, number, yardstick));
  }
}

function progress(s: Score): void {
  if (values.quiet) return;
  const mark = s.right ? 'right' : 'WRONG';
  console.error(
    `${s.board} ${s.kind} ${s.number} ${mark} ${s.planted.join(' + ') || 'sound'} -> ${s.named} ${s.probability.toFixed(2)}` +
      (s.walk ? ` (${s.walk.readings} readings, ${s.walk.end})` : '') +
      (s.exactWalk ? ` exact ${s.exactWalk.right ? 'right' : 'wrong'} ${s.exactWalk.readings}` : '') +
      (s.exactRight === undefined ? '' : ` exact ${s.exactRight ? 'right' : 'wrong'}`) +
      ` ${s.milliseconds} ms`,
  );
}

function finish(scores: readonly Score[]): void {
  const order = (s: Score) =>
    tasks.findIndex((t) => t.board === s.board && t.kind === s.kind && t.number === s.number);
  const sorted = [...scores].sort((a, b) => order(a) - order(b));
  const tables = sections(sorted);
  console.log(
    `${values.board === undefined ? `${half} half` : boards.join(', ')}, trials ${from} to ${from + trials - 1}\n`,
  );
  console.log(text(tables));
  if (values.json !== undefined) {
    writeFileSync(
      values.json,
      `${JSON.stringify({ half, boards, trials, from, sections: tables, scores: sorted }, null, 1)}\n`,
    );
  }
}

const shards = Number(values.processes);
if (values.shard !== undefined) {
  // One of several processes: its boards are every n-th, so that tables are made once.
  const [k, n] = values.shard.split('/').map(Number) as [number, number];
  const mine =
    boards.length >= n
      ? tasks.filter((t) => boards.indexOf(t.board) % n === k)
      : tasks.filter((_, i) => i % n === k);
  run(mine, (s) => process.send!(s));
  process.disconnect();
} else if (shards > 1) {
  const scores: Score[] = [];
  const ends = Array.from(
    { length: shards },
    (_, k) =>
      new Promise<void>((done, failed) => {
        const child = fork(fileURLToPath(import.meta.url), [
          ...process.argv.slice(2),
          '--shard',
          `${k}/${shards}`,
        ]);
        child.on('message', (s: Score) => {
          scores.push(s);
          progress(s);
        });
        child.on('exit', (code) =>
          code === 0 ? done() : failed(new Error(`a process of the trials ended with ${code}`)),
        );
      }),
  );
  await Promise.all(ends);
  finish(scores);
} else {
  const scores: Score[] = [];
  run(tasks, (s) => {
    scores.push(s);
    progress(s);
  });
  finish(scores);
}
