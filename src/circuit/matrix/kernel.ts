import {
  add,
  and,
  type Code,
  choose,
  clear,
  differ,
  doWhile,
  equal,
  F64,
  get,
  I32,
  I64,
  integer,
  isLess,
  moduleOf,
  move,
  multiply,
  or,
  type Routine,
  select,
  set,
  setWord,
  shiftRight,
  subtract,
  times,
  timesAtLeastOnce,
  unsigned,
  V128,
  type ValueType,
  when,
  word,
} from './assembler.ts';
import { HEADER } from './plan.ts';
import { UNROLLED } from './symbolic.ts';

/**
 * The loops of `plain.ts` as a WebAssembly module: the same operations on each number in the same order, so that
 * the answers are the same to the last bit. Steps with few later ones, which are nearly all in a circuit, are
 * written out with their row of U held in locals.
 */

/** Operations on the numbers of a place. */
interface Arithmetic {
  readonly type: ValueType;
  /** Bytes of a number. */
  readonly bytes: number;
  readonly load: (address: Code, places?: number) => Code;
  readonly store: (address: Code, value: Code, places?: number) => Code;
  readonly plus: (a: Code, b: Code) => Code;
  readonly minus: (a: Code, b: Code) => Code;
  readonly by: (a: Code, b: Code) => Code;
  readonly reciprocal: (a: Code) => Code;
  /** A vector holds so many numbers of successive columns. */
  readonly columns: number;
  readonly spread: (a: Code) => Code;
  readonly loadSpread: (address: Code) => Code;
  readonly gather: (addresses: readonly Code[]) => Code;
  readonly scatter: (addresses: readonly Code[], value: Code) => Code;
  /** Bits: their type, loading, storing, where two differ, union, and a word that is not zero when any is set. */
  readonly bits: ValueType;
  readonly loadBits: (address: Code, places?: number) => Code;
  readonly storeBits: (address: Code, value: Code, places?: number) => Code;
  readonly differing: (a: Code, b: Code) => Code;
  readonly either: (a: Code, b: Code) => Code;
  readonly noBits: Code;
  readonly anyBit: (a: Code) => Code;
}

const ONE = [0x44, 0, 0, 0, 0, 0, 0, 0xf0, 0x3f];

const loadVector = (address: Code, offset = 0): Code => [address, 0xfd, 0x00, 3, unsigned(offset)];
const storeVector = (address: Code, value: Code): Code => [address, value, 0xfd, 0x0b, 3, 0];
const minusVector = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf1, 0x01];
const byVector = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf2, 0x01];

const SINGLE: Arithmetic = {
  type: F64,
  bytes: 8,
  load: (address, places = 0) => [address, 0x2b, 3, unsigned(8 * places)],
  store: (address, value, places = 0) => [address, value, 0x39, 3, unsigned(8 * places)],
  plus: (a, b) => [a, b, 0xa0],
  minus: (a, b) => [a, b, 0xa1],
  by: (a, b) => [a, b, 0xa2],
  reciprocal: (a) => [ONE, a, 0xa3],
  columns: 2,
  spread: (a) => [a, 0xfd, 0x14],
  loadSpread: (address) => [address, 0xfd, 0x0a, 3, 0],
  gather: ([a, b]) => [b!, a!, 0xfd, 0x5d, 3, 0, 0xfd, 0x57, 3, 0, 1],
  scatter: ([a, b], value) => [a!, value, 0xfd, 0x5b, 3, 0, 0, b!, value, 0xfd, 0x5b, 3, 0, 1],
  bits: I64,
  loadBits: (address, places = 0) => [address, 0x29, 3, unsigned(8 * places)],
  storeBits: (address, value, places = 0) => [address, value, 0x37, 3, unsigned(8 * places)],
  differing: (a, b) => [a, b, 0x85],
  either: (a, b) => [a, b, 0x84],
  noBits: [0x42, 0],
  anyBit: (a) => [a, 0x42, 0, 0x52],
};

/** Two systems at once, one in each half of a vector. */
const PAIR: Arithmetic = {
  type: V128,
  bytes: 16,
  load: (address, places = 0) => [address, 0xfd, 0x00, 4, unsigned(16 * places)],
  store: (address, value, places = 0) => [address, value, 0xfd, 0x0b, 4, unsigned(16 * places)],
  plus: (a, b) => [a, b, 0xfd, 0xf0, 0x01],
  minus: (a, b) => [a, b, 0xfd, 0xf1, 0x01],
  by: (a, b) => [a, b, 0xfd, 0xf2, 0x01],
  reciprocal: (a) => [ONE, 0xfd, 0x14, a, 0xfd, 0xf3, 0x01],
  columns: 1,
  spread: (a) => a,
  loadSpread: (address) => loadVector(address),
  gather: ([a]) => loadVector(a!),
  scatter: ([a], value) => storeVector(a!, value),
  bits: V128,
  loadBits: (address, places = 0) => PAIR.load(address, places),
  storeBits: (address, value, places = 0) => PAIR.store(address, value, places),
  differing: (a, b) => [a, b, 0xfd, 0x51],
  either: (a, b) => [a, b, 0xfd, 0x50],
  noBits: [0xfd, 0x0c, new Array<number>(16).fill(0)],
  anyBit: (a) => [a, 0xfd, 0x53],
};

class Locals {
  readonly parameters: number;
  readonly types: ValueType[] = [];
  constructor(parameters: number) {
    this.parameters = parameters;
  }
  of(type: ValueType): number {
    this.types.push(type);
    return this.parameters + this.types.length - 1;
  }
}

/** The case for a supernode of `r` steps: the unrolled one, or the last. */
const shape = (s: Code, r: Code): Code => select(s, integer(UNROLLED + 1), equal(r, integer(1)));
const quotient = (a: Code, powerOfTwo: number): Code =>
  powerOfTwo === 1 ? a : shiftRight(a, Math.log2(powerOfTwo));
const remainder = (a: Code, powerOfTwo: number): Code => and(a, integer(powerOfTwo - 1));
const range = (count: number) => Array.from({ length: count }, (_, index) => index);

/** refactor(table, marks, previous, subtrees, check): see `refactorPlain`; adds to the number at `check`. */
function refactorRoutine(arithmetic: Arithmetic): Routine {
  const { type, bytes, load, store, plus, minus, by, reciprocal } = arithmetic;
  const { columns, spread, loadSpread, gather, scatter } = arithmetic;
  const { bits, loadBits, storeBits, differing, either, noBits, anyBit } = arithmetic;
  const [t, marks, saved, subtrees, checkAt] = [0, 1, 2, 3, 4];
  const locals = new Locals(5);
  const [head, end, changed, count, node, from, runs, s] = range(8).map(() => locals.of(I32)) as Eight;
  const [address, r, width, k, i, j, below, pivotRow] = range(8).map(() => locals.of(I32)) as Eight;
  const rest = locals.of(I32);
  const firstMark = locals.of(I32);
  const [check, value, inverse, l] = range(4).map(() => locals.of(type)) as [number, number, number, number];
  const [now, difference] = [locals.of(bits), locals.of(bits)];
  const u = range(UNROLLED).map(() => locals.of(type));
  const next = (pointer: number, places = 1) => move(pointer, places * bytes);
  const scaled = (places: Code) => multiply(places, integer(bytes));

  /** Inverts the pivot at `at` and keeps the inverse. */
  const invert = (at: number): Code => [
    set(value, load(get(at))),
    set(inverse, reciprocal(get(value))),
    store(get(at), get(inverse)),
    set(check, plus(get(check), by(get(value), get(inverse)))),
  ];
  /** Makes the entry at `at` one of L. */
  const divide = (at: number, places = 0): Code => [
    set(l, by(load(get(at), places), get(inverse))),
    store(get(at), get(l), places),
  ];
  const update = (target: Code, factor: Code): Code => [
    set(address, target),
    store(get(address), minus(load(get(address)), by(get(l), factor))),
  ];

  const single = (later: number): Code => {
    const row = (index: number, at: number) => [
      divide(from, index),
      range(later).map((column) => update(word(get(t), (at + column) * 4), get(u[column]!))),
    ];
    const rows =
      later <= 4
        ? [range(later).map((index) => row(index, index * later)), move(t, later * later * 4)]
        : [set(s, integer(later)), timesAtLeastOnce(s, row(0, 0), next(from), move(t, later * 4))];
    return [
      timesAtLeastOnce(
        count,
        invert(node),
        range(later).map((column) => set(u[column]!, load(get(node), 1 + column))),
        set(from, add(get(node), integer((1 + later) * bytes))),
        rows,
        next(node, 1 + 2 * later),
      ),
    ];
  };

  const vectors = [locals.of(V128), locals.of(V128)] as const;
  const wide = locals.of(V128);
  /** row[j] -= l * pivotRow[j] for `i` contiguous numbers from `address` and `from`. */
  const rowUpdate: Code = [
    set(wide, spread(get(l))),
    set(rest, remainder(get(i), columns)),
    set(i, quotient(get(i), columns)),
    times(
      i,
      storeVector(
        get(address),
        minusVector(loadVector(get(address)), byVector(get(wide), loadVector(get(from)))),
      ),
      next(address, columns),
      next(from, columns),
    ),
    times(
      rest,
      store(get(address), minus(load(get(address)), by(get(l), load(get(from))))),
      next(address),
      next(from),
    ),
  ];
  /** Takes all steps of the node out of some entries of the later rows, whose places come next in the table. */
  const laterEntries = (vectorsTogether: 0 | 1 | 2): Code => {
    const chosen = vectors.slice(0, vectorsTogether);
    const taken = vectorsTogether === 0 ? 1 : vectorsTogether * columns;
    const places = (vector: number) =>
      range(columns).map((index) => word(get(t), 4 * (vector * columns + index)));
    return [
      set(from, get(pivotRow)),
      set(address, get(below)),
      vectorsTogether === 0
        ? set(value, load(word(get(t))))
        : chosen.map((local, index) => set(local, gather(places(index)))),
      set(k, get(r)),
      timesAtLeastOnce(
        k,
        vectorsTogether === 0
          ? set(value, minus(get(value), by(load(get(address)), load(get(from)))))
          : [
              set(wide, loadSpread(get(address))),
              chosen.map((local, index) =>
                set(local, minusVector(get(local), byVector(get(wide), loadVector(get(from), index * 16)))),
              ),
            ],
        next(address),
        set(from, add(get(from), scaled(get(width)))),
      ),
      vectorsTogether === 0
        ? store(word(get(t)), get(value))
        : chosen.map((local, index) => scatter(places(index), get(local))),
      next(pivotRow, taken),
      move(t, 4 * taken),
    ];
  };
  /** A supernode: its own block, then each later row. On each entry the steps act in their order. */
  const general: Code = timesAtLeastOnce(
    count,
    set(pivotRow, get(node)),
    set(below, add(get(node), scaled(multiply(get(r), get(width))))),
    set(k, get(r)), // steps that are still to do
    timesAtLeastOnce(
      k,
      invert(pivotRow),
      set(below, get(pivotRow)),
      set(j, subtract(get(k), integer(1))),
      times(
        j,
        set(below, add(get(below), scaled(get(width)))),
        divide(below),
        set(address, add(get(below), integer(bytes))),
        set(from, add(get(pivotRow), integer(bytes))),
        set(i, add(subtract(get(k), integer(1)), get(s))),
        rowUpdate,
      ),
      set(pivotRow, add(get(pivotRow), scaled(add(get(width), integer(1))))),
    ),
    set(below, add(get(node), scaled(multiply(get(r), get(width))))),
    set(j, get(s)),
    timesAtLeastOnce(
      j,
      set(pivotRow, get(node)),
      set(head, get(below)),
      set(k, get(r)),
      timesAtLeastOnce(
        k,
        set(inverse, load(get(pivotRow))),
        divide(head),
        set(address, add(get(head), integer(bytes))),
        set(from, add(get(pivotRow), integer(bytes))),
        set(i, subtract(get(k), integer(1))),
        when(get(i), rowUpdate),
        next(head),
        set(pivotRow, add(get(pivotRow), scaled(add(get(width), integer(1))))),
      ),
      set(pivotRow, add(get(node), scaled(get(r)))), // the row of U that meets the present column
      set(i, quotient(get(s), 2 * columns)),
      times(i, laterEntries(2)),
      columns === 1
        ? []
        : [set(i, quotient(remainder(get(s), 2 * columns), columns)), times(i, laterEntries(1))],
      set(i, remainder(get(s), columns === 1 ? 2 : columns)),
      times(i, laterEntries(0)),
      set(below, get(head)),
    ),
    set(node, get(below)),
  );

  const run: Code = [
    set(s, word(get(t), 0)),
    set(count, word(get(t), 4)),
    set(r, word(get(t), 8)),
    set(width, add(get(r), get(s))),
    move(t, 12),
    choose(shape(get(s), get(r)), [...range(UNROLLED + 1).map(single), general]),
  ];

  /** For `count` items: `item`, several in a round, with pointers that move by so many bytes an item. */
  const unrolled = (
    together: number,
    item: (index: number) => Code,
    ...pointers: readonly (readonly [pointer: number, bytes: number])[]
  ): Code => [
    set(i, quotient(get(count), together)),
    times(
      i,
      range(together).map(item),
      pointers.map(([pointer, size]) => move(pointer, together * size)),
    ),
    set(i, remainder(get(count), together)),
    times(
      i,
      item(0),
      pointers.map(([pointer, size]) => move(pointer, size)),
    ),
  ];
  const subtree: Code[] = [
    set(head, get(t)),
    set(end, add(get(head), word(get(head), 0))),
    set(changed, word(get(marks))),
    setWord(get(marks), integer(0)),
    move(marks, 4),
    move(t, HEADER * 4),
    set(count, word(get(head), 8)),
    set(difference, noBits),
    unrolled(
      4,
      (index) => [
        set(now, loadBits(word(get(t), 4 * index))),
        set(difference, either(get(difference), differing(get(now), loadBits(get(saved), index)))),
        storeBits(get(saved), get(now), index),
      ],
      [t, 4],
      [saved, bytes],
    ),
    set(changed, or(get(changed), anyBit(get(difference)))),
    when(
      get(changed),
      setWord(add(get(firstMark), multiply(word(get(head), 4), integer(4))), integer(1)),
      set(node, word(get(head), 12)),
      clear(get(node), word(get(head), 16)),
      clear(word(get(head), 20), word(get(head), 24)),
      set(count, word(get(head), 8)),
      set(from, subtract(get(saved), scaled(get(count)))),
      unrolled(4, (index) => store(word(get(t), 4 * index), load(get(from), index)), [t, 4], [from, bytes]),
      set(r, word(get(head), 28)),
      times(
        r,
        set(from, word(get(t), 0)),
        set(count, word(get(t), 4)),
        move(t, 8),
        timesAtLeastOnce(
          count,
          set(address, word(get(t))),
          store(get(address), plus(load(get(address)), load(get(from)))),
          move(t, 4),
          next(from),
        ),
      ),
      set(runs, word(get(head), 32)),
      timesAtLeastOnce(runs, run),
    ),
    set(t, get(end)),
  ];
  return {
    name: 'refactor',
    parameters: [I32, I32, I32, I32, I32],
    locals: locals.types,
    code: [
      set(firstMark, get(marks)),
      set(check, load(get(checkAt))),
      timesAtLeastOnce(subtrees, subtree),
      store(get(checkAt), get(check)),
    ],
  };
}
type Eight = [number, number, number, number, number, number, number, number];

/** solve and solveTransposed(runs, their end, solve table, numbers of the first supernode): see `solvePlain`. */
function solveRoutine(arithmetic: Arithmetic, transposed: boolean): Routine {
  const { type, bytes, load, store, minus, by } = arithmetic;
  const [runs, lastRun, t, node] = [0, 1, 2, 3];
  const locals = new Locals(4);
  const [s, count, r, width, k, i, f, address] = range(8).map(() => locals.of(I32)) as Eight;
  const [own, at, firstRun] = range(3).map(() => locals.of(I32)) as [number, number, number];
  const known = locals.of(type);
  const next = (pointer: number, places = 1) => move(pointer, places * bytes);
  const scaled = (places: Code) => multiply(places, integer(bytes));
  const advance = (pointer: number, by: Code) => set(pointer, add(get(pointer), by));

  const direction = (forward: boolean): Code => {
    /** Forward the known number goes into the one at `place`; backward that one goes into it. */
    const term = (place: Code, factor: Code): Code =>
      forward
        ? [set(address, place), store(get(address), minus(load(get(address)), by(factor, get(known))))]
        : set(known, minus(get(known), by(factor, load(place))));
    const scale = (pivot: Code) => set(known, by(get(known), load(pivot)));
    const begin = (pivot: Code): Code => [
      set(known, load(get(at))),
      forward && transposed ? [scale(pivot), store(get(at), get(known))] : [],
    ];
    const finish = (pivot: Code): Code =>
      forward ? [] : [transposed ? [] : scale(pivot), store(get(at), get(known))];
    const upper = forward === transposed; // works with a row of U, else with a column of L

    const single = (later: number): Code => {
      const first = upper ? 1 : 1 + later;
      const sign = forward ? 1 : -1;
      const step = [next(node, sign * (1 + 2 * later)), move(t, sign * 4 * (1 + later))];
      return timesAtLeastOnce(
        count,
        forward ? [] : step,
        set(at, word(get(t))),
        begin(get(node)),
        range(later).map((index) => term(word(get(t), 4 * (1 + index)), load(get(node), first + index))),
        finish(get(node)),
        forward ? step : [],
      );
    };
    /** The later numbers for the member that `own` names. */
    const member: Code[] = [
      set(k, add(get(t), multiply(get(own), integer(4)))),
      set(at, word(get(k))),
      set(f, add(get(node), scaled(multiply(get(own), add(get(width), integer(1)))))),
      begin(get(f)),
      set(i, subtract(subtract(get(r), integer(1)), get(own))),
      times(
        i,
        advance(f, upper ? integer(bytes) : scaled(get(width))),
        move(k, 4),
        term(word(get(k)), load(get(f))),
      ),
      upper ? next(f) : set(f, add(get(node), scaled(add(multiply(get(r), get(width)), get(own))))),
      set(i, get(s)),
      times(
        i,
        move(k, 4),
        term(word(get(k)), load(get(f))),
        advance(f, upper ? integer(bytes) : scaled(get(r))),
      ),
      finish(add(get(node), scaled(multiply(get(own), add(get(width), integer(1)))))),
    ];
    const nodeBytes = scaled(multiply(get(r), add(get(width), get(s))));
    const tableBytes = multiply(get(width), integer(4));
    const general = forward
      ? timesAtLeastOnce(
          count,
          set(own, integer(0)),
          doWhile([member, move(own, 1)], isLess(get(own), get(r))),
          advance(node, nodeBytes),
          advance(t, tableBytes),
        )
      : timesAtLeastOnce(
          count,
          set(node, subtract(get(node), nodeBytes)),
          set(t, subtract(get(t), tableBytes)),
          set(own, get(r)),
          doWhile([move(own, -1), member], get(own)),
        );
    return doWhile(
      [
        forward ? [] : move(runs, -12),
        set(s, word(get(runs), 0)),
        set(count, word(get(runs), 4)),
        set(r, word(get(runs), 8)),
        set(width, add(get(r), get(s))),
        choose(shape(get(s), get(r)), [...range(UNROLLED + 1).map(single), general]),
        forward ? move(runs, 12) : [],
      ],
      differ(get(runs), get(forward ? lastRun : firstRun)),
    );
  };
  return {
    name: transposed ? 'solveTransposed' : 'solve',
    parameters: [I32, I32, I32, I32],
    locals: locals.types,
    code: [set(firstRun, get(runs)), direction(true), direction(false)],
  };
}

export function kernelBytes(systems: 1 | 2): Uint8Array<ArrayBuffer> {
  const arithmetic = systems === 1 ? SINGLE : PAIR;
  return moduleOf([
    refactorRoutine(arithmetic),
    solveRoutine(arithmetic, false),
    solveRoutine(arithmetic, true),
  ]);
}
