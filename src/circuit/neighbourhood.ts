/**
 * A fault solved on the few nets that it moves.
 *
 * The circuit is linearised once at its sound point. A fault then changes some elements, and some devices leave their
 * tangents; all the rest stays the linear network that it was. With c + D x the currents by which those elements differ
 * from their tangents at displacements x of their nets, and Z = 1/J of the sound circuit between those nets,
 *
 *   (1 + Z D) x = -Z c
 *
 * is Newton's step on them alone. Where it has settled, one solve of the whole network says which further devices have
 * moved; they join, until none does. Nothing is lost but what the tangents of the others are off by.
 *
 * @source the matrix inversion lemma: M. A. Woodbury, Princeton Statistical Research Group, memorandum 42 (1950) (from memory)
 */
import { type Assembly, crosses, FLAT_VOLTS, LOOSE_VOLTS, type PlacedDrive } from './assembly.ts';
import { junction, junctionCurrent, limitedJunction } from './devices/junction.ts';
import { lampCurrent } from './devices/lamp.ts';
import {
  BASE,
  COLLECTOR,
  EMITTER,
  openTransistorCurrents,
  transistor,
  transistorCurrents,
} from './devices/transistor.ts';
import type { Edit } from './edit.ts';
import { SparseLU } from './matrix/index.ts';
import { DEAD } from './values.ts';

/** With more nets than this, and one for each so many unknowns, the whole network is the quicker way. */
const MOST_NETS = 24;
const UNKNOWNS_A_NET = 40;
const MOST_STEPS = 40;
const CAREFUL_AFTER = 12;
/** A step below this has settled, volts. */
const SETTLED = 3e-4;
/** A look at the others is worth it when a step is below this, volts. */
const WORTH_A_LOOK = 0.05;
/** A pivot this far below 1 has lost its digits. */
const LEAST_PIVOT = 1e-8;
/** Two ways to the same voltages may differ by so much, volts. */
const AGREED = 2e-4;
/** Columns of Z that are kept, in numbers: 32 MB. */
const KEPT = 4e6;

/** A net that is held at some volts through a conductance. */
export interface Hold {
  readonly net: number;
  readonly volts: number;
  readonly siemens: number;
}

export interface NearTask {
  readonly edit: Edit;
  readonly holds?: readonly Hold[];
  /** Volts between which every net ends. */
  readonly lowest: number;
  readonly highest: number;
  /** A device that has moved by less stays on its tangent, volts. */
  readonly stale: number;
  /** So many steps at most. */
  readonly steps?: number;
  /** A step below this has settled, volts. */
  readonly settled?: number;
}

export class Neighbourhood {
  readonly assembly: Assembly;
  /** Sound net voltages that it is linearised at. */
  readonly sound: Float64Array;
  /** False when the sound point is no stable one: nothing can be solved around it. */
  readonly usable: boolean;
  /** What the last `solve` found and took. */
  readonly volts: Float64Array;
  steps = 0;
  /** Whether the point that it found is a stable one. */
  stable = false;
  /** Whether it failed because too many nets move. */
  crowded = false;
  private holds: readonly Hold[] = [];
  readonly generation: number;

  private readonly lu: SparseLU;
  private readonly n: number;
  private columns: (Float64Array | undefined)[] = [];
  private kept = 0;

  // The sound linearisation.
  private readonly siemens: Float64Array;
  private readonly lampI: Float64Array;
  private readonly lampG: Float64Array;
  private readonly junctionI: Float64Array;
  private readonly junctionG: Float64Array;
  private readonly currents: Float64Array;
  private readonly slopes: Float64Array;
  private readonly junctionVolts: Float64Array;
  private readonly beVolts: Float64Array;
  private readonly bcVolts: Float64Array;

  // Devices at each unknown net, row after row: junctions, then transistors, then lamps.
  private readonly firstDevice: Int32Array;
  private readonly devices: Int32Array;
  /** Rows that the present displacements move by more than a device may without leaving its tangent. */
  private readonly moved: Int32Array;
  private movedCount = 0;

  // What takes part in the present solve.
  private readonly local: Int32Array;
  private readonly rows: number[] = [];
  private readonly resistors: number[] = [];
  private readonly lamps: number[] = [];
  private readonly junctions: number[] = [];
  private readonly transistors: number[] = [];
  private readonly joined: { readonly [K in 'conductance' | 'junction' | 'transistor']: Uint8Array };
  private readonly old: {
    readonly junction: Float64Array;
    readonly guess: Float64Array;
    readonly be: Float64Array;
    readonly bc: Float64Array;
    readonly inner: Float64Array;
  };

  /** At most so many nets; the dense matrices lie in columns of this length. */
  private readonly most: number;
  private readonly z: Float64Array;
  private readonly m: Float64Array;
  private readonly d: Float64Array;
  private readonly c: Float64Array;
  private readonly x: Float64Array;
  private readonly next: Float64Array;
  private readonly pivots: Float64Array;
  private readonly whole: Float64Array;
  private readonly three = new Float64Array(3);
  private readonly more = new Float64Array(9);

  /** Linearises at `sound`, the point of a condition with the values' present parts and no edit. */
  constructor(assembly: Assembly, drives: readonly PlacedDrive[], sound: Float64Array) {
    const { netlist, values, structure } = assembly;
    this.assembly = assembly;
    this.sound = sound;
    this.generation = values.generation;
    this.volts = sound.map((v) => (Number.isFinite(v) ? v : 0));
    assembly.shunt.fill(0);
    assembly.stale = 0;
    assembly.careful = false;
    assembly.prepare(drives, 1);
    assembly.exactLimits(this.volts);
    assembly.evaluate(this.volts);
    assembly.soundLu ??= new SparseLU(structure.symbolic);
    this.lu = assembly.soundLu;
    this.lu.values.set(assembly.matrix);
    this.usable = this.lu.refactor() && this.lu.negativePivots === 0;
    this.n = structure.netOf.length;
    this.siemens = values.siemens.slice();
    this.lampI = new Float64Array(netlist.conductances.length);
    this.lampG = new Float64Array(netlist.conductances.length);
    for (const i of assembly.lamps) {
      const { a, b, lamp } = netlist.conductances[i]!;
      const { current, slope } = lampCurrent(values.siemens[i]!, this.volts[a]! - this.volts[b]!, lamp!);
      this.lampI[i] = current;
      this.lampG[i] = slope;
    }
    this.junctionI = assembly.junctionI.slice();
    this.junctionG = assembly.junctionG.slice();
    this.currents = assembly.currents.slice();
    this.slopes = assembly.slopes.slice();
    const v = this.volts;
    this.junctionVolts = Float64Array.from(netlist.junctions, (j) => v[j.a]! - v[j.k]!);
    this.beVolts = Float64Array.from(
      netlist.transistors,
      (q) => q.sign * (v[q.terminals[BASE]]! - v[q.terminals[EMITTER]]!),
    );
    this.bcVolts = Float64Array.from(
      netlist.transistors,
      (q) => q.sign * (v[q.terminals[BASE]]! - v[q.terminals[COLLECTOR]]!),
    );
    this.local = new Int32Array(this.n + 1).fill(-1);
    this.joined = {
      conductance: new Uint8Array(netlist.conductances.length),
      junction: new Uint8Array(netlist.junctions.length),
      transistor: new Uint8Array(netlist.transistors.length),
    };
    const nj = netlist.junctions.length;
    const nq = netlist.transistors.length;
    this.old = {
      junction: new Float64Array(nj),
      guess: new Float64Array(nj),
      be: new Float64Array(nq),
      bc: new Float64Array(nq),
      inner: new Float64Array(nq),
    };
    this.whole = new Float64Array(this.n);
    this.moved = new Int32Array(this.n);
    const at: number[][] = Array.from({ length: this.n }, () => []);
    const place = (device: number, nets: readonly number[]): void => {
      for (const net of nets) at[assembly.rowOf[net]!]?.push(device);
    };
    for (const [i, j] of netlist.junctions.entries()) place(i, [j.a, j.k]);
    for (const [i, q] of netlist.transistors.entries()) place(nj + i, q.terminals);
    for (const i of assembly.lamps)
      place(nj + nq + i, [netlist.conductances[i]!.a, netlist.conductances[i]!.b]);
    this.firstDevice = new Int32Array(this.n + 1);
    at.forEach((list, row) => {
      this.firstDevice[row + 1] = this.firstDevice[row]! + list.length;
    });
    this.devices = Int32Array.from(at.flat());
    const most = MOST_NETS + Math.floor(this.n / UNKNOWNS_A_NET);
    this.most = most;
    this.z = new Float64Array(most * most);
    this.m = new Float64Array(most * most);
    this.d = new Float64Array(most * most);
    this.c = new Float64Array(most);
    this.x = new Float64Array(most);
    this.next = new Float64Array(most);
    this.pivots = new Float64Array(most);
  }

  /** Nets that take part. */
  get nets(): number[] {
    return this.rows.map((row) => this.assembly.structure.netOf[row]!);
  }

  /**
   * The point under an edit that the values now hold, or false when this way does not lead to one: too many nets move, or no
   * rest is found. `volts` then holds no answer.
   */
  solve(start: Float64Array, task: NearTask): boolean {
    const { volts: v, sound } = this;
    const { holds = [], lowest, highest, stale, steps: mostSteps = MOST_STEPS, settled = SETTLED } = task;
    const { netOf } = this.assembly.structure;
    this.clear();
    this.steps = 0;
    this.crowded = true;
    this.holds = holds;
    v.set(start);
    if (!this.joinEdit(task.edit)) return false;
    if (start !== sound) {
      this.movedCount = 0;
      for (let row = 0; row < netOf.length; row++)
        if (Math.abs(start[netOf[row]!]! - sound[netOf[row]!]!) > stale / 2)
          this.moved[this.movedCount++] = row;
      if (this.joinMoved(stale) < 0) return false;
    }
    const x = this.x;
    const { rows, next } = this;
    for (let k = 0; k < rows.length; k++) {
      const net = netOf[rows[k]!]!;
      x[k] = v[net]! - sound[net]!;
    }
    for (let step = 0; step < mostSteps; step++) {
      const limited = this.linearise(step > CAREFUL_AFTER);
      this.steps++;
      if (!this.reckon()) break;
      let most = 0;
      let cut = false;
      const count = rows.length;
      for (let k = 0; k < count; k++) {
        const net = netOf[rows[k]!]!;
        const wanted = sound[net]! + next[k]!;
        const to = Math.min(highest, Math.max(lowest, wanted));
        if (to !== wanted) cut = true;
        const move = Math.abs(to - v[net]!);
        if (!(move <= most)) most = move;
        v[net] = to;
        x[k] = to - sound[net]!;
      }
      if (!Number.isFinite(most)) break;
      if (limited || cut || most > WORTH_A_LOOK) continue;
      if (!this.spread(stale)) break;
      const joined = this.joinMoved(stale);
      if (joined < 0) return false;
      if (joined > 0) {
        for (let k = count; k < rows.length; k++) {
          const net = netOf[rows[k]!]!;
          x[k] = v[net]! - sound[net]!;
        }
      } else if (most < settled) {
        this.stable = this.pivots.subarray(0, count).every((pivot) => pivot > 0);
        return true;
      }
    }
    this.crowded = false;
    return false;
  }

  private clear(): void {
    const { local, rows, joined, resistors, lamps, junctions, transistors } = this;
    for (const row of rows) local[row] = -1;
    for (const i of resistors) joined.conductance[i] = 0;
    for (const i of lamps) joined.conductance[i] = 0;
    for (const i of junctions) joined.junction[i] = 0;
    for (const i of transistors) joined.transistor[i] = 0;
    rows.length = 0;
    resistors.length = 0;
    lamps.length = 0;
    junctions.length = 0;
    transistors.length = 0;
  }

  /** Takes the elements that an edit changes in. */
  private joinEdit(edit: Edit): boolean {
    const { values } = this.assembly;
    let fits = true;
    for (const { element } of edit.conductance ?? []) fits = this.joinConductance(element) && fits;
    for (const { a, b } of values.bridges) fits = this.joinNet(a) && this.joinNet(b) && fits;
    for (const { net } of this.holds) fits = this.joinNet(net) && fits;
    for (const i of edit.cut ?? []) fits = this.joinJunction(i) && fits;
    for (const o of edit.open ?? []) fits = this.joinTransistor(o.transistor) && fits;
    for (const g of edit.gain ?? []) fits = this.joinTransistor(g.transistor) && fits;
    return fits;
  }

  private joinNet(net: number): boolean {
    const row = this.assembly.rowOf[net]!;
    if (row === this.n || this.local[row]! >= 0) return true;
    const { rows, z, most } = this;
    const count = rows.length;
    if (count === most) return false;
    this.local[row] = count;
    rows.push(row);
    const column = this.column(row);
    for (let k = 0; k <= count; k++) z[count * most + k] = column[rows[k]!]!;
    for (let k = 0; k < count; k++) z[k * most + count] = this.columns[rows[k]!]![row]!;
    return true;
  }

  private column(row: number): Float64Array {
    let column = this.columns[row];
    if (!column) {
      if (this.kept + this.n > KEPT) {
        const rows = new Set(this.rows);
        this.columns = this.columns.map((c, k) => (rows.has(k) ? c : undefined));
        this.kept = rows.size * this.n;
      }
      column = new Float64Array(this.n);
      column[row] = 1;
      this.lu.solve(column);
      this.columns[row] = column;
      this.kept += this.n;
    }
    return column;
  }

  private joinConductance(i: number): boolean {
    const { netlist } = this.assembly;
    if (this.joined.conductance[i] === 1) return true;
    this.joined.conductance[i] = 1;
    const { a, b, lamp } = netlist.conductances[i]!;
    (lamp ? this.lamps : this.resistors).push(i);
    return this.joinNet(a) && this.joinNet(b);
  }

  private joinJunction(i: number): boolean {
    if (this.joined.junction[i] === 1) return true;
    const { junctionNets: ends, values } = this.assembly;
    const { volts: v, old } = this;
    this.joined.junction[i] = 1;
    this.junctions.push(i);
    const a = ends[2 * i]!;
    const k = ends[2 * i + 1]!;
    old.junction[i] = Math.min(v[a]! - v[k]!, values.criticalJunction[i]!);
    old.guess[i] = Number.NaN;
    return this.joinNet(a) && this.joinNet(k);
  }

  private joinTransistor(i: number): boolean {
    if (this.joined.transistor[i] === 1) return true;
    const { transistorNets: ends, values, signs } = this.assembly;
    const { volts: v, old } = this;
    this.joined.transistor[i] = 1;
    this.transistors.push(i);
    const b = ends[3 * i]!;
    const c = ends[3 * i + 1]!;
    const e = ends[3 * i + 2]!;
    const critical = values.criticalTransistor[i]!;
    old.be[i] = Math.min(signs[i]! * (v[b]! - v[e]!), critical);
    old.bc[i] = Math.min(signs[i]! * (v[b]! - v[c]!), critical);
    old.inner[i] = 0;
    return this.joinNet(b) && this.joinNet(c) && this.joinNet(e);
  }

  /** Takes in every device at a moved net that has left its tangent. How many: -1 when they are too many. */
  private joinMoved(stale: number): number {
    const { firstDevice, devices, moved, joined } = this;
    const nj = joined.junction.length;
    const nq = joined.transistor.length;
    let count = 0;
    for (let k = 0; k < this.movedCount; k++) {
      const row = moved[k]!;
      for (let at = firstDevice[row]!; at < firstDevice[row + 1]!; at++) {
        const device = devices[at]!;
        if (device < nj) {
          if (joined.junction[device] === 1 || this.junctionStands(device, stale)) continue;
          if (!this.joinJunction(device)) return -1;
        } else if (device < nj + nq) {
          if (joined.transistor[device - nj] === 1 || this.transistorStands(device - nj, stale)) continue;
          if (!this.joinTransistor(device - nj)) return -1;
        } else {
          const i = device - nj - nq;
          if (joined.conductance[i] === 1 || this.lampStands(i, stale)) continue;
          if (!this.joinConductance(i)) return -1;
        }
        count++;
      }
    }
    return count;
  }

  private junctionStands(i: number, stale: number): boolean {
    const { junctionNets: ends, breaksNowhere } = this.assembly;
    const d = this.volts[ends[2 * i]!]! - this.volts[ends[2 * i + 1]!]!;
    const at = this.junctionVolts[i]!;
    return Math.abs(d - at) <= stale || (d < FLAT_VOLTS && at < FLAT_VOLTS && breaksNowhere[i] === 1);
  }

  private transistorStands(i: number, stale: number): boolean {
    const { transistorNets: ends, signs } = this.assembly;
    const { volts: v, beVolts, bcVolts } = this;
    const b = v[ends[3 * i]!]!;
    const be = signs[i]! * (b - v[ends[3 * i + 2]!]!);
    const bc = signs[i]! * (b - v[ends[3 * i + 1]!]!);
    return (
      (Math.abs(be - beVolts[i]!) <= stale || (be < FLAT_VOLTS && beVolts[i]! < FLAT_VOLTS)) &&
      (Math.abs(bc - bcVolts[i]!) <= stale || (bc < FLAT_VOLTS && bcVolts[i]! < FLAT_VOLTS))
    );
  }

  private lampStands(i: number, stale: number): boolean {
    const { a, b } = this.assembly.netlist.conductances[i]!;
    const { volts: v, sound } = this;
    return Math.abs(v[a]! - v[b]! - (sound[a]! - sound[b]!)) <= stale;
  }

  /** Adds an element's difference from its tangent: current `c` + `g` times the difference of displacements, from a to b. */
  private add(a: number, b: number, c: number, g: number): void {
    const { local, z, m, d, rows, most } = this;
    const { rowOf } = this.assembly;
    const la = local[rowOf[a]!]!;
    const lb = local[rowOf[b]!]!;
    const count = rows.length;
    if (la >= 0) this.c[la]! += c;
    if (lb >= 0) this.c[lb]! -= c;
    if (la >= 0 && lb >= 0) {
      const ja = la * most;
      const jb = lb * most;
      d[ja + la]! += g;
      d[ja + lb]! -= g;
      d[jb + la]! -= g;
      d[jb + lb]! += g;
      for (let k = 0; k < count; k++) {
        const t = g * (z[ja + k]! - z[jb + k]!);
        m[ja + k]! += t;
        m[jb + k]! -= t;
      }
    } else if (la >= 0) {
      const ja = la * most;
      d[ja + la]! += g;
      for (let k = 0; k < count; k++) m[ja + k]! += g * z[ja + k]!;
    } else if (lb >= 0) {
      const jb = lb * most;
      d[jb + lb]! += g;
      for (let k = 0; k < count; k++) m[jb + k]! += g * z[jb + k]!;
    }
  }

  /** Currents and slopes of all that takes part, by their differences from the tangents. True when one was limited. */
  private linearise(careful: boolean): boolean {
    const { volts: v, sound, m, d, rows, most, resistors, lamps, junctions, transistors, old } = this;
    const { netlist, values, junctionNets } = this.assembly;
    const count = rows.length;
    this.c.fill(0, 0, count);
    for (let j = 0; j < count; j++) {
      m.fill(0, j * most, j * most + count);
      d.fill(0, j * most, j * most + count);
      m[j * most + j] = 1;
    }
    let limited = false;
    for (let k = 0; k < resistors.length; k++) {
      const i = resistors[k]!;
      const { a, b } = netlist.conductances[i]!;
      const g = values.siemens[i]! - this.siemens[i]!;
      this.add(a, b, g * (sound[a]! - sound[b]!), g);
    }
    const { bridges } = values;
    for (let k = 0; k < bridges.length; k++) {
      const { a, b, siemens } = bridges[k]!;
      this.add(a, b, siemens * (sound[a]! - sound[b]!), siemens);
    }
    const { holds } = this;
    for (let k = 0; k < holds.length; k++) {
      const { net, volts, siemens } = holds[k]!;
      this.add(net, netlist.reference, siemens * (sound[net]! - volts), siemens);
    }
    for (let k = 0; k < lamps.length; k++) {
      const i = lamps[k]!;
      const { a, b, lamp } = netlist.conductances[i]!;
      const d = v[a]! - v[b]!;
      const { current, slope } = lampCurrent(values.siemens[i]!, d, lamp!);
      this.add(a, b, current + slope * (sound[a]! - sound[b]! - d) - this.lampI[i]!, slope - this.lampG[i]!);
    }
    for (let k = 0; k < junctions.length; k++) {
      const i = junctions[k]!;
      const a = junctionNets[2 * i]!;
      const b = junctionNets[2 * i + 1]!;
      if (values.cut[i] === 1) {
        this.add(a, b, -this.junctionI[i]!, -this.junctionG[i]!);
        continue;
      }
      const own = values.junctions[i]!;
      const d = v[a]! - v[b]!;
      let at = d;
      if (careful && crosses(d, old.junction[i]!)) at = 0;
      else if (own.rs === 0) at = limitedJunction(d, old.junction[i]!, own.nvt, values.criticalJunction[i]!);
      if (Math.abs(at - d) > 1e-9) limited = true;
      old.junction[i] = at;
      junctionCurrent(own, at, old.guess[i]!, LOOSE_VOLTS);
      old.guess[i] = junction.vd;
      const { i: current, g } = junction;
      this.add(
        a,
        b,
        current + g * (this.junctionVolts[i]! - at) - this.junctionI[i]!,
        g - this.junctionG[i]!,
      );
    }
    for (let k = 0; k < transistors.length; k++)
      limited = this.lineariseTransistor(transistors[k]!, careful) || limited;
    return limited;
  }

  private lineariseTransistor(i: number, careful: boolean): boolean {
    const { volts: v, sound, old, three, more, local, z, m, d, c, most } = this;
    const { values, transistorNets: ends, rowOf } = this.assembly;
    const q = values.transistors[i]!;
    const open = values.open[i]!;
    const critical = values.criticalTransistor[i]!;
    const s = q.sign;
    for (let t = 0; t < 3; t++) three[t] = v[ends[3 * i + t]!]!;
    const be = s * (three[BASE]! - three[EMITTER]!);
    const bc = s * (three[BASE]! - three[COLLECTOR]!);
    const limit = (d: number, before: number): number =>
      careful && crosses(d, before) ? 0 : limitedJunction(d, before, q.nvt, critical);
    let limited = false;
    const { current, jacobian } = transistor;
    if (open >= DEAD) {
      current.fill(0);
      jacobian.fill(0);
    } else if (open < 0) {
      const atBe = limit(be, old.be[i]!);
      const atBc = limit(bc, old.bc[i]!);
      limited = Math.abs(atBe - be) > 1e-9 || Math.abs(atBc - bc) > 1e-9;
      old.be[i] = atBe;
      old.bc[i] = atBc;
      three[EMITTER] = three[BASE]! - s * atBe;
      three[COLLECTOR] = three[BASE]! - s * atBc;
      transistorCurrents(q, atBe, atBc);
    } else {
      if (open === COLLECTOR) {
        const at = limit(be, old.be[i]!);
        limited = Math.abs(at - be) > 1e-9;
        old.be[i] = at;
        three[BASE]! += s * (at - be);
      } else if (open === EMITTER) {
        const at = limit(bc, old.bc[i]!);
        limited = Math.abs(at - bc) > 1e-9;
        old.bc[i] = at;
        three[BASE]! += s * (at - bc);
      }
      three[open] = old.inner[i]!;
      openTransistorCurrents(q, open, three, values.openSiemens[i]!);
      old.inner[i] = transistor.inner;
    }
    for (let p = 0; p < 9; p++) more[p] = jacobian[p]! - this.slopes[9 * i + p]!;
    const count = this.rows.length;
    for (let t = 0; t < 3; t++) {
      const row = local[rowOf[ends[3 * i + t]!]!]!;
      if (row < 0) continue;
      let constant = current[t]! - this.currents[3 * i + t]!;
      for (let u = 0; u < 3; u++)
        if (u !== open) constant += jacobian[3 * t + u]! * (sound[ends[3 * i + u]!]! - three[u]!);
      c[row]! += constant;
      const from = row * most;
      for (let u = 0; u < 3; u++) {
        const column = local[rowOf[ends[3 * i + u]!]!]!;
        if (column < 0) continue;
        const g = more[3 * t + u]!;
        const to = column * most;
        d[to + row]! += g;
        for (let k = 0; k < count; k++) m[to + k]! += z[from + k]! * g;
      }
    }
    return limited;
  }

  /** Solves (1 + Z D) next = -Z c without a change of rows, so that the signs of the pivots are those of a factorisation. */
  private reckon(): boolean {
    const { rows, z, m, c, next, pivots, most } = this;
    const n = rows.length;
    for (let k = 0; k < n; k++) next[k] = 0;
    for (let j = 0; j < n; j++) {
      const current = c[j]!;
      if (current === 0) continue;
      for (let k = 0; k < n; k++) next[k]! -= z[j * most + k]! * current;
    }
    // The multipliers stay in the column below the pivot; later columns are updated with them.
    for (let p = 0; p < n; p++) {
      const at = p * most;
      const pivot = m[at + p]!;
      pivots[p] = pivot;
      if (!(Math.abs(pivot) > LEAST_PIVOT)) return false;
      const inverse = 1 / pivot;
      for (let k = p + 1; k < n; k++) m[at + k]! *= inverse;
      for (let j = p + 1; j < n; j++) {
        const to = j * most;
        const factor = m[to + p]!;
        if (factor === 0) continue;
        for (let k = p + 1; k < n; k++) m[to + k]! -= m[at + k]! * factor;
      }
      const factor = next[p]!;
      for (let k = p + 1; k < n; k++) next[k]! -= m[at + k]! * factor;
    }
    for (let p = n - 1; p >= 0; p--) {
      const at = p * most;
      const value = next[p]! / m[at + p]!;
      next[p] = value;
      for (let k = 0; k < p; k++) next[k]! -= m[at + k]! * value;
    }
    return true;
  }

  /** What the present displacements move in the whole network; false when the two ways do not agree. */
  private spread(stale: number): boolean {
    const { rows, whole, volts: v, sound, lu, c, d, x, most } = this;
    const { netOf } = this.assembly.structure;
    whole.fill(0);
    const n = rows.length;
    for (let k = 0; k < n; k++) {
      let current = c[k]!;
      for (let j = 0; j < n; j++) current += d[j * most + k]! * x[j]!;
      whole[rows[k]!] = -current;
    }
    lu.solve(whole);
    for (let k = 0; k < rows.length; k++) {
      const row = rows[k]!;
      const net = netOf[row]!;
      if (!(Math.abs(sound[net]! + whole[row]! - v[net]!) < AGREED)) return false;
      whole[row] = v[net]! - sound[net]!;
    }
    const { moved } = this;
    let count = 0;
    for (let row = 0; row < netOf.length; row++) {
      const by = whole[row]!;
      v[netOf[row]!] = sound[netOf[row]!]! + by;
      if (by > stale / 2 || by < -stale / 2) moved[count++] = row;
    }
    this.movedCount = count;
    return true;
  }
}
