/** Which point is asked for, through typing, choosing by hand and rankings that come late. */

import { useEffect, useState } from 'react';
import type { BenchRow, MachineView, SuspectsView } from '../../server/index.ts';
import { type Target, targetOf } from './target.ts';
import type { Visit } from './visit.ts';

export interface Asking {
  readonly machine: MachineView;
  /** That the machine is in. */
  readonly state: string;
  readonly rows: readonly BenchRow[];
  readonly answer: SuspectsView | undefined;
  readonly visit: Visit;
  /** The point that a link led to. */
  readonly begin: string | undefined;
  /** Something stands in the field. */
  readonly typing: boolean;
}

export interface AskedFor {
  /** `undefined` only where the machine has no point. */
  readonly target: Target | undefined;
  /** A reading was taken, and the ranking that names the next point is waited for: nothing is taken until then. */
  readonly blocked: boolean;
  /** The field was written in, or emptied: nothing moves under a value. */
  hold(typing: boolean): void;
  choose(point: string): void;
  /** The state was chosen by hand: it is read in before another one is asked for. */
  stayInState(): void;
  /** On to the next best, without a reading. */
  nextBest(): void;
  /** Back to what is asked for, from what was chosen. */
  moveOn(): void;
  /** As `moveOn`, and from the state that was chosen. */
  home(): void;
  took(revision: number, point: string): void;
  tookBack(point: string): void;
}

/** A reading was taken, and the ranking that knows of it may not be here yet. */
interface Pending {
  readonly revision: number;
  /** The point that was read. */
  readonly read: string;
  /** Nobody waits for the ranking any more: the next point was named without it, or chosen by hand, or the state was. */
  readonly moved: boolean;
}

/** Milliseconds that a new ranking is waited for after a reading. */
const PATIENCE = 600;

export function useAsked({ machine, state, rows, answer, visit, begin, typing }: Asking): AskedFor {
  const [chosen, setChosen] = useState(begin);
  const [steps, setSteps] = useState(0);
  const [stay, setStay] = useState(false);
  const [held, setHeld] = useState<Target>();
  const [pending, setPending] = useState<Pending>();
  const { unreachable } = visit;
  const taken = new Set(visit.taken.map((one) => one.point));
  const netOf = (name: string) => machine.points.find((one) => one.point === name)?.net ?? name;
  const next = answer?.next ?? [];
  const between = pending !== undefined && answer !== undefined && answer.revision < pending.revision;
  const blocked = between && !pending.moved;
  // An old ranking may still ask for what has just been read.
  const left = between ? next.filter((one) => netOf(one.point) !== netOf(pending.read)) : next;
  const proposed = targetOf({ machine, state, rows, next: left, unreachable, taken, stay, chosen, steps });
  const target = held ? { ...held, change: held.state !== state } : proposed;

  // biome-ignore lint/correctness/useExhaustiveDependencies: it is about one reading, once, in the state that the machine is in
  useEffect(() => {
    if (pending === undefined) return undefined;
    if (!between) {
      setPending(undefined);
      if (!pending.moved) setHeld(typing ? proposed : undefined);
      return undefined;
    }
    if (pending.moved || left.length === 0) return undefined;
    // The new ranking names the next point. Where it takes long, the second best of the old one is as good, and then stays.
    const timer = setTimeout(() => {
      setHeld(proposed);
      setPending({ ...pending, moved: true });
    }, PATIENCE);
    return () => clearTimeout(timer);
  }, [pending, between, state]);

  const waitNoLonger = () => setPending((one) => one && { ...one, moved: true });
  const moveOn = () => {
    setHeld(undefined);
    setChosen(undefined);
    setSteps(0);
  };
  return {
    target,
    blocked,
    hold: (now) => {
      if (!blocked) setHeld(now ? target : undefined);
    },
    choose: (point) => {
      setChosen(point);
      setHeld(undefined);
      waitNoLonger();
    },
    stayInState: () => {
      setHeld(undefined);
      waitNoLonger();
      setStay(true);
    },
    nextBest: () => {
      setHeld(undefined);
      setChosen(undefined);
      setSteps(chosen === undefined ? steps + 1 : 0);
    },
    moveOn,
    home: () => {
      waitNoLonger();
      setStay(false);
      moveOn();
    },
    took: (revision, read) => {
      moveOn();
      setStay(false);
      setPending({ revision, read, moved: false });
      // Nothing moves before the ranking says where to.
      setHeld(target);
    },
    tookBack: (point) => {
      setPending(undefined);
      setHeld(undefined);
      setChosen(point);
    },
  };
}
