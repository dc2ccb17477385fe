import { instantAt, type LogicTrace, type Trace } from '../waveform/index.ts';

/** Seconds of the first sample and of the last, or of the end of the last state; the step where there is one. */
export function timesOf(channel: Trace | LogicTrace): {
  readonly from: number;
  readonly to: number;
  readonly step: number | undefined;
} {
  if (!('values' in channel))
    return { from: channel.instants[0] ?? channel.end, to: channel.end, step: undefined };
  const { timebase, values } = channel;
  const step = 'stamps' in timebase ? undefined : timebase.step;
  return { from: instantAt(timebase, 0), to: instantAt(timebase, values.length - 1), step };
}
