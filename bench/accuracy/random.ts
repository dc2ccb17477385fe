/** A seeded source of chance: every draw of the trials comes from one of these, so that a run can be repeated. */
export interface Chance {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
  /** Integer in [0, n). */
  below(n: number): number;
  /** One of the items, all alike. */
  pick<T>(items: readonly T[]): T;
  /** Log-uniform between two positive bounds. */
  logUniform(low: number, high: number): number;
  /** A source of its own, whose draws do not depend on how many were taken here. */
  fork(label: string): Chance;
}

/** 32-bit mix of a text, for seeds from names (FNV-1a with a final avalanche). */
export function seedOf(text: string): number {
  let h = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
  h ^= h >>> 16;
  h = Math.imul(h, 0x85ebca6b);
  h ^= h >>> 13;
  h = Math.imul(h, 0xc2b2ae35);
  return (h ^ (h >>> 16)) >>> 0;
}

/** The generator of a seed: a 32-bit counter with a multiplicative mix, ample for some millions of draws. */
export function chance(seed: string): Chance {
  let state = seedOf(seed);
  let spare: number | undefined;
  const uniform = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const normal = () => {
    if (spare !== undefined) {
      const value = spare;
      spare = undefined;
      return value;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
  const below = (n: number) => Math.floor(uniform() * n);
  return {
    uniform,
    normal,
    below,
    pick: (items) => items[below(items.length)]!,
    logUniform: (low, high) => low * (high / low) ** uniform(),
    fork: (label) => chance(`${seed}/${label}`),
  };
}

/** An index drawn in proportion to weights that need not add to one. */
export function drawn(weights: readonly number[], source: Chance): number {
  let left = source.uniform() * weights.reduce((a, b) => a + b, 0);
  for (let i = 0; i < weights.length; i++) {
    left -= weights[i]!;
    if (left < 0) return i;
  }
  return weights.length - 1;
}
