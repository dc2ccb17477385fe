import { useEffect, useRef, useState } from 'react';
import type { SuspectsView, TableView } from '../../server/index.ts';
import { api, useLive } from '../live.ts';

/** After the last key, milliseconds, before the suspects are asked about what is typed. */
const PAUSE = 150;

interface Asked {
  readonly unit: string;
  readonly state: string;
  readonly point: string;
  readonly value: string;
}

/**
 * The suspects as they would be with a reading that is only typed; the last answer stays until the next one is here.
 *
 * @param taking  it is just being taken: nothing more is asked about it
 */
export function usePreview(id: string, asked: Asked | undefined, taking: boolean): SuspectsView | undefined {
  const key = asked && JSON.stringify(asked);
  const [settled, setSettled] = useState<string>();
  useEffect(() => {
    const timer = setTimeout(() => setSettled(key), PAUSE);
    return () => clearTimeout(timer);
  }, [key]);
  const { value } = useLive(
    api.machines[':id'].suspects,
    settled === undefined || asked === undefined || taking
      ? undefined
      : { param: { id }, query: JSON.parse(settled) as Asked },
  );
  const last = useRef<SuspectsView>(undefined);
  if (asked === undefined) last.current = undefined;
  else if (value) last.current = value;
  return last.current;
}

/** Seconds that a table still takes at the pace so far; undefined before that can be said. */
export function useLeft({ state, done, total }: TableView): number | undefined {
  const start = useRef<{ at: number; done: number }>(undefined);
  if (state !== 'working' || done === 0) {
    start.current = undefined;
    return undefined;
  }
  start.current ??= { at: Date.now(), done };
  const seconds = (Date.now() - start.current.at) / 1000;
  const pace = (done - start.current.done) / seconds;
  return seconds > 2 && pace > 0 ? (total - done) / pace : undefined;
}
