/** The page's side of the worker: asks it, hands it what it lacks, and ends it when a person will not wait. */

import type { AnyTrace, Asked, TaskName, Tasks, Told } from './work.ts';

export interface AskOptions {
  readonly signal?: AbortSignal;
  readonly progress?: (done: number, total: number) => void;
}

/** Rejected with this where a person stopped it. */
export class Stopped extends Error {
  constructor() {
    super('stopped');
  }
}

interface Pending {
  readonly asked: Asked;
  readonly keys: readonly string[];
  readonly progress: AskOptions['progress'];
  readonly resolve: (answer: unknown) => void;
  readonly reject: (error: Error) => void;
}

export class Reckoner {
  #worker: Worker | undefined;
  #ids = 0;
  readonly #pending = new Map<number, Pending>();
  /** Traces that the page has, and those that the running worker has. */
  readonly #traces = new Map<string, AnyTrace>();
  #handed = new Set<string>();

  keep(key: string, trace: AnyTrace): void {
    this.#traces.set(key, trace);
  }

  trace(key: string): AnyTrace | undefined {
    return this.#traces.get(key);
  }

  /** All but these are given back to memory. */
  forgetBut(keys: ReadonlySet<string>): void {
    for (const key of this.#traces.keys()) if (!keys.has(key)) this.#traces.delete(key);
  }

  ask<T extends TaskName>(
    task: T,
    ask: Tasks[T]['ask'],
    keys: readonly string[],
    options: AskOptions = {},
  ): Promise<Tasks[T]['answer']> {
    const { signal, progress } = options;
    return new Promise((resolve, reject) => {
      if (signal?.aborted) {
        reject(new Stopped());
        return;
      }
      const id = this.#ids++;
      const asked: Asked = { id, task, ask };
      this.#pending.set(id, { asked, keys, progress, resolve: resolve as (answer: unknown) => void, reject });
      signal?.addEventListener('abort', () => this.#stop(id));
      this.#send(id);
    });
  }

  /** Samples of a channel, kept under a key for what is asked later. */
  async samples(ask: Tasks['samples']['ask'], options: AskOptions = {}): Promise<AnyTrace> {
    const known = this.#traces.get(ask.key);
    if (known !== undefined) return known;
    const trace = await this.ask('samples', ask, [], options);
    this.#traces.set(ask.key, trace);
    this.#handed.add(ask.key);
    return trace;
  }

  end(): void {
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#handed.clear();
    for (const { reject } of this.#pending.values()) reject(new Stopped());
    this.#pending.clear();
  }

  #send(id: number): void {
    const pending = this.#pending.get(id)!;
    this.#worker ??= this.#started();
    for (const key of pending.keys) {
      const trace = this.#traces.get(key);
      if (trace === undefined || this.#handed.has(key)) continue;
      this.#worker.postMessage({ key, trace });
      this.#handed.add(key);
    }
    this.#worker.postMessage(pending.asked);
  }

  #started(): Worker {
    const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
    worker.addEventListener('message', ({ data }: MessageEvent<Told>) => {
      const pending = this.#pending.get(data.id);
      if (pending === undefined) return;
      if ('total' in data) {
        pending.progress?.(data.done, data.total);
        return;
      }
      this.#pending.delete(data.id);
      if ('failed' in data) pending.reject(new Error(data.failed));
      else pending.resolve(data.answer);
    });
    worker.addEventListener('error', () => {
      for (const { reject } of this.#pending.values()) reject(new Error('the worker could not be started'));
      this.#pending.clear();
    });
    return worker;
  }

  /** The worker computes without a pause, so that it can only be ended; what else was asked of it is asked of the next. */
  #stop(id: number): void {
    const pending = this.#pending.get(id);
    if (pending === undefined) return;
    this.#pending.delete(id);
    pending.reject(new Stopped());
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#handed = new Set();
    for (const other of this.#pending.keys()) this.#send(other);
  }
}
