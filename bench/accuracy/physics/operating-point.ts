/**
 * Operating points of the true physics. A state is reached as a person reaches it: the hinted nets are held
 * near their volts, everything settles, they are let go, and the circuit follows its own slope (equal small
 * capacitors from every net to the reference, implicit Euler) to where it stays.
 */
import type { Condition, Drive } from '../../../src/machine/model.ts';
import type { Network } from './network.ts';

export interface OperatingPoint {
  /** Volts of every node. */
  readonly volts: Float64Array;
  /** Largest imbalance of current at a node over 1 nA + 1e-6 of the currents there; at most 1. */
  readonly imbalance: number;
  /** Whether every pivot was positive: false is the sign of a state that would not last. */
  readonly stable: boolean;
}

/** Conductances to fixed volts at each unknown node, besides the elements: drives, holds, meters, capacitors. */
class Shunts {
  readonly siemens: Float64Array;
  readonly amperes: Float64Array;
  constructor(size: number) {
    this.siemens = new Float64Array(size);
    this.amperes = new Float64Array(size);
  }
  add(node: number, siemens: number, volts: number): void {
    if (node >= this.siemens.length) return;
    this.siemens[node] = this.siemens[node]! + siemens;
    this.amperes[node] = this.amperes[node]! + siemens * volts;
  }
  copy(): Shunts {
    const other = new Shunts(this.siemens.length);
    other.siemens.set(this.siemens);
    other.amperes.set(this.amperes);
    return other;
  }
}

const STIFF = 100; // S, of a drive through no resistance
const HOLD = 0.1; // S, of a hinted net while it is held
export const METER_OHMS = 1e7;

export class Solver {
  readonly network: Network;
  /** Newton steps taken so far. */
  steps = 0;
  readonly #i = new Float64Array(3);
  readonly #g = new Float64Array(9);
  readonly #rhs: Float64Array;
  readonly #scale: Float64Array;

  constructor(network: Network) {
    this.network = network;
    this.#rhs = new Float64Array(network.unknowns);
    this.#scale = new Float64Array(network.unknowns);
  }

  /** Fills the matrix and minus the currents out of each node at `v`; true when a junction was held back. */
  #assemble(v: Float64Array, shunts: Shunts, hold: boolean): boolean {
    const { elements, places, diagonal, matrix, unknowns } = this.network;
    const values = matrix.values.fill(0);
    const rhs = this.#rhs;
    const scale = this.#scale;
    for (let k = 0; k < unknowns; k++) {
      const s = shunts.siemens[k]! + 1e-13;
      rhs[k] = shunts.amperes[k]! - s * v[k]!;
      scale[k] = Math.abs(shunts.amperes[k]!) + Math.abs(shunts.siemens[k]! * v[k]!);
      values[diagonal[k]!] = s;
    }
    let limited = false;
    for (let n = 0; n < elements.length; n++) {
      const element = elements[n]!;
      const { nodes } = element;
      const place = places[n]!;
      if (element.evaluate(v, this.#i, this.#g, hold)) limited = true;
      const size = nodes.length;
      for (let r = 0; r < size; r++) {
        const a = nodes[r]!;
        if (a >= unknowns) continue;
        const current = this.#i[r]!;
        rhs[a] = rhs[a]! - current;
        scale[a] = scale[a]! + Math.abs(current);
        for (let s = 0; s < size; s++) {
          const p = place[r * size + s]!;
          if (p >= 0) values[p] = values[p]! + this.#g[r * size + s]!;
        }
      }
    }
    return limited;
  }

  /** Newton from `v`, in place. Answers the number of negative pivots at the end, or -1 without convergence. */
  #newton(v: Float64Array, shunts: Shunts, most: number): number {
    const { elements, matrix, unknowns } = this.network;
    for (const element of elements) element.remember(v);
    for (let step = 0; step < most; step++) {
      this.steps++;
      const limited = this.#assemble(v, shunts, true);
      const negative = matrix.factor();
      if (negative < 0) return -1;
      const delta = this.#rhs;
      matrix.solve(delta);
      let largest = 0;
      for (let k = 0; k < unknowns; k++) {
        const d = delta[k]!;
        const size = Math.abs(d);
        if (!(size < 1e6)) return -1;
        if (size > largest) largest = size;
        v[k] = v[k]! + d;
      }
      if (!limited && largest < 1e-7 && this.#imbalance(v, shunts) <= 1) return negative;
    }
    return -1;
  }

  #imbalance(v: Float64Array, shunts: Shunts): number {
    this.#assemble(v, shunts, false);
    let worst = 0;
    for (let k = 0; k < this.network.unknowns; k++)
      worst = Math.max(worst, Math.abs(this.#rhs[k]!) / (1e-9 + 1e-6 * this.#scale[k]!));
    return worst;
  }

  /** Follows the circuit from `v` as capacitors of one unit at every node would let it go; then Newton. */
  #settle(v: Float64Array, shunts: Shunts): number {
    const { unknowns } = this.network;
    let siemens = 0.1;
    let trial = v.slice();
    for (let tries = 0; tries < 400; tries++) {
      const loaded = shunts.copy();
      for (let k = 0; k < unknowns; k++) loaded.add(k, siemens, v[k]!);
      trial.set(v);
      if (this.#newton(trial, loaded, 25) >= 0) {
        let moved = 0;
        for (let k = 0; k < unknowns; k++) moved = Math.max(moved, Math.abs(trial[k]! - v[k]!));
        v.set(trial);
        // Small strides while the state is still being decided, long ones at the end.
        if (moved < 1.5) siemens /= siemens > 1e-6 ? 2 : 10;
        if (siemens < 1e-10) {
          trial = v.slice();
          const last = this.#newton(trial, shunts, 60);
          if (last >= 0) {
            v.set(trial);
            return last;
          }
          if (siemens < 1e-15) return -1;
        }
      } else {
        siemens *= 16;
        if (siemens > 1e6) return -1;
      }
    }
    return -1;
  }

  /** Conductance a drive feeds its net through. */
  driveSiemens(drive: Drive): number {
    return drive.ohms > 0 ? 1 / drive.ohms : STIFF;
  }

  #shuntsOf(condition: Condition, theta: Float64Array): Shunts {
    const { network } = this;
    const shunts = new Shunts(network.unknowns);
    for (const drive of condition.drives) {
      const index = network.table.drives.get(drive.net);
      const volts = drive.volts * (index === undefined ? 1 : Math.exp(theta[index]!));
      shunts.add(network.nodeOfNet(drive.net), this.driveSiemens(drive), volts);
    }
    return shunts;
  }

  #point(volts: Float64Array, shunts: Shunts, negative: number): OperatingPoint | undefined {
    const imbalance = this.#imbalance(volts, shunts);
    return imbalance <= 1 ? { volts, imbalance, stable: negative === 0 } : undefined;
  }

  /**
   * The operating point of a condition for the constants set in the network. With `start`, the voltages of
   * an earlier point of the same network, it is first sought from there; when what is found would not last,
   * or none is found, the state is held and released from cold.
   */
  operatingPoint(
    condition: Condition,
    theta: Float64Array,
    start?: Float64Array,
  ): OperatingPoint | undefined {
    const { network } = this;
    const shunts = this.#shuntsOf(condition, theta);
    if (start !== undefined) {
      const v = start.slice();
      network.known(theta, v);
      const negative = this.#newton(v, shunts, 40);
      if (negative === 0) return this.#point(v, shunts, 0);
    }
    const v = new Float64Array(network.nodes);
    network.known(theta, v);
    const held = shunts.copy();
    for (const hint of condition.hints) held.add(network.nodeOfNet(hint.net), HOLD, hint.volts);
    for (const hint of condition.hints) {
      const node = network.nodeOfNet(hint.net);
      if (node < network.unknowns) v[node] = hint.volts;
    }
    const flat = v.slice();
    if (this.#newton(v, held, 60) < 0) {
      v.set(flat);
      if (this.#settle(v, held) < 0) return undefined;
    }
    let negative = this.#settle(v, shunts);
    if (negative > 0) {
      // Resting on a tipping point: push every net by a few millivolts, differently, and follow again.
      for (let k = 0; k < network.unknowns; k++) v[k] = v[k]! + 0.02 * Math.sin(12.9898 * (k + 1));
      negative = this.#settle(v, shunts);
    }
    return negative < 0 ? undefined : this.#point(v, shunts, negative);
  }

  /**
   * What a meter of 10 Mohm shows at a node: the node's own change under the load, by the resistance seen
   * there where that is small, by solving again where it is not. The matrix is that of the last point.
   */
  metered(point: OperatingPoint, condition: Condition, theta: Float64Array, nodes: readonly number[]) {
    const { network } = this;
    const shunts = this.#shuntsOf(condition, theta);
    this.#imbalance(point.volts, shunts);
    network.matrix.factor();
    const unit = new Float64Array(network.unknowns);
    const seen = new Map<number, number>();
    const heavy: number[] = [];
    for (const node of nodes) {
      if (seen.has(node)) continue;
      if (node >= network.unknowns) {
        seen.set(node, point.volts[node]!);
        continue;
      }
      unit.fill(0);
      unit[node] = 1;
      network.matrix.solve(unit);
      const load = unit[node]! / METER_OHMS;
      if (load > 0.01 || load < 0) heavy.push(node);
      seen.set(node, point.volts[node]! / (1 + Math.max(load, 0)));
    }
    for (const node of heavy) {
      const loaded = shunts.copy();
      loaded.add(node, 1 / METER_OHMS, 0);
      const v = point.volts.slice();
      if (this.#newton(v, loaded, 60) < 0) {
        v.set(point.volts);
        if (this.#settle(v, loaded) < 0) continue;
      }
      seen.set(node, v[node]!);
    }
    return nodes.map((node) => seen.get(node)!);
  }

  /** Factors the matrix at a point and gives it; for sensitivities. */
  linearised(point: OperatingPoint, condition: Condition, theta: Float64Array): Network['matrix'] {
    this.#imbalance(point.volts, this.#shuntsOf(condition, theta));
    this.network.matrix.factor();
    return this.network.matrix;
  }
}
