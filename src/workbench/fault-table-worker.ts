/** One share of the fault table, computed in a thread of its own. */

import type { MessagePort } from 'node:worker_threads';
import { type TableShare, tableShare } from '../diagnosis/index.ts';
import type { Machine } from '../machine/index.ts';

export interface ShareTask {
  readonly machine: Machine;
  /** From 0. */
  readonly share: number;
  readonly shares: number;
  /** Only the states that stand still. */
  readonly atRest: boolean;
  /** Told the solves done and to do, as a pair. */
  readonly progress: MessagePort;
}

export default function computeShare({ machine, share, shares, atRest, progress }: ShareTask): TableShare {
  return tableShare(machine, share, shares, (done, total) => progress.postMessage([done, total]), atRest);
}
