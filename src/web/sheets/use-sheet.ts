/** A sheet of the record, and the way to change it. */

import { useEffect, useMemo, useSyncExternalStore } from 'react';
import type { SheetEdit, SheetName, SheetView } from '../../server/index.ts';
import { api, outdateMachine, type Problem, told, useLive } from '../live.ts';
import { EditQueue, type QueueState } from './edit-queue.ts';

export interface Sheet {
  readonly queue: EditQueue;
  readonly state: QueueState;
  readonly view: SheetView | undefined;
  readonly problem: Problem | undefined;
}

export function useSheet(machine: string, sheet: SheetName): Sheet {
  const { value: view, problem } = useLive(api.machines[':id'].sheets[':sheet'], {
    param: { id: machine, sheet },
  });
  const queue = useMemo(() => {
    const endpoint = api.machines[':id'].sheets[':sheet'];
    const send = async (edits: SheetEdit[], what: string) => {
      const outcome = await told(endpoint.$patch({ param: { id: machine, sheet }, json: { edits, what } }));
      outdateMachine(machine);
      return outcome;
    };
    return new EditQueue(send, { replaces: sheet === 'readings' });
  }, [machine, sheet]);
  useEffect(() => {
    if (view) queue.take(view);
  }, [queue, view]);
  const state = useSyncExternalStore(queue.subscribe, queue.state);
  return { queue, state, view, problem };
}
