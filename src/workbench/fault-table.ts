import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { MessageChannel } from 'node:worker_threads';
import { FaultTable, faultTable, type TableShare, tableKey, tableShare } from '../diagnosis/index.ts';
import { SOLVES_OF_A_RUN } from '../faults/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import { InputError } from '../records/index.ts';
import type { ShareTask } from './fault-table-worker.ts';
import { type Keeping, usualKeeping } from './program.ts';

export interface TableWork {
  /** Called now and then with the solves done and to do; not at all when the table was kept. */
  readonly onProgress?: ((done: number, total: number) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  /** Something a person may want to know and that does not change the answer. */
  readonly onNote?: ((text: string) => void) | undefined;
  /** Where the table is kept between calls; `undefined` for the usual place, `false` for nowhere. */
  readonly keeping?: Keeping | false | undefined;
  /** Worker threads; 0 computes in this one. Without it, as many as are worth starting. */
  readonly workers?: number | undefined;
  /** Only the states that stand still: those that run are many times the work. */
  readonly atRest?: boolean | undefined;
}

/** Lies beside the built program; there is none when the program runs from its sources. */
const WORKER = new URL('../workbench/fault-table-worker.js', import.meta.url);

/** A thread costs about as much to start as it takes to solve so many points. */
const SOLVES_WORTH_A_WORKER = 4000;
/** A thread takes some 40 MB: beyond the fourth only a large table is worth it. */
const USUAL_WORKERS = 4;
const SOLVES_WORTH_ANOTHER = 100_000;
/** The solver makes little garbage; with a small nursery a thread takes half the memory and the same time. */
const NURSERY_MB = 4;
/** How often this thread looks up when it computes by itself: after so many solves. */
const SOLVES_BETWEEN_LOOKS = 2000;

/**
 * The fault table of a machine: taken from where it is kept, or computed and kept.
 *
 * @throws  the signal's reason when it is given up; nothing half-done is kept then
 */
export async function faultTableOf(machine: Machine, work: TableWork = {}): Promise<FaultTable> {
  const keeping = work.keeping === undefined ? usualKeeping() : work.keeping || undefined;
  const about = work.atRest && machine.conditions.some(isRunning) ? 'fault table at rest' : 'fault table';
  const key = keeping && `${about}\n${keeping.mark}\n${tableKey(machine)}`;
  const bytes = key && (await keeping.cache.get(key));
  const kept = bytes && FaultTable.fromBytes(machine, bytes);
  if (kept) return kept;

  const table = faultTable(machine, await computedShares(machine, work));
  work.signal?.throwIfAborted();
  if (key) {
    await keeping.cache.put(key, table.toBytes()).catch((error: unknown) => {
      if (!(error instanceof InputError)) throw error;
      work.onNote?.(`the fault table is not kept, so the next call computes it again: ${error.message}`);
    });
  }
  return table;
}

async function computedShares(machine: Machine, work: TableWork): Promise<TableShare[]> {
  const solves = roughSolves(machine, work.atRest);
  const worth = Math.min(
    Math.floor(solves / SOLVES_WORTH_A_WORKER),
    availableParallelism(),
    USUAL_WORKERS + Math.floor(solves / SOLVES_WORTH_ANOTHER),
  );
  const workers = work.workers ?? worth;
  if (workers > 0 && existsSync(fileURLToPath(WORKER))) {
    try {
      return await sharesOfWorkers(machine, workers, work);
    } catch (error) {
      work.signal?.throwIfAborted();
      // Threads may be forbidden or memory short; if the fault is ours, computing here shows it again.
      work.onNote?.(`computing without worker threads: ${(error as Error).message}`);
    }
  }
  return sharesOfOurOwn(machine, Math.ceil(solves / SOLVES_BETWEEN_LOOKS), work);
}

/** Failure modes and their grades come to about twelve a part. */
function roughSolves({ parts, conditions }: Machine, atRest = false): number {
  const running = atRest ? 0 : conditions.filter(isRunning).length;
  return 12 * parts.length * (conditions.length + SOLVES_OF_A_RUN * running);
}

async function sharesOfWorkers(machine: Machine, workers: number, work: TableWork): Promise<TableShare[]> {
  const { Piscina } = await import('piscina');
  const pool = new Piscina({
    filename: fileURLToPath(WORKER),
    minThreads: workers,
    maxThreads: workers,
    resourceLimits: { maxYoungGenerationSizeMb: NURSERY_MB },
  });
  const done = new Array<number>(workers).fill(0);
  const total = new Array<number>(workers).fill(0);
  const sum = (counts: readonly number[]): number => counts.reduce((a, b) => a + b, 0);
  try {
    return await Promise.all(
      done.map((_, share) => {
        const { port1, port2 } = new MessageChannel();
        port1.on('message', ([solved, wanted]: [number, number]) => {
          done[share] = solved;
          total[share] = wanted;
          if (total.every((count) => count > 0)) work.onProgress?.(sum(done), sum(total));
        });
        port1.unref();
        const { atRest = false } = work;
        const task: ShareTask = { machine, share, shares: workers, atRest, progress: port2 };
        const options = { transferList: [port2], ...(work.signal ? { signal: work.signal } : {}) };
        return (pool.run(task, options) as Promise<TableShare>).finally(() => port1.close());
      }),
    );
  } finally {
    await pool.destroy();
  }
}

async function sharesOfOurOwn(machine: Machine, shares: number, work: TableWork): Promise<TableShare[]> {
  const computed: TableShare[] = [];
  for (let share = 0; share < shares; share++) {
    // A breath for the signal of an impatient person to come in.
    await new Promise((resolve) => setImmediate(resolve));
    work.signal?.throwIfAborted();
    computed.push(
      tableShare(
        machine,
        share,
        shares,
        (done, total) => work.onProgress?.(share * total + done, shares * total),
        work.atRest,
      ),
    );
  }
  return computed;
}
