import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { InputError } from '../records/index.ts';
import { Reckoner } from './reckoner.ts';

type Method = Exclude<keyof Reckoner, 'computeTable'>;

export type Asked =
  | {
      readonly call: number;
      readonly method: Method | 'computeTable';
      readonly args: readonly unknown[];
    }
  | { readonly cancel: number };

export type Told =
  | { readonly call: number; readonly value: unknown }
  | { readonly call: number; readonly progress: readonly [done: number, total: number] }
  | {
      readonly call: number;
      readonly error: {
        readonly name: string;
        readonly message: string;
        readonly stack: string | undefined;
        readonly code: string | undefined;
      };
    };

interface Waiting {
  readonly resolve: (value: unknown) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress: ((done: number, total: number) => void) | undefined;
}

/** Lies beside the built program; there is none when the program runs from its sources. */
const WORKER = new URL('../workbench/reckoner-worker.js', import.meta.url);

/**
 * A `Reckoner` in another thread, so that whoever asks is never held up; without the built program, in this one.
 *
 * A thread that dies takes what it held with it: `generation` counts them, and calls in flight are rejected.
 */
export class ReckonerThread {
  generation = 0;
  #worker: Worker | undefined;
  #here: Reckoner | undefined;
  #calls = 0;
  readonly #waiting = new Map<number, Waiting>();

  /** Calls a method of the reckoner there. @throws  what it throws; an InputError stays one */
  async call<M extends Method>(
    method: M,
    ...args: Parameters<Reckoner[M]>
  ): Promise<Awaited<ReturnType<Reckoner[M]>>> {
    const here = this.#started();
    if (here !== undefined) {
      const does = here[method] as (...given: Parameters<Reckoner[M]>) => unknown;
      return does.apply(here, args) as Awaited<ReturnType<Reckoner[M]>>;
    }
    return (await this.#ask(method, args)) as Awaited<ReturnType<Reckoner[M]>>;
  }

  /** @see Reckoner.computeTable */
  async computeTable(
    id: number,
    onProgress: (done: number, total: number) => void,
    signal: AbortSignal,
    atRest: boolean,
  ): Promise<Uint8Array> {
    const here = this.#started();
    if (here !== undefined) return here.computeTable(id, { onProgress, signal, atRest });
    return (await this.#ask('computeTable', [id, atRest], onProgress, signal)) as Uint8Array;
  }

  /** Ends the thread, whatever it is at; the next call starts another. */
  async close(): Promise<void> {
    const worker = this.#worker;
    if (worker !== undefined) this.generation += 1;
    this.#worker = undefined;
    await worker?.terminate();
  }

  /** The reckoner of this thread where there is no other. */
  #started(): Reckoner | undefined {
    if (this.#here !== undefined) return this.#here;
    if (this.#worker !== undefined) return undefined;
    if (!existsSync(fileURLToPath(WORKER))) {
      this.generation += 1;
      this.#here = new Reckoner();
      return this.#here;
    }
    const worker = new Worker(WORKER);
    worker.on('message', (told: Told) => this.#hear(told));
    worker.on('error', (error) => this.#lose(worker, error as Error));
    worker.on('exit', () => this.#lose(worker, new Error('the reckoning thread has ended')));
    worker.unref();
    this.generation += 1;
    this.#worker = worker;
    return undefined;
  }

  #ask(
    method: Method | 'computeTable',
    args: readonly unknown[],
    onProgress?: (done: number, total: number) => void,
    signal?: AbortSignal,
  ): Promise<unknown> {
    const call = ++this.#calls;
    const worker = this.#worker!;
    const tell = (asked: Asked): void => worker.postMessage(asked);
    return new Promise((resolve, reject) => {
      this.#waiting.set(call, { resolve, reject, onProgress });
      signal?.addEventListener('abort', () => tell({ cancel: call }), { once: true });
      tell({ call, method, args });
    });
  }

  #hear(told: Told): void {
    const waiting = this.#waiting.get(told.call);
    if (waiting === undefined) return;
    if ('progress' in told) {
      waiting.onProgress?.(...told.progress);
      return;
    }
    this.#waiting.delete(told.call);
    if ('value' in told) waiting.resolve(told.value);
    else waiting.reject(revived(told.error));
  }

  #lose(worker: Worker, error: Error): void {
    if (this.#worker === worker) {
      this.#worker = undefined;
      // Said at once, so that nobody takes what it held for still there.
      this.generation += 1;
    }
    for (const waiting of this.#waiting.values()) waiting.reject(error);
    this.#waiting.clear();
  }
}

function revived({ name, message, stack, code }: Extract<Told, { error: unknown }>['error']): Error {
  if (name === 'InputError') return new InputError(code ?? 'input', message);
  const error = new Error(message);
  error.name = name;
  if (stack !== undefined) error.stack = stack;
  return error;
}
