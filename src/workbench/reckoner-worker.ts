/** A `Reckoner` in a thread of its own: calls come in as messages, results and refusals go back the same way. */

import { parentPort } from 'node:worker_threads';
import { Reckoner } from './reckoner.ts';
import type { Asked, Told } from './reckoner-thread.ts';

const port = parentPort!;
const reckoner = new Reckoner();
const running = new Map<number, AbortController>();

port.on('message', (asked: Asked) => {
  if ('cancel' in asked) running.get(asked.cancel)?.abort(new Error('stopped'));
  else void perform(asked);
});

async function perform({ call, method, args }: Extract<Asked, { call: number }>): Promise<void> {
  const tell = (told: Told): void => port.postMessage(told);
  try {
    if (method !== 'computeTable') {
      const does = reckoner[method] as (...given: unknown[]) => unknown;
      tell({ call, value: does.apply(reckoner, [...args]) });
      return;
    }
    const stop = new AbortController();
    running.set(call, stop);
    const value = await reckoner.computeTable(args[0] as number, {
      signal: stop.signal,
      atRest: args[1] === true,
      onProgress: (done, total) => tell({ call, progress: [done, total] }),
    });
    tell({ call, value });
  } catch (error) {
    const { name, message, stack, code } = error as Error & { code?: string };
    tell({ call, error: { name, message, stack, code } });
  } finally {
    running.delete(call);
  }
}
