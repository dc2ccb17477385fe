/** Samples of the chosen channels of a capture, fetched by the worker, with a pyramid each to be drawn from. */

import { useEffect, useState } from 'react';
import type { CaptureChannel, CaptureEntry } from '../../server/index.ts';
import { instantAt } from '../../waveform/index.ts';
import { samplesUrl } from './captures-api.ts';
import { grownPyramid } from './grown-pyramid.ts';
import type { Loaded } from './lanes.ts';
import { type Reckoner, Stopped } from './reckoner.ts';
import { type AnyTrace, isLogic } from './work.ts';

export interface Traces {
  readonly loaded: readonly Loaded[];
  /** Share of the samples that have come, while they come. */
  readonly coming?: { readonly words: string; readonly share: number };
  readonly problem?: string;
  /** A person will not wait for them. */
  readonly stop?: () => void;
}

const NONE: Traces = { loaded: [] };

export function useTraces(
  reckoner: Reckoner,
  machine: string,
  entry: CaptureEntry | undefined,
  channels: readonly number[],
  role: { readonly second: boolean; readonly hollow: boolean },
): Traces {
  const [traces, setTraces] = useState<Traces>(NONE);
  const { second, hollow } = role;
  const wanted = channels.join(' ');
  const points = entry?.channels.map(({ point }) => point).join('\n');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the entry is a new object with each answer; its id and points say all
  useEffect(() => {
    const stop = new AbortController();
    let gone = false;
    if (entry === undefined) {
      setTraces(NONE);
      return undefined;
    }
    const load = async (): Promise<void> => {
      const loaded: Loaded[] = [];
      for (const index of channels) {
        const channel = entry.channels.find((one) => one.index === index);
        if (!channel) continue;
        const words = channel.point || channel.name || entry.file;
        const say = (share: number): void =>
          setTraces({ loaded: [...loaded], coming: { words, share }, stop: () => stop.abort() });
        const { name, unit } = channel;
        const key = `${entry.id}/${index}`;
        const url = samplesUrl(machine, entry.id, index);
        let last = 0;
        const progress = (done: number, total: number): void => {
          if (performance.now() - last < 60) return;
          last = performance.now();
          say(done / total);
        };
        const trace = await reckoner.samples({ url, key, name, unit }, { signal: stop.signal, progress });
        const one = await drawable(trace, entry, channel, { key, second, hollow }, () => stop.signal.aborted);
        if (!one || stop.signal.aborted) return;
        loaded.push(one);
      }
      setTraces({ loaded });
    };
    load().catch((error: Error) => {
      if (gone) return;
      const problem = error instanceof Stopped ? 'Stopped before all samples had come.' : error.message;
      setTraces((before) => ({ loaded: before.loaded, problem }));
    });
    return () => {
      gone = true;
      stop.abort();
    };
  }, [reckoner, machine, entry?.id, wanted, points, second, hollow]);
  return traces;
}

async function drawable(
  trace: AnyTrace,
  entry: CaptureEntry,
  channel: CaptureChannel,
  role: { readonly key: string; readonly second: boolean; readonly hollow: boolean },
  stopped: () => boolean,
): Promise<Loaded | undefined> {
  const title = channel.point || channel.name || `channel ${channel.index + 1}`;
  const common = {
    ...role,
    title,
    point: channel.point,
    unit: channel.unit,
    owner: entry.unit || entry.file,
  };
  if (isLogic(trace)) {
    const extent = { from: trace.instants[0] ?? 0, to: trace.end };
    return { ...common, low: 0, high: 1, extent, logic: trace };
  }
  const pyramid = await grownPyramid(trace, stopped);
  const last = trace.values.length - 1;
  const extent = { from: instantAt(trace.timebase, 0), to: instantAt(trace.timebase, last) };
  if (!pyramid) return undefined;
  const all = extent.from < extent.to ? pyramid.columns(extent.from, extent.to, 1) : undefined;
  return { ...common, low: all?.min[0] ?? Number.NaN, high: all?.max[0] ?? Number.NaN, extent, pyramid };
}
