import type { Context, MiddlewareHandler } from 'hono';
import { takesUpload, WRITES } from './guard.ts';
import { Refused } from './refused.ts';

export const MEGABYTE = 1024 * 1024;

/** Reads the body of a write that is no upload, up to a megabyte, so that whoever asks for it later gets no more than that. */
export const limitedBody: MiddlewareHandler = async (c, next) => {
  if (WRITES.includes(c.req.method) && !takesUpload(c)) {
    const bytes = await bodyBytes(c, MEGABYTE);
    try {
      const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
      // As a promise, whatever its type says: that is how the request keeps what it has read.
      Object.assign(c.req.bodyCache, { text: Promise.resolve(text) });
    } catch {
      throw new Refused(400, 'bad-request', 'the body is not UTF-8');
    }
  }
  await next();
};

/**
 * The body of a request in pieces as they come, and no further than it may be long. Whoever stops taking them early is let go at once
 * where the rest is longer than that; else it is passed over first, since a browser that is still sending hears no answer.
 *
 * @throws Refused  413 when it is longer, 400 when it is cut off
 */
export function bodyPieces(c: Context, most: number): AsyncIterable<Uint8Array> {
  if (Number(c.req.header('content-length') ?? 0) > most) throw tooLarge(most);
  return pieces(c.req.raw.body, most);
}

async function* pieces(
  body: ReadableStream<Uint8Array> | null,
  most: number,
): AsyncGenerator<Uint8Array, void, void> {
  const reader = body?.getReader();
  if (reader === undefined) return;
  let length = 0;
  const next = async (): Promise<Uint8Array | undefined> => {
    const { done, value } = await reader.read().catch(() => {
      throw new Refused(400, 'cut-off', 'the file did not come to its end');
    });
    length += value?.length ?? 0;
    if (length > most) throw tooLarge(most);
    return done ? undefined : value;
  };
  let ended = false;
  try {
    for (;;) {
      const piece = await next().catch((error: unknown) => {
        ended = true;
        throw error;
      });
      ended = piece === undefined;
      if (piece === undefined) return;
      yield piece;
    }
  } finally {
    while (!ended) ended = (await next().catch(() => undefined)) === undefined;
    await reader.cancel().catch(() => {});
  }
}

/**
 * The body of a request, read no further than it may be long, whatever its headers claim.
 *
 * @throws Refused  413 when it is longer
 */
export async function bodyBytes(c: Context, most: number): Promise<Uint8Array<ArrayBuffer>> {
  if (Number(c.req.header('content-length') ?? 0) > most) throw tooLarge(most);
  const reader = c.req.raw.body?.getReader();
  if (reader === undefined) return new Uint8Array();
  const chunks: Uint8Array[] = [];
  let length = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    length += value.length;
    if (length > most) {
      await reader.cancel();
      throw tooLarge(most);
    }
    chunks.push(value);
  }
  const bytes = new Uint8Array(length);
  let at = 0;
  for (const chunk of chunks) {
    bytes.set(chunk, at);
    at += chunk.length;
  }
  return bytes;
}

function tooLarge(most: number): Refused {
  return new Refused(413, 'too-large', `more than ${most / MEGABYTE} MB`);
}
