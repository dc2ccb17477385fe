/** Two captures laid on each other, and where each pair of their traces differs. */

import { useEffect, useState } from 'react';
import {
  type Alignment,
  COMMON_TRIGGER,
  type Comparison,
  type NoAlignment,
  type NoComparison,
  type StateDifference,
  type TimeMap,
} from '../../waveform/index.ts';
import { grownPyramid } from './grown-pyramid.ts';
import type { Loaded } from './lanes.ts';
import { type Reckoner, Stopped } from './reckoner.ts';
import type { Aligning } from './work.ts';

export interface LoadedPair {
  readonly reference: Loaded;
  readonly other: Loaded;
}

/** What was found between the traces of a pair. */
export type Between =
  | { readonly kind: 'trace'; readonly comparison: Comparison | NoComparison; readonly difference?: Loaded }
  | { readonly kind: 'logic'; readonly differences: readonly StateDifference[] };

export interface Twins {
  readonly alignment?: Alignment | NoAlignment;
  readonly map: TimeMap;
  /** By the key of the reference. */
  readonly between: ReadonlyMap<string, Between>;
  /** What is being computed. */
  readonly busy?: string;
  readonly problem?: string;
}

export interface Laying {
  readonly how: Aligning;
  /** Largest difference of the clocks, as a share. */
  readonly rate: number;
  /** Tolerances where they are given, volts and seconds. */
  readonly volts: number | undefined;
  readonly seconds: number | undefined;
}

const NOTHING: ReadonlyMap<string, Between> = new Map();

/** @param withTrace  the difference itself is wanted, to be drawn */
export function useTwins(
  reckoner: Reckoner,
  pairs: readonly LoadedPair[],
  leading: LoadedPair | undefined,
  laying: Laying,
  withTrace: boolean,
): Twins & { stop(): void } {
  const [alignment, setAlignment] = useState<Alignment | NoAlignment>();
  const [between, setBetween] = useState(NOTHING);
  const [busy, setBusy] = useState<string>();
  const [problem, setProblem] = useState<string>();
  const [stopper, setStopper] = useState<AbortController>();
  const { how, rate, volts, seconds } = laying;
  const lead = leading && `${leading.reference.key} ${leading.other.key}`;
  const keys = pairs.map(({ reference, other }) => `${reference.key} ${other.key}`).join(', ');
  const fail = (error: Error): void => {
    setBusy(undefined);
    setProblem(
      error instanceof Stopped
        ? 'Stopped. Choose anew how they are laid on each other to go on.'
        : error.message,
    );
  };

  // biome-ignore lint/correctness/useExhaustiveDependencies: the keys say which traces they are
  useEffect(() => {
    setAlignment(undefined);
    setBetween(NOTHING);
    setProblem(undefined);
    if (!leading) return undefined;
    const stop = new AbortController();
    let gone = false;
    setStopper(stop);
    setBusy('Laying them on each other');
    const [first, second] = [leading.reference.key, leading.other.key];
    reckoner
      .ask('alignment', { first, second, how, rate }, [first, second], { signal: stop.signal })
      .then((found) => {
        if (gone) return;
        setAlignment(found);
        setBusy(undefined);
      })
      .catch((error: Error) => gone || fail(error));
    return () => {
      gone = true;
      stop.abort();
    };
  }, [reckoner, lead, how, rate]);

  const map = alignment && 'map' in alignment ? alignment.map : COMMON_TRIGGER;
  const laid = alignment !== undefined && 'map' in alignment;
  // biome-ignore lint/correctness/useExhaustiveDependencies: as above
  useEffect(() => {
    if (!laid) return undefined;
    const stop = new AbortController();
    let gone = false;
    setStopper(stop);
    const compare = async (): Promise<void> => {
      const found = new Map<string, Between>();
      for (const pair of pairs) {
        setBusy(`Comparing ${pair.reference.title}`);
        found.set(
          pair.reference.key,
          await compared(reckoner, pair, map, { volts, seconds }, withTrace, stop.signal),
        );
        if (gone) return;
        setBetween(new Map(found));
      }
      setBusy(undefined);
    };
    compare().catch((error: Error) => gone || fail(error));
    return () => {
      gone = true;
      stop.abort();
    };
  }, [reckoner, keys, laid, map.offset, map.rate, volts, seconds, withTrace]);

  return {
    map,
    between,
    ...(alignment ? { alignment } : {}),
    ...(busy ? { busy } : {}),
    ...(problem ? { problem } : {}),
    stop: () => stopper?.abort(),
  };
}

async function compared(
  reckoner: Reckoner,
  { reference, other }: LoadedPair,
  map: TimeMap,
  tolerances: { readonly volts: number | undefined; readonly seconds: number | undefined },
  withTrace: boolean,
  signal: AbortSignal,
): Promise<Between> {
  const [first, second] = [reference.key, other.key];
  const keys = [first, second];
  if (reference.logic && other.logic) {
    const tolerance = tolerances.seconds ?? stateTolerance(reference);
    const differences = await reckoner.ask('states', { first, second, map, tolerance }, keys, { signal });
    return { kind: 'logic', differences };
  }
  const comparison = await reckoner.ask('comparison', { first, second, map, ...tolerances }, keys, {
    signal,
  });
  if (!withTrace) return { kind: 'trace', comparison };
  const trace = await reckoner.ask('difference', { first, second, map }, keys, { signal });
  const pyramid = await grownPyramid(trace, () => signal.aborted);
  if (!pyramid) throw new Stopped();
  const all = pyramid.columns(reference.extent.from, reference.extent.to, 1);
  const difference: Loaded = {
    ...reference,
    key: `${other.key} less ${reference.key}`,
    title: `${other.owner} less ${reference.owner}`,
    hollow: false,
    low: Math.min(0, all.min[0]!),
    high: Math.max(0, all.max[0]!),
    pyramid,
  };
  return { kind: 'trace', comparison, difference };
}

/** Edges of logic traces may differ by a twentieth of the usual state without being different. */
function stateTolerance({ logic, extent }: Loaded): number {
  return (0.05 * (extent.to - extent.from)) / Math.max(1, logic!.instants.length);
}
