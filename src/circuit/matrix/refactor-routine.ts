import {
  type Arithmetic,
  byVector,
  Locals,
  loadVector,
  minusVector,
  quotient,
  range,
  remainder,
  shape,
  storeVector,
} from './arithmetic.ts';
import {
  add,
  type Code,
  choose,
  clear,
  get,
  I32,
  integer,
  move,
  multiply,
  or,
  type Routine,
  set,
  setWord,
  subtract,
  times,
  timesAtLeastOnce,
  V128,
  when,
  word,
} from './assembler.ts';
import { HEADER } from './plan.ts';
import { UNROLLED } from './symbolic.ts';

/** refactor(table, marks, previous, subtrees, check): see `refactorPlain`; adds to the number at `check`. */
export function refactorRoutine(arithmetic: Arithmetic): Routine {
  const { type, bytes, load, store, plus, minus, by, reciprocal } = arithmetic;
  const { columns, spread, loadSpread, gather, scatter } = arithmetic;
  const { bits, loadBits, storeBits, differing, either, noBits, anyBit } = arithmetic;
  const [t, marks, saved, subtrees, checkAt] = [0, 1, 2, 3, 4];
  const locals = new Locals(5);
  const [head, end, changed, count, node, from, runs, s] = locals.eight(I32);
  const [address, r, width, k, i, j, below, pivotRow] = locals.eight(I32);
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
