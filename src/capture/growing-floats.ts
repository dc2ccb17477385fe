/** Numbers whose count is not known beforehand, in blocks that double up to a quarter of a million: no copy but the last. */

const FIRST_BLOCK = 64;
const LARGEST_BLOCK = 1 << 18;

type Floats = Float32Array<ArrayBuffer> | Float64Array<ArrayBuffer>;

export class GrowingFloats<A extends Floats> {
  readonly #make: (length: number) => A;
  #full: A[] = [];
  #block: A;
  #used = 0;
  #before = 0;

  /** @param make  a new array of the given length: `(n) => new Float32Array(n)` */
  constructor(make: (length: number) => A) {
    this.#make = make;
    this.#block = make(FIRST_BLOCK);
  }

  get length(): number {
    return this.#before + this.#used;
  }

  add(value: number): void {
    if (this.#used === this.#block.length) {
      this.#full.push(this.#block);
      this.#before += this.#used;
      this.#block = this.#make(Math.min(2 * this.#used, LARGEST_BLOCK));
      this.#used = 0;
    }
    this.#block[this.#used++] = value;
  }

  /** All values in one array, once: the blocks are given up as they are copied. */
  taken(): A {
    const all = this.#make(this.length);
    let at = 0;
    for (const block of this.#full) {
      all.set(block, at);
      at += block.length;
    }
    this.#full = [];
    all.set(this.#block.subarray(0, this.#used), at);
    return all;
  }
}

export function growingSingles(): GrowingFloats<Float32Array<ArrayBuffer>> {
  return new GrowingFloats((length) => new Float32Array(length));
}

export function growingDoubles(): GrowingFloats<Float64Array<ArrayBuffer>> {
  return new GrowingFloats((length) => new Float64Array(length));
}
