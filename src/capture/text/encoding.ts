/** How the letters of a text file are written, and UTF-16 turned into UTF-8 piece by piece. */

export type TextEncodingName = 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';

/**
 * The encoding of a text by its first bytes, or `undefined` where they are no text: the byte order mark, else zeros in every other
 * place, else UTF-8 where it is sound, else the Western single-byte code. A NUL or control byte is no text.
 *
 * @param head  may end in the middle of a letter
 */
export function encodingOf(head: Uint8Array): TextEncodingName | undefined {
  if (head[0] === 0xff && head[1] === 0xfe) return 'utf-16le';
  if (head[0] === 0xfe && head[1] === 0xff) return 'utf-16be';
  const zeros = [0, 0];
  for (let i = 0; i < head.length; i++) if (head[i] === 0) zeros[i & 1]! += 1;
  const enough = head.length * 0.4;
  // Headings and numbers are ASCII but for a letter here and there: one byte of each pair is zero.
  if (zeros[1]! > enough && zeros[0] === 0) return 'utf-16le';
  if (zeros[0]! > enough && zeros[1] === 0) return 'utf-16be';
  if (controlByte(head) >= 0) return undefined;
  try {
    new TextDecoder('utf-8', { fatal: true }).decode(head, { stream: true });
    return 'utf-8';
  } catch {
    return 'windows-1252';
  }
}

/** Position of the first byte that no text file holds (control characters but tab and line ends), or -1. */
export function controlByte(bytes: Uint8Array, from = 0, to = bytes.length): number {
  for (let i = from; i < to; i++) {
    const byte = bytes[i]!;
    if (byte < 32 && byte !== 10 && byte !== 13 && byte !== 9) return i;
  }
  return -1;
}

/** Bytes of any encoding as those of UTF-8, in pieces as they come; all but UTF-16 pass as they are. */
export class Utf8Pieces {
  readonly #decoder: InstanceType<typeof TextDecoder> | undefined;
  readonly #encoder = new TextEncoder();

  constructor(encoding: TextEncodingName) {
    const wide = encoding === 'utf-16le' || encoding === 'utf-16be';
    this.#decoder = wide ? new TextDecoder(encoding) : undefined;
  }

  /** The next piece. Where nothing is to be changed it is the piece given. */
  piece(bytes: Uint8Array): Uint8Array {
    if (this.#decoder === undefined) return bytes;
    return this.#encoder.encode(this.#decoder.decode(bytes, { stream: true }));
  }
}
