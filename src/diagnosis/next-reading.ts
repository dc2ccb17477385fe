/**
 * Which reading to take next: the expected fall of the entropy of the suspects, in bits, a minute of effort.
 *
 * The reading's predicted density is a mixture, one Gaussian for each hypothesis still alive; the information about
 * which suspect is true is the mean, over that density, of the log ratio of each suspect's probability after the reading
 * to that before. It is integrated along the voltage in panels that are as narrow as the narrowest Gaussian there: an
 * unknown fault may read anything between the rails while a sound point reads within millivolts.
 *
 * @source J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) 97-130: choosing a measurement by expected entropy
 */

export interface Component {
  /** Which suspect this component belongs to; components of one suspect count as one answer. */
  readonly group: number;
  readonly probability: number;
  readonly mean: number;
  /** Standard deviation, above zero. */
  readonly sigma: number;
}

/** Positive nodes and weights of Gauss-Legendre quadrature on [-1, 1], 6 points (Abramowitz & Stegun 25.4, from memory). */
const NODES = [0.2386191860831969, 0.6612093864662645, 0.9324695142031521];
const WEIGHTS = [0.467913934572691, 0.3607615730481386, 0.1713244923791704];
/** A Gaussian is taken as zero beyond so many sigma: 4e-8 of it is lost. */
const REACH = 5.5;

/**
 * Information in bits that a reading brings about the group, for a mixture of Gaussian components. Probabilities are
 * normalised to one here; the result lies between 0 and the entropy of the groups. Components within a
 * twentieth of a sigma of each other are taken as one, which costs less than 0.001 bit.
 */
export function informationBits(components: readonly Component[]): number {
  const { merged, masses } = mergedComponents(components);
  if (merged.length < 2) return 0;
  const own = new Float64Array(masses.length);
  const active: number[] = [];
  let next = 0;
  let y = merged[0]!.from;
  let bits = 0;
  while (next < merged.length || active.length > 0) {
    if (active.length === 0) y = Math.max(y, merged[next]!.from);
    while (next < merged.length && merged[next]!.from <= y) active.push(next++);
    let width = Infinity;
    for (const i of active) width = Math.min(width, merged[i]!.sigma);
    // Those that begin within the panel take part in it; a much narrower one ends it.
    for (let k = next; k < merged.length && merged[k]!.from < y + width; k++)
      width = Math.min(width, Math.max(merged[k]!.from - y, merged[k]!.sigma));
    const end = y + width;
    while (next < merged.length && merged[next]!.from < end) active.push(next++);
    for (let s = 0; s < 2 * NODES.length; s++) {
      const x = y + 0.5 * width * (1 + (s % 2 === 0 ? NODES[s >> 1]! : -NODES[s >> 1]!));
      let all = 0;
      for (const i of active) {
        const { mean, sigma, probability, shares } = merged[i]!;
        const z = (x - mean) / sigma;
        const density = Math.exp(-0.5 * z * z) / sigma;
        all += probability * density;
        for (let k = 0; k < shares.length; k += 2) own[shares[k]!]! += shares[k + 1]! * density;
      }
      let sum = 0;
      for (const i of active) {
        const { shares } = merged[i]!;
        for (let k = 0; k < shares.length; k += 2) {
          const group = shares[k]!;
          const density = own[group]!;
          if (density > LEAST_DENSITY) sum += density * Math.log2(density / (masses[group]! * all));
          own[group] = 0;
        }
      }
      bits += 0.5 * width * WEIGHTS[s >> 1]! * sum;
    }
    y = end;
    let kept = 0;
    for (const i of active) if (merged[i]!.to > y) active[kept++] = i;
    active.length = kept;
  }
  return Math.max(0, bits / SQRT_TWO_PI);
}

/** Smaller densities lose their digits, and are nothing. */
const LEAST_DENSITY = 1e-280;
const SQRT_TWO_PI = Math.sqrt(2 * Math.PI);

interface Merged {
  mean: number;
  sigma: number;
  probability: number;
  /** Where it is taken as zero. */
  from: number;
  to: number;
  /** Pairs of a group's number and the probability that this component gives it; a group may come twice. */
  readonly shares: number[];
}

/**
 * Components that no reading parts as one, in order of where they begin: most hypotheses predict the sound reading.
 * Groups that lie in one of them alone share one number: a reading cannot part them, and their terms add up to one.
 *
 * @returns the components, and the probability of each group's number
 */
function mergedComponents(components: readonly Component[]): { merged: Merged[]; masses: number[] } {
  const sorted = components.filter((c) => c.probability > 0).sort((a, b) => a.mean - b.mean);
  let total = 0;
  for (const c of sorted) total += c.probability;
  const merged: Merged[] = [];
  const place = new Int32Array(sorted.length);
  /** Where a group lies: one component, or SEVERAL. */
  const home = new Map<number, number>();
  sorted.forEach((c, i) => {
    const probability = c.probability / total;
    const last = merged[merged.length - 1];
    if (
      last &&
      Math.abs(c.mean - last.mean) < 0.05 * Math.min(c.sigma, last.sigma) &&
      c.sigma < 1.05 * last.sigma &&
      last.sigma < 1.05 * c.sigma
    ) {
      last.probability += probability;
      last.mean += ((c.mean - last.mean) * probability) / last.probability;
      last.sigma += ((c.sigma - last.sigma) * probability) / last.probability;
    } else merged.push({ mean: c.mean, sigma: c.sigma, probability, from: 0, to: 0, shares: [] });
    place[i] = merged.length - 1;
    const before = home.get(c.group);
    if (before === undefined) home.set(c.group, place[i]!);
    else if (before !== place[i]) home.set(c.group, SEVERAL);
  });
  const masses = merged.map(() => 0);
  const numbers = new Map<number, number>();
  sorted.forEach((c, i) => {
    let number = home.get(c.group)!;
    if (number === SEVERAL) {
      number = numbers.get(c.group) ?? masses.push(0) - 1;
      numbers.set(c.group, number);
      merged[place[i]!]!.shares.push(number, c.probability / total);
    }
    masses[number]! += c.probability / total;
  });
  merged.forEach((m, i) => {
    m.from = m.mean - REACH * m.sigma;
    m.to = m.mean + REACH * m.sigma;
    if (masses[i]! > 0) m.shares.push(i, masses[i]!);
  });
  return { merged: merged.sort((a, b) => a.from - b.from), masses };
}
const SEVERAL = -1;

/** Entropy in bits of probabilities that need not add up to one. */
export function entropyBits(probabilities: readonly number[]): number {
  let total = 0;
  for (const p of probabilities) total += p;
  let bits = 0;
  for (const p of probabilities) if (p > 0) bits -= (p / total) * Math.log2(p / total);
  return bits;
}
