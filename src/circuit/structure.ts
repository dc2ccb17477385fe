/**
 * Which nets are unknowns, the matrix pattern of a circuit, and where each element's stamps go.
 *
 * Nets with a fixed voltage (reference, rails, zero-ohm drives) are known. So the structure depends only on the
 * set of nets that are driven stiffly; conditions that drive the same nets share one.
 */
import { type Pattern, patternOf, type Symbolic, symbolicFactor } from './matrix/index.ts';
import type { Netlist } from './netlist.ts';

export interface Structure {
  /** Unknown number of each net, -1 for a known or unreached net. */
  readonly unknown: Int32Array;
  /** Net of each unknown. */
  readonly netOf: Int32Array;
  /** Nets that some conducting path joins to a net of known voltage; the others have no computed voltage. */
  readonly reached: Uint8Array;
  readonly pattern: Pattern;
  readonly symbolic: Symbolic;
  /** Position of (row, column) in the pattern's values; the entry after the last for "nowhere". */
  readonly position: (row: number, column: number) => number;
  /** aa, ab, ba, bb of each conductance and, after them, of each junction (4 entries each). */
  readonly conductanceSlots: Int32Array;
  readonly junctionSlots: Int32Array;
  /** The 3 x 3 block of each transistor, row-major over base, collector, emitter. */
  readonly transistorSlots: Int32Array;
}

const known = new WeakMap<Netlist, Map<string, Structure>>();

/**
 * The structure of a netlist when `stiff` nets (besides reference and rails) are held by zero-ohm drives and `resistive` ones driven
 * through a resistance. Made once; all solvers of the netlist share it.
 *
 * @param coupled  nets, two by two, that meet in an equation besides: windings of one core
 */
export function structureOf(
  netlist: Netlist,
  stiff: readonly number[],
  resistive: readonly number[],
  coupled: readonly number[] = [],
): Structure {
  let own = known.get(netlist);
  if (!own) {
    own = new Map();
    known.set(netlist, own);
  }
  const key = `${stiff.join(' ')};${resistive.join(' ')};${coupled.join(' ')}`;
  let structure = own.get(key);
  if (!structure) {
    structure = newStructure(netlist, stiff, resistive, coupled);
    own.set(key, structure);
  }
  return structure;
}

function newStructure(
  netlist: Netlist,
  stiff: readonly number[],
  resistive: readonly number[],
  coupled: readonly number[],
): Structure {
  const count = netlist.nets.length;
  const known = new Uint8Array(count);
  known[netlist.reference] = 1;
  for (const rail of netlist.machine.rails) known[netlist.netIndex.get(rail.net)!] = 1;
  for (const net of stiff) known[net] = 1;

  // Union-find over every element that can carry current, then keep the unknowns of islands with a known net.
  const parent = Int32Array.from({ length: count }, (_, i) => i);
  const root = (i: number): number => {
    let r = i;
    while (parent[r] !== r) r = parent[r]!;
    while (parent[i] !== r) {
      const next = parent[i]!;
      parent[i] = r;
      i = next;
    }
    return r;
  };
  const join = (a: number, b: number): void => {
    if (a >= 0 && b >= 0) parent[root(a)] = root(b);
  };
  for (const c of netlist.conductances) join(c.a, c.b);
  for (const j of netlist.junctions) join(j.a, j.k);
  for (const q of netlist.transistors) {
    join(q.terminals[0], q.terminals[1]);
    join(q.terminals[0], q.terminals[2]);
  }
  const alive = new Uint8Array(count);
  for (let i = 0; i < count; i++) if (known[i]) alive[root(i)] = 1;
  for (const i of resistive) alive[root(i)] = 1;
  const reached = Uint8Array.from({ length: count }, (_, i) => alive[root(i)]!);

  const unknown = new Int32Array(count).fill(-1);
  const list: number[] = [];
  for (let i = 0; i < count; i++) {
    if (known[i] || !reached[i]) continue;
    unknown[i] = list.length;
    list.push(i);
  }
  const n = list.length;
  const pairs: number[] = [];
  const pair = (a: number, b: number): void => {
    const ua = a < 0 ? -1 : unknown[a]!;
    const ub = b < 0 ? -1 : unknown[b]!;
    if (ua >= 0 && ub >= 0 && ua !== ub) pairs.push(ua, ub);
  };
  for (const c of netlist.conductances) pair(c.a, c.b);
  for (const j of netlist.junctions) pair(j.a, j.k);
  for (const q of netlist.transistors) {
    const [b, c, e] = q.terminals;
    pair(b, c);
    pair(b, e);
    pair(c, e);
  }
  // A fault may bridge any two pins of these, so they belong together beforehand.
  for (const part of netlist.machine.parts) {
    if (part.kind !== 'trimmer' && part.kind !== 'transistor') continue;
    const netOf = (pin: string): number => netlist.pinNets.get(`${part.name}.${pin}`)!;
    for (let i = 0; i < part.pins.length; i++)
      for (let k = 0; k < i; k++) pair(netOf(part.pins[i]!.pin), netOf(part.pins[k]!.pin));
  }
  for (let i = 0; i < coupled.length; i += 2) pair(coupled[i]!, coupled[i + 1]!);
  const pattern = patternOf(n, Int32Array.from(pairs));
  const nowhere = pattern.column.length;
  const position = (row: number, column: number): number => {
    if (row < 0 || column < 0) return nowhere;
    let lo = pattern.rowStart[row]!;
    let hi = pattern.rowStart[row + 1]! - 1;
    while (lo <= hi) {
      const mid = (lo + hi) >> 1;
      const c = pattern.column[mid]!;
      if (c === column) return mid;
      if (c < column) lo = mid + 1;
      else hi = mid - 1;
    }
    return nowhere;
  };
  const at = (net: number): number => (net < 0 ? -1 : unknown[net]!);
  const two = (list: readonly { a: number; b: number }[]): Int32Array => {
    const slots = new Int32Array(4 * list.length);
    list.forEach((e, i) => {
      const a = at(e.a);
      const b = at(e.b);
      slots[4 * i] = position(a, a);
      slots[4 * i + 1] = position(a, b);
      slots[4 * i + 2] = position(b, a);
      slots[4 * i + 3] = position(b, b);
    });
    return slots;
  };
  const transistorSlots = new Int32Array(9 * netlist.transistors.length);
  netlist.transistors.forEach((q, i) => {
    for (let t = 0; t < 3; t++)
      for (let u = 0; u < 3; u++)
        transistorSlots[9 * i + 3 * t + u] = position(at(q.terminals[t]!), at(q.terminals[u]!));
  });
  return {
    unknown,
    netOf: Int32Array.from(list),
    reached,
    pattern,
    symbolic: symbolicFactor(pattern),
    position,
    conductanceSlots: two(netlist.conductances),
    junctionSlots: two(netlist.junctions.map((j) => ({ a: j.a, b: j.k }))),
    transistorSlots,
  };
}
