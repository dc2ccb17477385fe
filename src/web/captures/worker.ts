/** Everything about waveforms that takes longer than a frame of the screen. */

import {
  type Alignment,
  alignByCorrelation,
  alignByEdges,
  COMMON_TRIGGER,
  comparison,
  differenceTrace,
  type Edges,
  edgesOf,
  edgesOfLogic,
  inTimeOfFirst,
  inverseMap,
  type LogicTrace,
  logicTrace,
  mapped,
  stateDifferences,
  type TimeMap,
  type TimeWindow,
  type Trace,
  type WordFrame,
  wordComparison,
  words,
} from '../../waveform/index.ts';
import { logicQuantities, quantities } from './quantities.ts';
import { samples } from './samples.ts';
import {
  type AnyTrace,
  type Asked,
  type FoundWord,
  type FrameChoice,
  type Handed,
  isLogic,
  type TaskName,
  type Tasks,
  type Told,
} from './work.ts';

const held = new Map<string, AnyTrace>();

/** What a worker's global object is; the page's library of types has the window's only. */
const port = self as unknown as {
  postMessage(message: Told, transfer: Transferable[]): void;
  addEventListener(type: 'message', listener: (event: MessageEvent<Asked | Handed>) => void): void;
};

const TASKS: {
  readonly [T in TaskName]: (
    ask: Tasks[T]['ask'],
    id: number,
  ) => Tasks[T]['answer'] | Promise<Tasks[T]['answer']>;
} = {
  async samples({ url, key, name, unit }, id) {
    const trace = await samples(url, name, unit, (done, total) => port.postMessage({ id, done, total }, []));
    held.set(key, trace);
    return trace;
  },
  quantities({ key, window, from }) {
    const one = trace(key);
    const others = from
      .filter(({ key: other }) => !isBus(trace(other)))
      .map(({ point, key: other }) => ({ point, edges: edges(other, window) }));
    if (!isLogic(one)) return quantities(one, window, others);
    return isBus(one) ? [] : logicQuantities(one, window, others);
  },
  alignment({ first, second, how, rate }) {
    if (how === 'trigger' || isBus(trace(first)) || isBus(trace(second))) return TRIGGER;
    const [one, two] = [trace(first), trace(second)];
    // Samples of logic lines are their edges.
    return how === 'edges' || isLogic(one) || isLogic(two)
      ? alignByEdges(edges(first), edges(second), { rate })
      : alignByCorrelation(one, two, { rate });
  },
  comparison({ first, second, map, volts, seconds }) {
    return comparison(analogue(first), analogue(second), {
      map,
      ...(volts === undefined ? {} : { amplitudeTolerance: volts }),
      ...(seconds === undefined ? {} : { timingTolerance: seconds }),
    });
  },
  difference({ first, second, map }) {
    return differenceTrace(analogue(first), analogue(second), map);
  },
  states({ first, second, map, tolerance }) {
    return stateDifferences(digital(first), digital(second), map, tolerance);
  },
  words({ first, second, map, frame }) {
    try {
      return found(digital(first), second === undefined ? undefined : digital(second), map, frame);
    } catch (error) {
      if (error instanceof RangeError) return { fault: error.message };
      throw error;
    }
  },
};

/** Both traces count from the same event. */
const TRIGGER: Alignment = { map: COMMON_TRIGGER, offsetUncertainty: 0, rateUncertainty: 0, likeness: 1 };

function found(
  first: LogicTrace,
  second: LogicTrace | undefined,
  map: TimeMap,
  choice: FrameChoice,
): Tasks['words']['answer'] {
  const frame = framed(choice, choice.clock, choice.start);
  const mine = shownWords(words(first, frame), frame, undefined);
  if (second === undefined)
    return { first: mine, second: [], differences: [], count: mine.length, undecided: 0 };
  const other =
    choice.twinClock === undefined ? undefined : framed(choice, choice.twinClock, mapped(map, choice.start));
  const compared = wordComparison(first, second, frame, other ?? map);
  const theirs =
    other === undefined
      ? shownWords(words(inTimeOfFirst(second, map), frame), frame, undefined)
      : shownWords(words(second, other), frame, inverseMap(map));
  return {
    first: mine,
    second: theirs,
    differences: compared.differences,
    count: compared.words,
    undecided: compared.undecided,
  };
}

function framed(
  { edge, period, length, order }: FrameChoice,
  clock: string | undefined,
  start: number,
): WordFrame {
  return { timing: clock === undefined ? { period } : { clock: digital(clock), edge }, start, length, order };
}

function shownWords(
  list: ReturnType<typeof words>,
  { order }: WordFrame,
  back: TimeMap | undefined,
): FoundWord[] {
  return list.map(({ bits, instants }) => ({
    bits,
    inTime: order === 'least significant first' ? [...bits].reverse().join('') : bits,
    instants: back === undefined ? instants : instants.map((t) => mapped(back, t)),
  }));
}

function trace(key: string): AnyTrace {
  const known = held.get(key);
  if (known === undefined) throw new Error(`no trace ${key} in the worker`);
  return known;
}

/** Several lines at once have states, but no edges. */
function isBus(one: AnyTrace): boolean {
  return isLogic(one) && one.width !== 1;
}

function edges(key: string, window?: TimeWindow): Edges {
  const one = trace(key);
  return isLogic(one) ? edgesOfLogic(one, window) : edgesOf(one, window === undefined ? {} : { window });
}

/** A logic trace of one line is levels of 0 and 1 at its changes. */
function analogue(key: string): Trace {
  const known = trace(key);
  return isLogic(known) ? stepped(known) : known;
}

/** An analogue one is taken as logic by its edges. */
function digital(key: string): LogicTrace {
  const known = trace(key);
  return isLogic(known) ? known : logicTrace(known);
}

/** Each change as two samples, so that lines between samples are those of the logic trace. */
function stepped({ name, instants, states, end }: LogicTrace): Trace {
  const stamps = new Float64Array(2 * instants.length);
  const values = new Float32Array(stamps.length);
  instants.forEach((from, i) => {
    const to = instants[i + 1] ?? end;
    stamps[2 * i] = from;
    stamps[2 * i + 1] = to - 1e-6 * (to - from);
    const state = states[i]!;
    values.fill(/[xz]/i.test(state) ? Number.NaN : Number.parseInt(state, 2), 2 * i, 2 * i + 2);
  });
  return { name, unit: '', timebase: { stamps }, values };
}

/** The buffers of a trace go over as a copy; the worker keeps its own. */
function copied(answer: unknown): { readonly answer: unknown; readonly transfer: Transferable[] } {
  const one = answer as Trace;
  if (!(one.values instanceof Float32Array)) return { answer, transfer: [] };
  const values = one.values.slice();
  if (!('stamps' in one.timebase)) return { answer: { ...one, values }, transfer: [values.buffer] };
  const stamps = one.timebase.stamps.slice();
  return { answer: { ...one, values, timebase: { stamps } }, transfer: [values.buffer, stamps.buffer] };
}

port.addEventListener('message', async ({ data }) => {
  if ('trace' in data) {
    held.set(data.key, data.trace);
    return;
  }
  const { id, task, ask } = data;
  try {
    const run = TASKS[task] as (ask: unknown, id: number) => unknown;
    const { answer, transfer } = copied(await run(ask, id));
    port.postMessage({ id, answer }, transfer);
  } catch (error) {
    port.postMessage({ id, failed: error instanceof Error ? error.message : String(error) }, []);
  }
});
