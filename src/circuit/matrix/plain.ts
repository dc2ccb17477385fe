import { HEADER, type Plan } from './plan.ts';

/** The loops in plain form: the reference for the compiled kernel, and its stand-in where there is none. */

/**
 * Factors every subtree in which a value has changed since last time, or that such a subtree changes.
 *
 * @param places  the plan's numbers
 * @param marks   one word for each subtree and one more; set to have it done in any case
 * @returns a finite number when every pivot was finite and none was zero
 */
export function refactorPlain(plan: Plan, places: Float64Array, marks: Int32Array): number {
  const { factorTable: table } = plan;
  let check = 0;
  let saved = plan.previous;
  for (let subtree = 0, at = 0, end = 0; subtree < plan.subtrees; subtree++, at = end) {
    end = at + (table[at]! >> 2);
    const entries = table[at + 2]!;
    let changed = marks[subtree] !== 0;
    marks[subtree] = 0;
    let t = at + HEADER;
    for (let e = 0; e < entries; e++, t++, saved++) {
      const value = places[table[t]! >> 3]!;
      if (!Object.is(value, places[saved])) changed = true;
      places[saved] = value;
    }
    if (!changed) continue;
    marks[table[at + 1]!] = 1;
    let node = table[at + 3]! >> 3;
    places.fill(0, node, node + (table[at + 4]! >> 3));
    places.fill(0, table[at + 5]! >> 3, (table[at + 5]! + table[at + 6]!) >> 3);
    for (let e = saved - entries; e < saved; e++, t++) places[table[t]! >> 3] = places[e]!;
    for (let child = table[at + 7]!; child > 0; child--) {
      let from = table[t]! >> 3;
      const stop = from + table[t + 1]!;
      for (t += 2; from < stop; from++, t++) places[table[t]! >> 3]! += places[from]!;
    }
    for (let run = table[at + 8]!; run > 0; run--) {
      const s = table[t]!;
      const r = table[t + 2]!;
      let count = table[t + 1]!;
      const width = r + s;
      for (t += 3; count > 0; count--, t += s * s) {
        const below = node + r * width;
        for (let k = 0; k < r; k++) {
          const pivotRow = node + k * width;
          const pivot = places[pivotRow + k]!;
          const reciprocal = 1 / pivot;
          places[pivotRow + k] = reciprocal;
          check += pivot * reciprocal;
          for (let i = k + 1; i < r; i++) {
            const row = node + i * width;
            const l = places[row + k]! * reciprocal;
            places[row + k] = l;
            for (let j = k + 1; j < width; j++) places[row + j]! -= l * places[pivotRow + j]!;
          }
          for (let i = 0; i < s; i++) {
            const row = below + i * r;
            const l = places[row + k]! * reciprocal;
            places[row + k] = l;
            for (let j = k + 1; j < r; j++) places[row + j]! -= l * places[pivotRow + j]!;
            const d = t + i * s;
            for (let j = 0; j < s; j++) places[table[d + j]! >> 3]! -= l * places[pivotRow + r + j]!;
          }
        }
        node = below + s * r;
      }
    }
  }
  return check;
}

/**
 * Solves with the factors: the right-hand side is overwritten by the answer.
 *
 * @param transposed  solve with Aᵀ
 */
export function solvePlain(plan: Plan, places: Float64Array, transposed: boolean): void {
  const { runs, solveTable: table } = plan;
  let node = plan.factors;
  let t = 0;
  for (let run = 0; run < runs.length; run += 3) {
    const s = runs[run]!;
    const r = runs[run + 2]!;
    const width = r + s;
    for (let count = runs[run + 1]!; count > 0; count--, t += width, node += r * (width + s)) {
      for (let k = 0; k < r; k++) {
        let f = node + k * width + k;
        const x = table[t + k]! >> 3;
        if (transposed) places[x]! *= places[f]!;
        const known = places[x]!;
        for (let j = k + 1; j < width; j++) {
          if (transposed) f++;
          else f = j < r ? f + width : node + r * width + (j - r) * r + k;
          places[table[t + j]! >> 3]! -= places[f]! * known;
        }
      }
    }
  }
  for (let run = runs.length - 3; run >= 0; run -= 3) {
    const s = runs[run]!;
    const r = runs[run + 2]!;
    const width = r + s;
    for (let count = runs[run + 1]!; count > 0; count--) {
      t -= width;
      node -= r * (width + s);
      for (let k = r - 1; k >= 0; k--) {
        let f = node + k * width + k;
        const x = table[t + k]! >> 3;
        const pivot = places[f]!;
        let sum = places[x]!;
        for (let j = k + 1; j < width; j++) {
          if (!transposed) f++;
          else f = j < r ? f + width : node + r * width + (j - r) * r + k;
          sum -= places[f]! * places[table[t + j]! >> 3]!;
        }
        places[x] = transposed ? sum : sum * pivot;
      }
    }
  }
}
