import type { Context } from 'hono';
import { Refused } from './refused.ts';

export const MEGABYTE = 1024 * 1024;

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
