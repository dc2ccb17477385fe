import type { Context } from 'hono';
import { type CaptureSamples, statesOf } from '../records/index.ts';

/** Instants or states written at a time. */
const AT_ONCE = 16_384;

/**
 * A channel's samples: of a trace octets, single-precision values with the least significant byte first, where each sample has its
 * own instant behind as many double-precision instants; of a logic channel JSON. Sent piece by piece, as fast as it is taken.
 */
export function samplesAnswer(c: Context, { channel, size, pieces }: CaptureSamples): Response {
  const { kind, start, step, samples } = channel;
  if (kind === 'logic') {
    const text = logicText(channel, size, pieces);
    return c.body(streamOf(text), 200, { 'content-type': 'application/json' });
  }
  return c.body(streamOf(pieces), 200, {
    'content-type': 'application/octet-stream',
    'content-length': String(size),
    'content-disposition': 'attachment; filename="samples.bin"',
    'x-samples': String(samples),
    'x-start': String(start),
    ...(step === null ? { 'x-stamped': '1' } : { 'x-step': String(step) }),
  });
}

/** `{ "width": …, "end": …, "instants": […], "states": […] }` */
function* logicText(
  { width, samples, end }: CaptureSamples['channel'],
  size: number,
  pieces: Iterable<Uint8Array>,
): Generator<Uint8Array> {
  const bytes = new Uint8Array(size);
  let at = 0;
  for (const piece of pieces) {
    bytes.set(piece, at);
    at += piece.length;
  }
  const instants = new Float64Array(bytes.buffer, 0, samples);
  yield encoded(`{"width":${width},"end":${end},"instants":`);
  yield* listText(instants);
  yield encoded(',"states":');
  yield* listText(statesOf(bytes.subarray(8 * samples), width));
  yield encoded('}');
}

function* listText(items: Iterable<number | string>): Generator<Uint8Array> {
  yield encoded('[');
  let first = true;
  let some: (number | string)[] = [];
  const list = (): Uint8Array => {
    const text = JSON.stringify(some).slice(1, -1);
    some = [];
    return encoded(`${first ? '' : ','}${text}`);
  };
  for (const item of items) {
    some.push(item);
    if (some.length < AT_ONCE) continue;
    yield list();
    first = false;
  }
  if (some.length > 0) yield list();
  yield encoded(']');
}

function encoded(text: string): Uint8Array {
  return new TextEncoder().encode(text);
}

function streamOf(pieces: Iterable<Uint8Array>): ReadableStream<Uint8Array<ArrayBuffer>> {
  const iterator = pieces[Symbol.iterator]();
  return new ReadableStream({
    pull(controller) {
      const { done, value } = iterator.next();
      if (done) controller.close();
      else controller.enqueue(value as Uint8Array<ArrayBuffer>);
    },
    cancel() {
      iterator.return?.();
    },
  });
}
