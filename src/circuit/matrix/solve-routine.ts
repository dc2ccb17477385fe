import { type Arithmetic, Locals, range, shape } from './arithmetic.ts';
import {
  add,
  type Code,
  choose,
  differ,
  doWhile,
  get,
  I32,
  integer,
  isLess,
  move,
  multiply,
  type Routine,
  set,
  subtract,
  times,
  timesAtLeastOnce,
  word,
} from './assembler.ts';
import { UNROLLED } from './symbolic.ts';

/** solve and solveTransposed(runs, their end, solve table, numbers of the first supernode): see `solvePlain`. */
export function solveRoutine(arithmetic: Arithmetic, transposed: boolean): Routine {
  const { type, bytes, load, store, minus, by } = arithmetic;
  const [runs, lastRun, t, node] = [0, 1, 2, 3];
  const locals = new Locals(4);
  const [s, count, r, width, k, i, f, address] = locals.eight(I32);
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
