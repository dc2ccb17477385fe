import {
  add,
  type Code,
  choose,
  clear,
  doWhile,
  F64,
  get,
  I32,
  integer,
  isLess,
  moduleOf,
  move,
  multiply,
  or,
  type Routine,
  set,
  setWord,
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
  /** A word that is not zero when the numbers differ. */
  readonly differ: (a: Code, b: Code) => Code;
}

const ONE = [0x44, 0, 0, 0, 0, 0, 0, 0xf0, 0x3f];

const SINGLE: Arithmetic = {
  type: F64,
  bytes: 8,
  load: (address, places = 0) => [...address, 0x2b, 3, ...unsigned(8 * places)],
  store: (address, value, places = 0) => [...address, ...value, 0x39, 3, ...unsigned(8 * places)],
  plus: (a, b) => [...a, ...b, 0xa0],
  minus: (a, b) => [...a, ...b, 0xa1],
  by: (a, b) => [...a, ...b, 0xa2],
  reciprocal: (a) => [...ONE, ...a, 0xa3],
  differ: (a, b) => [...a, ...b, 0x62],
};

/** Two systems at once, one in each half of a vector. */
const PAIR: Arithmetic = {
  type: V128,
  bytes: 16,
  load: (address, places = 0) => [...address, 0xfd, 0x00, 4, ...unsigned(16 * places)],
  store: (address, value, places = 0) => [...address, ...value, 0xfd, 0x0b, 4, ...unsigned(16 * places)],
  plus: (a, b) => [...a, ...b, 0xfd, 0xf0, 0x01],
  minus: (a, b) => [...a, ...b, 0xfd, 0xf1, 0x01],
  by: (a, b) => [...a, ...b, 0xfd, 0xf2, 0x01],
  reciprocal: (a) => [...ONE, 0xfd, 0x14, ...a, 0xfd, 0xf3, 0x01],
  differ: (a, b) => [...a, ...b, 0xfd, 0x48, 0xfd, 0x53],
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

const range = (count: number) => Array.from({ length: count }, (_, index) => index);

/** refactor(table, marks, previous, subtrees, check): see `refactorPlain`; adds to the number at `check`. */
function refactorRoutine(arithmetic: Arithmetic): Routine {
  const { type, bytes, load, store, plus, minus, by, reciprocal, differ } = arithmetic;
  const [t, marks, saved, subtrees, checkAt] = [0, 1, 2, 3, 4];
  const locals = new Locals(5);
  const [head, end, changed, count, node, from, runs, s] = range(8).map(() => locals.of(I32)) as Eight;
  const [address, r, width, k, i, j, below, pivotRow] = range(8).map(() => locals.of(I32)) as Eight;
  const firstMark = locals.of(I32);
  const [check, value, inverse, l] = range(4).map(() => locals.of(type)) as [number, number, number, number];
  const u = range(UNROLLED).map(() => locals.of(type));
  const next = (pointer: number, places = 1) => move(pointer, places * bytes);
  const scaled = (places: Code) => multiply(places, integer(bytes));

  /** Inverts the pivot at `at` and keeps the inverse. */
  const invert = (at: number): Code => [
    ...set(value, load(get(at))),
    ...set(inverse, reciprocal(get(value))),
    ...store(get(at), get(inverse)),
    ...set(check, plus(get(check), by(get(value), get(inverse)))),
  ];
  /** Makes the entry at `at` one of L. */
  const divide = (at: number, places = 0): Code => [
    ...set(l, by(load(get(at), places), get(inverse))),
    ...store(get(at), get(l), places),
  ];
  const update = (target: Code, factor: Code): Code => [
    ...set(address, target),
    ...store(get(address), minus(load(get(address)), by(get(l), factor))),
  ];

  const single = (later: number): Code => {
    const row = (index: number, at: number) => [
      ...divide(from, index),
      ...range(later).flatMap((column) => update(word(get(t), (at + column) * 4), get(u[column]!))),
    ];
    const rows =
      later <= 4
        ? [...range(later).flatMap((index) => row(index, index * later)), ...move(t, later * later * 4)]
        : [...set(s, integer(later)), ...timesAtLeastOnce(s, row(0, 0), next(from), move(t, later * 4))];
    return [
      ...timesAtLeastOnce(
        count,
        invert(node),
        range(later).flatMap((column) => set(u[column]!, load(get(node), 1 + column))),
        set(from, add(get(node), integer((1 + later) * bytes))),
        rows,
        next(node, 1 + 2 * later),
      ),
    ];
  };

  /** row[j] -= l * pivotRow[j] for `i` contiguous numbers from `address` and `from`. */
  const rowUpdate = times(
    i,
    store(get(address), minus(load(get(address)), by(get(l), load(get(from))))),
    next(address),
    next(from),
  );
  /** As `refactorPlain` has it; `pivotRow` and `below` point at the pivot and the first row of L in its column. */
  const general: Code = timesAtLeastOnce(
    count,
    set(pivotRow, get(node)),
    set(below, add(get(node), scaled(multiply(get(r), get(width))))),
    set(head, get(below)), // the node's first row of L
    set(k, get(r)), // steps that are still to do
    timesAtLeastOnce(
      k,
      invert(pivotRow),
      // rows of the block itself
      set(node, get(pivotRow)),
      set(j, subtract(get(k), integer(1))),
      times(
        j,
        set(node, add(get(node), scaled(get(width)))),
        divide(node),
        set(address, add(get(node), integer(bytes))),
        set(from, add(get(pivotRow), integer(bytes))),
        set(i, add(subtract(get(k), integer(1)), get(s))),
        rowUpdate,
      ),
      // rows of L and what they change further on
      set(node, get(below)),
      set(width, get(t)),
      set(j, get(s)),
      times(
        j,
        divide(node),
        set(address, add(get(node), integer(bytes))),
        set(from, add(get(pivotRow), integer(bytes))),
        set(i, subtract(get(k), integer(1))),
        rowUpdate,
        set(i, get(s)),
        timesAtLeastOnce(i, update(word(get(t)), load(get(from))), next(from), move(t, 4)),
        set(node, add(get(node), scaled(get(r)))),
      ),
      set(t, get(width)),
      set(width, add(get(r), get(s))),
      set(pivotRow, add(get(pivotRow), scaled(add(get(width), integer(1))))),
      next(below),
    ),
    set(node, add(get(head), scaled(multiply(get(r), get(s))))),
    set(t, add(get(t), multiply(multiply(get(s), get(s)), integer(4)))),
  );

  const run: Code = [
    ...set(s, word(get(t), 0)),
    ...set(count, word(get(t), 4)),
    ...set(r, word(get(t), 8)),
    ...set(width, add(get(r), get(s))),
    ...move(t, 12),
    ...choose(get(s), [...range(UNROLLED + 1).map(single), general]),
  ];

  const subtree: Code[] = [
    set(head, get(t)),
    set(end, add(get(head), word(get(head), 0))),
    set(changed, word(get(marks))),
    setWord(get(marks), integer(0)),
    move(marks, 4),
    move(t, HEADER * 4),
    set(count, word(get(head), 8)),
    timesAtLeastOnce(
      count,
      set(value, load(word(get(t)))),
      set(changed, or(get(changed), differ(get(value), load(get(saved))))),
      store(get(saved), get(value)),
      move(t, 4),
      next(saved),
    ),
    when(
      get(changed),
      setWord(add(get(firstMark), multiply(word(get(head), 4), integer(4))), integer(1)),
      set(node, word(get(head), 12)),
      clear(get(node), word(get(head), 16)),
      clear(word(get(head), 20), word(get(head), 24)),
      set(count, word(get(head), 8)),
      set(from, subtract(get(saved), scaled(get(count)))),
      timesAtLeastOnce(count, store(word(get(t)), load(get(from))), move(t, 4), next(from)),
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
      ...set(firstMark, get(marks)),
      ...set(check, load(get(checkAt))),
      ...timesAtLeastOnce(subtrees, ...subtree),
      ...store(get(checkAt), get(check)),
    ],
  };
}
type Eight = [number, number, number, number, number, number, number, number];

/**
 * forward and backward(runs, end of runs, later table or its end, numbers of the first or past the last supernode, its
 * part of the solution): see `solvePlain`.
 */
function substitution(arithmetic: Arithmetic, forward: boolean, transposed: boolean): Routine {
  const { type, bytes, load, store, minus, by } = arithmetic;
  const [runs, lastRun, t, node, x] = [0, 1, 2, 3, 4];
  const locals = new Locals(5);
  const [s, count, r, width, k, i, f, address] = range(8).map(() => locals.of(I32)) as Eight;
  const at = locals.of(I32);
  const known = locals.of(type);
  const next = (pointer: number, places = 1) => move(pointer, places * bytes);
  const scaled = (places: Code) => multiply(places, integer(bytes));
  const moved = (pointer: number, places: Code) => set(pointer, add(get(pointer), scaled(places)));
  const scale = set(known, by(get(known), load(get(f))));

  /** One term: to the later number at `place` (forward) or from it (backward). */
  const term = (place: Code, factor: Code): Code =>
    forward
      ? [...set(address, place), ...store(get(address), minus(load(get(address)), by(factor, get(known))))]
      : set(known, minus(get(known), by(factor, load(place))));
  const begin: Code = [
    ...set(known, load(get(at))),
    ...(forward && transposed ? [...scale, ...store(get(at), get(known))] : []),
  ];
  const finish: Code = forward ? [] : [...(transposed ? [] : scale), ...store(get(at), get(known))];

  /** Entries of U serve backward and, transposed, forward; the others of L. */
  const upper = forward === transposed;
  const single = (later: number): Code => {
    const back: Code = forward ? [] : [...next(node, -1 - 2 * later), ...move(t, -4 * later), ...next(x, -1)];
    const on: Code = forward ? [...next(node, 1 + 2 * later), ...move(t, 4 * later), ...next(x, 1)] : [];
    const first = upper ? 1 : 1 + later;
    return timesAtLeastOnce(
      count,
      back,
      set(f, get(node)),
      set(at, get(x)),
      begin,
      range(later).flatMap((index) => term(word(get(t), 4 * index), load(get(node), first + index))),
      finish,
      on,
    );
  };

  const memberStep = upper ? integer(1) : get(width);
  const laterStep = upper ? integer(1) : get(r);
  const shift = (sign: 1 | -1): Code[] => {
    const by = (places: Code) => (sign > 0 ? places : subtract(integer(0), places));
    return [
      moved(node, by(multiply(get(r), add(get(width), get(s))))),
      set(t, add(get(t), multiply(by(get(s)), integer(4)))),
      moved(x, by(get(r))),
    ];
  };
  const pointer = locals.of(I32);
  const own = locals.of(I32);
  /** For the member that `own` names. */
  const body: Code[] = [
    set(at, add(get(x), scaled(get(own)))),
    set(f, add(get(node), scaled(multiply(get(own), add(get(width), integer(1)))))),
    set(known, load(get(at))),
    forward && transposed ? [...scale, ...store(get(at), get(known))] : [],
    set(pointer, get(f)),
    set(k, get(at)),
    set(i, subtract(subtract(get(r), integer(1)), get(own))),
    times(i, next(k), moved(pointer, memberStep), term(get(k), load(get(pointer)))),
    upper ? next(pointer) : set(pointer, add(get(node), scaled(add(multiply(get(r), get(width)), get(own))))),
    set(i, get(s)),
    set(k, get(t)),
    times(i, term(word(get(k)), load(get(pointer))), move(k, 4), moved(pointer, laterStep)),
    finish,
  ];
  const general: Code = forward
    ? timesAtLeastOnce(
        count,
        set(own, integer(0)),
        doWhile([...body, move(own, 1)], isLess(get(own), get(r))),
        ...shift(1),
      )
    : timesAtLeastOnce(
        count,
        ...shift(-1),
        set(own, get(r)),
        timesAtLeastOnce(own, move(own, -1), ...body, move(own, 1)),
      );

  return {
    name: (forward ? 'forward' : 'backward') + (transposed ? 'Transposed' : ''),
    parameters: [I32, I32, I32, I32, I32],
    locals: locals.types,
    code: doWhile(
      [
        forward ? [] : move(runs, -12),
        set(s, word(get(runs), 0)),
        set(count, word(get(runs), 4)),
        set(r, word(get(runs), 8)),
        set(width, add(get(r), get(s))),
        choose(get(s), [...range(UNROLLED + 1).map(single), general]),
        forward ? move(runs, 12) : [],
      ],
      [...get(runs), ...get(lastRun), 0x47],
    ),
  };
}

/** gather(permutation, solution, count) and scatter(permutation, solution, count): to and from elimination order. */
function permutationRoutine(arithmetic: Arithmetic, name: 'gather' | 'scatter'): Routine {
  const { bytes, load, store } = arithmetic;
  const [t, x, count] = [0, 1, 2];
  const one = name === 'gather' ? store(get(x), load(word(get(t)))) : store(word(get(t)), load(get(x)));
  return {
    name,
    parameters: [I32, I32, I32],
    locals: [],
    code: timesAtLeastOnce(count, one, move(t, 4), move(x, bytes)),
  };
}

export function kernelBytes(systems: 1 | 2): Uint8Array<ArrayBuffer> {
  const arithmetic = systems === 1 ? SINGLE : PAIR;
  return moduleOf([
    refactorRoutine(arithmetic),
    ...[true, false].flatMap((forward) =>
      [false, true].map((transposed) => substitution(arithmetic, forward, transposed)),
    ),
    permutationRoutine(arithmetic, 'gather'),
    permutationRoutine(arithmetic, 'scatter'),
  ]);
}
