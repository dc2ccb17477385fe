/**
 * Which reading to take next: the expected fall of the entropy of the suspects, in bits, a minute of effort.
 *
 * The reading's predicted density is a mixture, one Gaussian for each hypothesis still alive; the information about
 * which suspect is true is the mixture's mean log ratio, by Gauss-Hermite quadrature of each component.
 *
 * @source J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) 97-130: choosing a measurement by expected entropy
 */

export interface Component {
  /** Which suspect this component belongs to; components of one suspect count as one answer. */
  readonly group: number;
  readonly probability: number;
  readonly mean: number;
  readonly sigma: number;
}

/** Nodes and weights of Gauss-Hermite quadrature for exp(-x²), 9 points (Abramowitz & Stegun 25.10, from memory). */
const NODES = [0, 0.7235510187528376, 1.468553289216668, 2.266580584531843, 3.190993201781528];
const WEIGHTS = [
  0.720235215606051, 0.4326515590025558, 0.08847452739437657, 0.004943624275536947, 3.960697726326438e-5,
];

/**
 * Information in bits that a reading brings about the group, for a mixture of Gaussian components. Probabilities are
 * normalised to one here; the result lies between 0 and the entropy of the groups.
 */
export function informationBits(components: readonly Component[]): number {
  const merged = mergedComponents(components);
  if (merged.length < 2) return 0;
  let total = 0;
  for (const c of merged) total += c.probability;
  if (!(total > 0)) return 0;
  let bits = 0;
  const groups = new Map<number, number[]>();
  merged.forEach((c, i) => {
    for (const g of c.groups.keys()) {
      const list = groups.get(g);
      if (list) list.push(i);
      else groups.set(g, [i]);
    }
  });
  // I = H(mixture) - sum_g p_g H(mixture within g), both as means of -log density over the components.
  for (let i = 0; i < merged.length; i++) {
    const c = merged[i]!;
    for (let s = 0; s < 2 * NODES.length - 1; s++) {
      const k = s < NODES.length ? s : s - NODES.length + 1;
      const y = c.mean + (s < NODES.length ? 1 : -1) * Math.SQRT2 * c.sigma * NODES[k]!;
      let all = 0;
      const densities = DENSITIES;
      for (let j = 0; j < merged.length; j++) {
        const m = merged[j]!;
        const z = (y - m.mean) / m.sigma;
        const d = z * z > 80 ? 0 : Math.exp(-0.5 * z * z) / m.sigma;
        densities[j] = d;
        all += m.probability * d;
      }
      const weight = (WEIGHTS[k]! / SQRT_PI) * (1 / total);
      for (const [g, share] of c.groups) {
        let own = 0;
        let mass = 0;
        for (const j of groups.get(g)!) {
          const p = merged[j]!.groups.get(g)!;
          own += p * densities[j]!;
          mass += p;
        }
        bits += weight * share * Math.log2(own / mass / (all / total));
      }
    }
  }
  return Math.max(0, bits);
}

const DENSITIES = new Float64Array(4096);
const SQRT_PI = Math.sqrt(Math.PI);

interface Merged {
  mean: number;
  sigma: number;
  probability: number;
  groups: Map<number, number>;
}

/** Components whose means lie within a fifth of their spread are one: most hypotheses predict the sound reading. */
function mergedComponents(components: readonly Component[]): Merged[] {
  const sorted = components.filter((c) => c.probability > 0).sort((a, b) => a.mean - b.mean);
  const merged: Merged[] = [];
  for (const c of sorted) {
    const last = merged[merged.length - 1];
    if (
      last &&
      Math.abs(c.mean - last.mean) < 0.2 * Math.min(c.sigma, last.sigma) &&
      c.sigma < 1.25 * last.sigma &&
      last.sigma < 1.25 * c.sigma
    ) {
      const p = last.probability + c.probability;
      last.mean += ((c.mean - last.mean) * c.probability) / p;
      last.sigma += ((c.sigma - last.sigma) * c.probability) / p;
      last.probability = p;
      last.groups.set(c.group, (last.groups.get(c.group) ?? 0) + c.probability);
    } else
      merged.push({
        mean: c.mean,
        sigma: c.sigma,
        probability: c.probability,
        groups: new Map([[c.group, c.probability]]),
      });
  }
  return merged;
}

/** Entropy in bits of probabilities that need not add up to one. */
export function entropyBits(probabilities: readonly number[]): number {
  let total = 0;
  for (const p of probabilities) total += p;
  let bits = 0;
  for (const p of probabilities) if (p > 0) bits -= (p / total) * Math.log2(p / total);
  return bits;
}
