import { promisify } from 'node:util';
import { deflateRaw, inflateRawSync } from 'node:zlib';

/** Bytes of a piece before it is packed: a tenth of a hundredth of a second to unpack, and far below what the store can hold. */
const PIECE_BYTES = 1 << 20;
/** Packed ones that are no smaller than this share are kept as they are: they are given back sooner. */
const WORTH = 0.9;
/** Quick rather than small: a long file is packed while it is read. */
const LEVEL = 1;

const deflated = promisify(deflateRaw);

export interface Piece {
  readonly packed: 0 | 1;
  readonly bytes: Uint8Array;
}

/** Gathers bytes into pieces and packs each beside the work that goes on; what it is given may be overwritten afterwards. */
export class PiecePacker {
  readonly #pieces: Piece[] = [];
  #open = new Uint8Array(PIECE_BYTES);
  #filled = 0;
  #packing: Promise<void> = Promise.resolve();
  /** Bytes taken. */
  size = 0;

  async add(bytes: Uint8Array): Promise<void> {
    this.size += bytes.length;
    for (let at = 0; at < bytes.length; ) {
      const taken = bytes.subarray(at, at + PIECE_BYTES - this.#filled);
      this.#open.set(taken, this.#filled);
      this.#filled += taken.length;
      at += taken.length;
      if (this.#filled === PIECE_BYTES) await this.#pack();
    }
  }

  /** After the last bytes, once. */
  async end(): Promise<readonly Piece[]> {
    if (this.#filled > 0) await this.#pack();
    await this.#packing;
    return this.#pieces;
  }

  /** Begins with the piece that is full, once the one before is done. */
  async #pack(): Promise<void> {
    const bytes = this.#open.subarray(0, this.#filled);
    await this.#packing;
    this.#packing = packed(bytes).then((piece) => {
      this.#pieces.push(piece);
    });
    this.#open = new Uint8Array(PIECE_BYTES);
    this.#filled = 0;
  }
}

async function packed(bytes: Uint8Array): Promise<Piece> {
  const small = await deflated(bytes, { level: LEVEL });
  return small.length < WORTH * bytes.length ? { packed: 1, bytes: small } : { packed: 0, bytes };
}

export function unpacked({ packed, bytes }: Piece): Uint8Array {
  return packed === 1 ? inflateRawSync(bytes) : bytes;
}
