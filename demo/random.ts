/** A seeded source of chance: the same seed gives the same unit for ever, on any machine. */
export class Chance {
  #state: number;

  /** @param words whatever shall give a stream of its own, such as the seed and a unit's name */
  constructor(...words: readonly (string | number)[]) {
    // FNV-1a over the words: every stream starts from a different place.
    let hash = 0x811c9dc5;
    for (const letter of words.join('\u0000')) hash = Math.imul(hash ^ letter.codePointAt(0)!, 0x01000193);
    this.#state = hash >>> 0;
  }

  /** Uniform in [0, 1): a Weyl sequence through a 32-bit mixing function. */
  uniform(): number {
    this.#state = (this.#state + 0x9e3779b9) >>> 0;
    let x = this.#state;
    x = Math.imul(x ^ (x >>> 16), 0x21f0aaad);
    x = Math.imul(x ^ (x >>> 15), 0x735a2d97);
    return ((x ^ (x >>> 15)) >>> 0) / 2 ** 32;
  }

  /** Normal with mean 0 and deviation 1, kept within `limit`: twelve uniforms less six, so that no library's logarithm matters. */
  normal(limit = 2.5): number {
    let sum = -6;
    for (let i = 0; i < 12; i++) sum += this.uniform();
    return Math.max(-limit, Math.min(limit, sum));
  }

  /** Scatters `value` by the factor exp(spread x normal). */
  scattered(value: number, spread: number, limit = 2.5): number {
    return value * Math.exp(spread * this.normal(limit));
  }
}
