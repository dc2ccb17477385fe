/**
 * Components known by their function alone: which of them must have failed, how probable each set is, and what a probe of a
 * net would tell.
 *
 * A component that works gives its outputs from its inputs; one that has failed may do anything, and need not repeat itself
 * from one case to the next. A diagnosis is a set of components such that, if they have failed and all others work,
 * every case is possible; whatever contains a diagnosis is one too, so the smallest ones say everything.
 *
 * @source R. Reiter, Artificial Intelligence 32 (1987) 57-95: diagnoses as hitting sets of conflicts
 * @source J. de Kleer, B. C. Williams, Artificial Intelligence 32 (1987) 97-130: their probabilities, and the next probe
 */
import { entropyBits } from './next-reading.ts';

export interface BlackBox {
  readonly name: string;
  readonly inputs: readonly string[];
  readonly output: string;
  /** What it puts out when it works. */
  readonly value: (inputs: readonly number[]) => number;
  /**
   * The one value of input number `wanted` (its entry in `inputs` means nothing) that gives `output`: undefined when there
   * is more than one, NaN when there is none. Needed where nets take any number; listed values are tried instead.
   */
  readonly inputFrom?: (output: number, inputs: readonly number[], wanted: number) => number | undefined;
  /** Probability of having failed before anything was observed, above 0 and below 1, independent of the others. */
  readonly failure: number;
}

/** Values seen on nets in one case; what is known of the others follows from the components. */
export type Observations = Readonly<Record<string, number>>;

export interface BlackBoxDiagnosis {
  /** Names of the components that have failed, in the order of the network. */
  readonly failed: readonly string[];
  /** Among the minimal diagnoses alone, each with all other components working; these add up to one. */
  readonly probability: number;
  /** Exactly these have failed, among all diagnoses. */
  readonly amongAll: number;
}

export interface BlackBoxReckoning {
  /** The minimal diagnoses, most probable first; a single one with nothing failed when all may be well. */
  readonly diagnoses: readonly BlackBoxDiagnosis[];
  /** Minimal sets of components that cannot all be working, as far as the search met them. */
  readonly conflicts: readonly (readonly string[])[];
  /** Probability of each component having failed, over all diagnoses. */
  readonly failed: ReadonlyMap<string, number>;
}

/**
 * A network of components and what was seen of it in one or more cases.
 *
 * With `values` (0 and 1, for bits) nets take these only and every consequence is found, by trying. Without, nets take any
 * number, and what follows from one component at a time is found: forwards, and backwards where it says how.
 * Made for some dozens of components with few inputs each: minimal diagnoses may be many.
 */
export class BlackBoxNetwork {
  private readonly boxes: readonly BlackBox[];
  private readonly cases: readonly Observations[];
  private readonly values: readonly number[] | undefined;
  private found: BlackBoxReckoning | undefined;

  /** @throws RangeError when two components share a name or an output, or a failure probability is not between 0 and 1 */
  constructor(boxes: readonly BlackBox[], cases: readonly Observations[], values?: readonly number[]) {
    for (const key of ['name', 'output'] as const) {
      const seen = new Set<string>();
      for (const b of boxes) {
        if (seen.has(b[key])) throw new RangeError(`two components with the ${key} ${b[key]}`);
        seen.add(b[key]);
      }
    }
    for (const b of boxes)
      if (!(b.failure > 0 && b.failure < 1))
        throw new RangeError(`failure probability of ${b.name}: ${b.failure}, not between 0 and 1`);
    this.boxes = boxes;
    this.cases = cases;
    this.values = values;
  }

  /** Minimal diagnoses with their probabilities. */
  reckoning(): BlackBoxReckoning {
    if (this.found) return this.found;
    const { sets, conflicts } = this.minimal();
    const prior = (set: ReadonlySet<number>): number =>
      this.boxes.reduce((p, b, i) => p * (set.has(i) ? b.failure : 1 - b.failure), 1);
    const priors = sets.map((s) => prior(new Set(s)));
    const alone = priors.reduce((a, b) => a + b, 0);
    const all = this.anyFailed(sets);
    const diagnoses = sets
      .map((set, i) => ({
        failed: set.map((k) => this.boxes[k]!.name),
        probability: priors[i]! / alone,
        amongAll: priors[i]! / all,
      }))
      .sort((a, b) => b.probability - a.probability);
    const failed = this.boxes.map((b, i): [string, number] => [
      b.name,
      (b.failure * this.anyFailed(minimalOf(sets.map((s) => s.filter((k) => k !== i))))) / all,
    ]);
    this.found = {
      diagnoses,
      conflicts: conflicts.map((c) => c.map((k) => this.boxes[k]!.name)),
      failed: new Map(failed),
    };
    return this.found;
  }

  /**
   * What a probe of `net` in case number `at` would show under each minimal diagnosis, and the information in bits that it
   * brings about which of them is true. Where a diagnosis says nothing of the net, each listed value is as likely; without a
   * list it is then taken to read what no other diagnosis predicts.
   */
  probe(net: string, at = 0): { bits: number; predicted: readonly (number | undefined)[] } {
    const { diagnoses } = this.reckoning();
    const index = new Map(this.boxes.map((b, i) => [b.name, i]));
    const predicted = diagnoses.map((d) =>
      this.predicted(new Set(d.failed.map((name) => index.get(name)!)), this.cases[at]!, net),
    );
    const shares = new Map<number | undefined, number>();
    const add = (value: number | undefined, p: number): void => {
      const known = [...shares.keys()].find((v) => v !== undefined && value !== undefined && same(v, value));
      shares.set(known ?? value, (shares.get(known ?? value) ?? 0) + p);
    };
    let left = 0;
    diagnoses.forEach((d, i) => {
      const value = predicted[i];
      if (value !== undefined || !this.values) add(value, d.probability);
      else {
        for (const v of this.values) add(v, d.probability / this.values.length);
        left += d.probability * Math.log2(this.values.length);
      }
    });
    return { bits: Math.max(0, entropyBits([...shares.values()]) - left), predicted };
  }

  /** Breadth first through the hitting sets of conflicts: the smaller sets come first, so what is found is minimal. */
  private minimal(): { sets: number[][]; conflicts: number[][] } {
    const sets: number[][] = [];
    const conflicts: number[][] = [];
    const seen = new Set<string>();
    let level: number[][] = [[]];
    while (level.length > 0) {
      const next: number[][] = [];
      for (const set of level) {
        if (sets.some((s) => s.every((k) => set.includes(k)))) continue;
        let conflict = conflicts.find((c) => !c.some((k) => set.includes(k)));
        if (!conflict) {
          conflict = this.conflict(new Set(set));
          if (!conflict) {
            sets.push(set);
            continue;
          }
          conflicts.push(conflict);
        }
        for (const k of conflict) {
          const larger = [...set, k].sort((a, b) => a - b);
          const key = larger.join(' ');
          if (seen.has(key)) continue;
          seen.add(key);
          next.push(larger);
        }
      }
      level = next;
    }
    return { sets, conflicts };
  }

  /** A minimal set of components outside `failed` that cannot all be working; undefined when they can. */
  private conflict(failed: ReadonlySet<number>): number[] | undefined {
    const at = this.cases.find((c) => !this.possible(failed, c));
    if (!at) return undefined;
    const out = new Set(failed);
    this.boxes.forEach((_, i) => {
      if (out.has(i)) return;
      out.add(i);
      if (this.possible(out, at)) out.delete(i);
    });
    return this.boxes.map((_, i) => i).filter((i) => !out.has(i));
  }

  private possible(failed: ReadonlySet<number>, at: Observations): boolean {
    return this.consistent(this.working(failed), new Map(Object.entries(at)));
  }

  private working(failed: ReadonlySet<number>): BlackBox[] {
    return this.boxes.filter((_, i) => !failed.has(i));
  }

  /** What `net` must read; undefined when it may read several things. */
  private predicted(failed: ReadonlySet<number>, at: Observations, net: string): number | undefined {
    const working = this.working(failed);
    const known = new Map(Object.entries(at));
    if (!this.propagate(working, known)) return undefined;
    const value = known.get(net);
    if (value !== undefined || !this.values) return value;
    const left = this.values.filter((v) => this.consistent(working, new Map(known).set(net, v)));
    return left.length === 1 ? left[0] : undefined;
  }

  /** True when the working components allow what is known. Changes `known`. */
  private consistent(working: readonly BlackBox[], known: Map<string, number>): boolean {
    if (!this.propagate(working, known)) return false;
    if (!this.values) return true;
    // The component that leaves least to try.
    let open: string[] = [];
    for (const b of working) {
      const left = [...new Set([...b.inputs, b.output])].filter((n) => !known.has(n));
      if (left.length > 0 && (open.length === 0 || left.length < open.length)) open = left;
    }
    const net = open[0];
    return net === undefined || this.values.some((v) => this.consistent(working, new Map(known).set(net, v)));
  }

  /** Adds to `known` what follows from one component at a time; false at a contradiction. */
  private propagate(working: readonly BlackBox[], known: Map<string, number>): boolean {
    for (let before = -1; before !== known.size; ) {
      before = known.size;
      for (const b of working) {
        const inputs = b.inputs.map((n) => known.get(n));
        const open = inputs.flatMap((v, i) => (v === undefined ? [i] : []));
        const output = known.get(b.output);
        const filled = inputs.map((v) => v ?? Number.NaN);
        if (open.length === 0) {
          const value = b.value(filled);
          if (output === undefined) known.set(b.output, value);
          else if (!same(output, value)) return false;
        } else if (output !== undefined && open.length === 1) {
          const [wanted] = open as [number];
          const value = this.values
            ? this.onlyValue(b, filled, wanted, output)
            : b.inputFrom?.(output, filled, wanted);
          if (value !== undefined) known.set(b.inputs[wanted]!, value);
        }
      }
    }
    return true;
  }

  private onlyValue(b: BlackBox, inputs: number[], wanted: number, output: number): number | undefined {
    const fits = this.values!.filter((v) => {
      inputs[wanted] = v;
      return same(b.value(inputs), output);
    });
    // None at all: the first value, with which the contradiction shows.
    return fits.length === 0 ? this.values![0] : fits.length === 1 ? fits[0] : undefined;
  }

  /** Probability that all components of at least one of the minimal sets have failed. */
  private anyFailed(sets: readonly (readonly number[])[]): number {
    if (sets.length === 0) return 0;
    if (sets.some((s) => s.length === 0)) return 1;
    const counts = new Map<number, number>();
    for (const s of sets) for (const k of s) counts.set(k, (counts.get(k) ?? 0) + 1);
    const [pivot] = [...counts].reduce((best, x) => (x[1] > best[1] ? x : best));
    const p = this.boxes[pivot]!.failure;
    return (
      p * this.anyFailed(minimalOf(sets.map((s) => s.filter((k) => k !== pivot)))) +
      (1 - p) * this.anyFailed(sets.filter((s) => !s.includes(pivot)))
    );
  }
}

/** Equal but for the rounding of a function that was turned round. */
function same(a: number, b: number): boolean {
  return Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a), Math.abs(b));
}

/** The sets without those that contain another. */
function minimalOf(sets: readonly (readonly number[])[]): (readonly number[])[] {
  const kept: (readonly number[])[] = [];
  for (const s of [...sets].sort((a, b) => a.length - b.length))
    if (!kept.some((k) => k.every((x) => s.includes(x)))) kept.push(s);
  return kept;
}
