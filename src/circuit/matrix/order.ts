import type { Pattern } from './pattern.ts';

/**
 * An elimination order with little fill: at each step an unknown with (nearly) the fewest remaining neighbours
 * goes first. The graph is kept as cliques, one for each eliminated unknown, so that fill is never stored, and
 * degrees are the cheap upper bounds of the source.
 *
 * @returns length `n`; `order[k]` is the unknown that is eliminated in step `k`
 * @source Amestoy, Davis & Duff, SIAM J. Matrix Anal. Appl. 17 (1996) 886-905 (from memory); no merging of
 *   indistinguishable unknowns
 */
export function minimumDegreeOrder(pattern: Pattern): Int32Array {
  const { n, rowStart, column } = pattern;
  const order = new Int32Array(n);
  const eliminated = new Uint8Array(n);
  const degree = new Int32Array(n);
  const neighbours: number[][] = []; // unknowns still joined by an entry of the matrix itself
  const cliquesOf: number[][] = []; // cliques that hold the unknown, named by their pivot
  const clique: number[][] = [];
  const outside = new Int32Array(n); // per clique: members outside the present pivot's clique
  const seen = new Int32Array(n).fill(-1); // per clique: step in which `outside` was set
  const mark = new Int32Array(n).fill(-1);
  const buckets = new DegreeBuckets(n);
  for (let i = 0; i < n; i++) {
    const row: number[] = [];
    for (let e = rowStart[i]!; e < rowStart[i + 1]!; e++) if (column[e] !== i) row.push(column[e]!);
    neighbours.push(row);
    cliquesOf.push([]);
    clique.push([]);
    degree[i] = row.length;
  }
  for (let i = n - 1; i >= 0; i--) buckets.add(i, degree[i]!);

  for (let k = 0; k < n; k++) {
    const pivot = buckets.takeSmallest();
    order[k] = pivot;
    eliminated[pivot] = 1;

    mark[pivot] = k;
    const front: number[] = [];
    const join = (members: number[]) => {
      for (const i of members) {
        if (mark[i] === k || eliminated[i]) continue;
        mark[i] = k;
        front.push(i);
      }
    };
    join(neighbours[pivot]!);
    for (const c of cliquesOf[pivot]!) {
      join(clique[c]!);
      clique[c] = []; // absorbed: the new clique holds all that it held
    }
    clique[pivot] = front;
    neighbours[pivot] = [];
    cliquesOf[pivot] = [];

    for (const i of front) {
      for (const c of cliquesOf[i]!) {
        if (seen[c] !== k) {
          seen[c] = k;
          let left = 0;
          for (const j of clique[c]!) if (!eliminated[j]) left++;
          outside[c] = left;
        }
        outside[c]!--;
      }
    }
    for (const i of front) {
      buckets.remove(i, degree[i]!);
      const row = neighbours[i]!.filter((j) => mark[j] !== k);
      neighbours[i] = row; // what the clique joins needs no entry
      const others = cliquesOf[i]!.filter((c) => clique[c]!.length > 0 && outside[c]! > 0);
      let bound = row.length + front.length - 1;
      for (const c of others) bound += outside[c]!;
      others.push(pivot);
      cliquesOf[i] = others;
      degree[i] = Math.min(n - k - 2, degree[i]! + front.length - 1, bound);
      buckets.add(i, degree[i]!);
    }
  }
  return order;
}

/** Unknowns by degree, as doubly linked lists; the last one added comes out first. */
class DegreeBuckets {
  private readonly head: Int32Array;
  private readonly next: Int32Array;
  private readonly previous: Int32Array;
  private smallest = 0;

  constructor(n: number) {
    this.head = new Int32Array(n + 1).fill(-1);
    this.next = new Int32Array(n).fill(-1);
    this.previous = new Int32Array(n).fill(-1);
  }

  add(i: number, degree: number): void {
    const after = this.head[degree]!;
    this.next[i] = after;
    this.previous[i] = -1;
    if (after >= 0) this.previous[after] = i;
    this.head[degree] = i;
    if (degree < this.smallest) this.smallest = degree;
  }

  remove(i: number, degree: number): void {
    const before = this.previous[i]!;
    const after = this.next[i]!;
    if (before >= 0) this.next[before] = after;
    else this.head[degree] = after;
    if (after >= 0) this.previous[after] = before;
  }

  takeSmallest(): number {
    while (this.head[this.smallest]! < 0) this.smallest++;
    const i = this.head[this.smallest]!;
    this.remove(i, this.smallest);
    return i;
  }
}
