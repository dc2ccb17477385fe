import { Pyramid, type Trace } from '../../waveform/index.ts';

/** Samples that are taken in between two frames of the screen: a few milliseconds. */
const SLICE = 400_000;

/** The pyramid of a trace, built so that the page goes on meanwhile. @throws never; undefined once `stopped` says so */
export async function grownPyramid(trace: Trace, stopped: () => boolean): Promise<Pyramid | undefined> {
  const upTo = (count: number): Trace => ({ ...trace, values: trace.values.subarray(0, count) });
  const pyramid = new Pyramid(upTo(Math.min(SLICE, trace.values.length)));
  for (let count = SLICE; count < trace.values.length; ) {
    await new Promise((next) => setTimeout(next));
    if (stopped()) return undefined;
    count = Math.min(count + SLICE, trace.values.length);
    pyramid.extend(upTo(count));
  }
  return pyramid;
}
