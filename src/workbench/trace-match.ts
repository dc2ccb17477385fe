import { InputError } from '../records/index.ts';
import {
  type Alignment,
  alignByCorrelation,
  alignByEdges,
  COMMON_TRIGGER,
  type Comparison,
  comparison,
  edgesOf,
  inverseMap,
  type LogicTrace,
  logicTrace,
  mapped,
  type StateDifference,
  stateDifferences,
  type TimeMap,
  type TimeWindow,
  type Trace,
  type WordComparison,
  type WordFrame,
  wordComparison,
} from '../waveform/index.ts';
import { channelNamed } from './capture-correction.ts';
import type { CaptureFile } from './capture-file.ts';

export type AlignBy = 'trigger' | 'edges' | 'likeness';

export interface MatchWish {
  /** One channel of both, by name or number; without it all that have the same name, or the first of each. */
  readonly channel?: string | undefined;
  readonly align: AlignBy;
  /** Largest difference of the clock rates, as a share; 0 for none. */
  readonly rate: number;
  /** Seconds by which edges may be off; by the noise and the sample interval where it is left out, and 0 between logic channels. */
  readonly tolerance?: number | undefined;
  /** The stretch of the first one's time that is compared; where words are, the first one begins in it. */
  readonly window?: TimeWindow | undefined;
  /** Bits of a word and the channel of its clock, where words are compared. */
  readonly word?: { readonly bits: number; readonly clock: string } & Pick<WordFrame, 'order'> & {
      readonly edge: 'rising' | 'falling';
    };
}

/** One channel of both units. */
export interface ChannelMatch {
  readonly name: string;
  /** `V`, `A` or empty; of a logic channel empty. */
  readonly unit: string;
  /** Of traces: where they differ, or why nobody can tell. */
  readonly traces?: Comparison | { readonly reason: string };
  /** Of logic channels: stretches in different states. */
  readonly states?: readonly StateDifference[];
  readonly words?: WordComparison;
}

export interface Match {
  /** How the second lies on the first. */
  readonly map: TimeMap;
  /** `undefined` for a common trigger. */
  readonly alignment: Alignment | undefined;
  readonly channels: readonly ChannelMatch[];
}

type Channel = Trace | LogicTrace;

/**
 * Two captures of the same thing on two units: channel by channel where the second first differs from the first.
 *
 * @throws InputError  `unknown-channel`, `no-alignment` with the reason, `wrong-kind` where a trace meets logic
 */
export function captureMatch(first: CaptureFile, second: CaptureFile, wish: MatchWish): Match {
  const pairs = pairsOf(first, second, wish);
  const found = wish.align === 'trigger' ? undefined : alignment(pairs[0]!, wish);
  const map = found?.map ?? COMMON_TRIGGER;
  return {
    map,
    alignment: found,
    channels: pairs.map((pair) => channelMatch(pair, map, first, second, wish)),
  };
}

type Pair = readonly [first: Channel, second: Channel];

function pairsOf(first: CaptureFile, second: CaptureFile, { channel, word }: MatchWish): Pair[] {
  const of = ({ file, channels }: CaptureFile, name: string): Channel =>
    channels[
      channelNamed(
        file,
        channels.map((one) => one.name),
        name,
      )
    ]!;
  if (channel !== undefined) return [[of(first, channel), of(second, channel)]];
  const clock = word && [of(first, word.clock), of(second, word.clock)];
  const data = first.channels.filter((one) => !clock?.includes(one));
  const shared = data.flatMap((one): Pair[] => {
    const other = second.channels.find(({ name }) => name === one.name);
    return other === undefined ? [] : [[one, other]];
  });
  if (shared.length > 0) return shared;
  const [a, b] = [data[0], second.channels.filter((one) => !clock?.includes(one))[0]];
  if (a === undefined || b === undefined)
    throw new InputError('unknown-channel', 'there is no channel beside the clock; name it with --channel');
  return [[a, b]];
}

/** @throws InputError  `no-alignment` */
function alignment([a, b]: Pair, { align, rate }: MatchWish): Alignment {
  const [one, two] = [asTrace(a), asTrace(b)];
  const found =
    align === 'edges'
      ? alignByEdges(edgesOf(one), edgesOf(two), { rate })
      : alignByCorrelation(one, two, { rate });
  if ('map' in found) return found;
  throw new InputError(
    'no-alignment',
    `${a.name} of the two files cannot be brought together by ${align}: ${found.reason}`,
  );
}

/** A logic channel of one bit as a trace of 0 and 1, so that it can be laid on another; a wider one by its least bit. */
function asTrace(channel: Channel): Trace {
  if ('values' in channel) return channel;
  const { name, instants, states, end } = channel;
  const stamps: number[] = [];
  const values: number[] = [];
  const value = (state: string): number => (state.endsWith('1') ? 1 : state.endsWith('0') ? 0 : Number.NaN);
  states.forEach((state, i) => {
    const before = instants[i]!;
    const after = instants[i + 1] ?? end;
    // Up to just before the next change: the step is where the change is.
    stamps.push(before, before + (after - before) * (1 - 1e-6));
    values.push(value(state), value(state));
  });
  const kept = stamps.map((_, i) => i).filter((i) => i === 0 || stamps[i]! > stamps[i - 1]!);
  return {
    ...{ name, unit: '' },
    timebase: { stamps: Float64Array.from(kept, (i) => stamps[i]!) },
    values: Float32Array.from(kept, (i) => values[i]!),
  };
}

function channelMatch(
  [a, b]: Pair,
  map: TimeMap,
  first: CaptureFile,
  second: CaptureFile,
  { word, tolerance, window = ALL }: MatchWish,
): ChannelMatch {
  const { name } = a;
  if (word !== undefined) {
    const clocks = [first, second].map((file) => {
      const names = file.channels.map((one) => one.name);
      return asLogic(file.channels[channelNamed(file.file, names, word.clock)]!);
    });
    // Both count from where both have begun.
    const [one, two] = clocks.map(({ instants }) => instants[0] ?? 0);
    const start = Math.max(one!, mapped(inverseMap(map), two!), window.from);
    const frame = (clock: LogicTrace, at: number): WordFrame => {
      return { length: word.bits, order: word.order, start: at, timing: { clock, edge: word.edge } };
    };
    const frames = [frame(clocks[0]!, start), frame(clocks[1]!, mapped(map, start))] as const;
    return { name, unit: '', words: wordComparison(until(asLogic(a), window.to), asLogic(b), ...frames) };
  }
  if ('values' in a && 'values' in b)
    return {
      name,
      unit: a.unit,
      traces: comparison(a, b, {
        map,
        window,
        ...(tolerance === undefined ? {} : { timingTolerance: tolerance }),
      }),
    };
  const [one, two] = [asLogic(a), asLogic(b)];
  if (one.width !== two.width)
    throw new InputError(
      'wrong-kind',
      `${name} has ${one.width} bits in one file and ${two.width} in the other`,
    );
  const states = stateDifferences(one, two, map, tolerance ?? 0);
  return { name, unit: '', states: states.filter(({ from, to }) => to > window.from && from < window.to) };
}

const ALL: TimeWindow = { from: Number.NEGATIVE_INFINITY, to: Number.POSITIVE_INFINITY };

function until(trace: LogicTrace, to: number): LogicTrace {
  return { ...trace, end: Math.min(trace.end, to) };
}

function asLogic(channel: Channel): LogicTrace {
  return 'values' in channel ? logicTrace(channel) : channel;
}
