/** What is expected in a running state, asked for once and kept; given up when nobody looks any longer. */

import { useEffect, useMemo, useState } from 'react';
import type { MachineView, WavesView } from '../../server/index.ts';
import {
  type Alignment,
  COMMON_TRIGGER,
  mapped,
  type NoAlignment,
  type TimeMap,
} from '../../waveform/index.ts';
import { api, told } from '../live.ts';
import { type Expected, expectedOf, traceOf } from './expected.ts';
import type { Loaded } from './lanes.ts';
import { type Reckoner, Stopped } from './reckoner.ts';
import type { Aligning } from './work.ts';

export interface ExpectedWish {
  readonly state: string;
  readonly points: readonly string[];
  /** `PART:MODE`; empty for none. */
  readonly fault: string;
}

export interface ExpectedAnswer {
  readonly view?: WavesView;
  readonly byPoint: ReadonlyMap<string, Expected>;
  readonly busy: boolean;
  /** Why there is none. */
  readonly problem?: string;
}

const NONE: ReadonlyMap<string, Expected> = new Map();
const MOST_KEPT = 30;
const KEPT = new Map<string, WavesView>();

/** Nothing is asked while `wish` is undefined. */
export function useExpected(machine: MachineView, wish: ExpectedWish | undefined): ExpectedAnswer {
  const [, turn] = useState(0);
  const [problem, setProblem] = useState<{ readonly of: string; readonly words: string }>();
  const key = wish && JSON.stringify([machine.id, machine.revision, wish]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says all
  useEffect(() => {
    if (key === undefined || wish === undefined || KEPT.has(key)) return undefined;
    const stop = new AbortController();
    const { state, points, fault } = wish;
    const query = {
      state,
      ...(points.length > 0 ? { points: points.join(' ') } : {}),
      ...(fault === '' ? {} : { fault }),
    };
    const asked = api.machines[':id'].waves.$get(
      { param: { id: String(machine.id) }, query },
      { init: { signal: stop.signal } },
    );
    void told(asked).then((outcome) => {
      if (stop.signal.aborted) return;
      if (outcome.ok) {
        KEPT.set(key, outcome.value);
        for (const old of [...KEPT.keys()].slice(0, -MOST_KEPT)) KEPT.delete(old);
        turn((n) => n + 1);
      } else setProblem({ of: key, words: outcome.problem.message });
    });
    return () => stop.abort();
  }, [key]);
  const view = key === undefined ? undefined : KEPT.get(key);
  const byPoint = useMemo(() => (view ? expectedOf(view) : NONE), [view]);
  const words = view?.noAnswer || (problem && problem.of === key ? problem.words : '');
  return {
    byPoint,
    busy: key !== undefined && view === undefined && words === '',
    ...(view ? { view } : {}),
    ...(words ? { problem: words } : {}),
  };
}

/** Turns that a long capture is laid on. */
const MOST_TURNS = 40;
let laid = 0;

/**
 * How the expected waveforms lie under a capture: from the seconds of the picture to theirs.
 *
 * @param under  where a trace of the capture lies in the picture: from the picture's seconds to its own
 */
export function useExpectedMap(
  reckoner: Reckoner,
  byPoint: ReadonlyMap<string, Expected>,
  loaded: readonly Loaded[],
  under: TimeMap,
  how: Aligning,
): { readonly map: TimeMap; readonly found?: Alignment | NoAlignment } {
  const [found, setFound] = useState<Alignment | NoAlignment>();
  const [lead] = loaded
    .filter(({ point, pyramid }) => pyramid !== undefined && byPoint.has(point))
    .sort((p, q) => swing(byPoint.get(q.point)!) - swing(byPoint.get(p.point)!));
  const expected = lead && byPoint.get(lead.point);
  // Of a sound unit alone: a fault does not move what it is laid on.
  const key = expected && `${lead.key} ${expected.point} ${expected.volts.length} ${expected.volts.join()}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says which traces they are
  useEffect(() => {
    setFound(undefined);
    if (!lead || !expected) return undefined;
    const stop = new AbortController();
    const { sound, volts, point } = expected;
    const turns = 1 + Math.min(MOST_TURNS, (lead.extent.to - lead.extent.from) / (sound.to - sound.from));
    const second = `expected ${laid++}`;
    reckoner.keep(second, traceOf(sound, volts, point, turns));
    reckoner
      .ask('alignment', { first: lead.key, second, how, rate: 0 }, [lead.key, second], {
        signal: stop.signal,
      })
      .then((answer) => stop.signal.aborted || setFound(answer))
      .catch((error: Error) => {
        if (!(error instanceof Stopped)) throw error;
      });
    return () => stop.abort();
  }, [reckoner, key, how]);
  const own = found && 'map' in found ? found.map : COMMON_TRIGGER;
  const map = useMemo(
    () => ({ offset: mapped(own, under.offset), rate: own.rate * under.rate }),
    [own, under.offset, under.rate],
  );
  return { map, ...(found ? { found } : {}) };
}

function swing({ volts }: Expected): number {
  return Math.max(...volts) - Math.min(...volts);
}
