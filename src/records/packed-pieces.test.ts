import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { PiecePacker, unpacked } from './packed-pieces.ts';

/** Bytes that no packing makes smaller. */
function noise(length: number): Uint8Array {
  const blocks = Array.from({ length: Math.ceil(length / 32) }, (_, i) =>
    createHash('sha256').update(String(i)).digest(),
  );
  return new Uint8Array(Buffer.concat(blocks).subarray(0, length));
}

async function packed(pieces: readonly Uint8Array[]) {
  const packer = new PiecePacker();
  for (const piece of pieces) {
    const lent = piece.slice();
    await packer.add(lent);
    lent.fill(0);
  }
  return { kept: await packer.end(), size: packer.size };
}

describe('bytes in packed pieces', () => {
  it('come out as they went in, however they were cut', async () => {
    const bytes = noise(2_500_000);
    bytes.fill(7, 1_000_000, 2_200_000);
    await fc.assert(
      fc.asyncProperty(fc.array(fc.nat(bytes.length), { maxLength: 6 }), async (cuts) => {
        const ends = [0, ...cuts.sort((a, b) => a - b), bytes.length];
        const { kept, size } = await packed(ends.slice(1).map((end, i) => bytes.subarray(ends[i], end)));
        expect(size).toBe(bytes.length);
        expect(Buffer.concat(kept.map(unpacked)).equals(bytes)).toBe(true);
      }),
      { numRuns: 15 },
    );
  });

  it('are packed where that makes them smaller, and kept as they are where it does not', async () => {
    const { kept } = await packed([noise(1 << 20), new Uint8Array(1 << 20), noise(5)]);
    expect(kept.map((piece) => [piece.packed, piece.bytes.length < 10_000])).toEqual([
      [0, false],
      [1, true],
      [0, true],
    ]);
  });

  it('may be none', async () => {
    expect(await packed([])).toEqual({ kept: [], size: 0 });
  });
});
