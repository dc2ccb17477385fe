/** How loaded traces are arranged: twins by point, all over each other, each alone, or the second less the first. */

import {
  COMMON_TRIGGER,
  instantAt,
  inTimeOfFirst,
  inverseMap,
  type LogicTrace,
  mapped,
  type Pyramid,
  type TimeMap,
} from '../../waveform/index.ts';
import type { Expected } from './expected.ts';
import type { DrawnWord, Lane } from './picture.ts';
import type { Span } from './span.ts';

export type Arrangement = 'by point' | 'overlay' | 'stacked' | 'difference';

/** A channel that can be drawn. */
export interface Loaded {
  readonly key: string;
  /** Its point, else its name. */
  readonly title: string;
  readonly point: string;
  readonly unit: string;
  /** Id of the unit, and whether its trace is the hollow one. */
  readonly owner: string;
  readonly hollow: boolean;
  /** Of the second of two captures: laid on the first by the map. */
  readonly second: boolean;
  readonly low: number;
  readonly high: number;
  /** First and last instant, in its own seconds. */
  readonly extent: Span;
  readonly pyramid?: Pyramid;
  readonly logic?: LogicTrace;
}

/** Channels that belong together, of either capture; with what was found between them. */
export interface Group {
  readonly reference?: Loaded;
  readonly other?: Loaded;
  readonly departures: readonly Span[];
  readonly difference?: Loaded;
  readonly referenceWords: readonly DrawnWord[];
  readonly otherWords: readonly DrawnWord[];
}

export function lanesOf(
  groups: readonly Group[],
  arrangement: Arrangement,
  chosen: number,
  map: TimeMap,
): Lane[] {
  const back = inverseMap(map);
  const two = groups.some(({ reference }) => reference) && groups.some(({ other }) => other);
  const members = (group: Group, chosen: boolean): Member[] =>
    (
      [
        [group.reference, [], group.referenceWords],
        [group.other, group.departures, group.otherWords],
      ] as const
    ).flatMap(([loaded, departures, words]) => (loaded ? [{ loaded, departures, words, chosen }] : []));
  const lane = (
    key: string,
    of: readonly Member[],
    named: (one: Loaded) => string,
    parts?: number,
  ): Lane => ({
    key,
    unit: of[0]?.loaded.unit ?? '',
    low: Math.min(...of.map(({ loaded }) => loaded.low)),
    high: Math.max(...of.map(({ loaded }) => loaded.high)),
    traces: of.flatMap(({ loaded, departures, chosen }) =>
      loaded.pyramid === undefined
        ? []
        : [
            {
              pyramid: loaded.pyramid,
              map: loaded.second ? map : COMMON_TRIGGER,
              hollow: loaded.hollow,
              chosen,
              name: named(loaded),
              departures,
            },
          ],
    ),
    logic: of.flatMap(({ loaded, departures, words }) =>
      loaded.logic === undefined
        ? []
        : [
            {
              trace:
                loaded.second && (back.offset !== 0 || back.rate !== 1)
                  ? inTimeOfFirst(loaded.logic, map)
                  : loaded.logic,
              hollow: loaded.hollow,
              name: named(loaded),
              words,
              departures,
            },
          ],
    ),
    ...(parts === undefined ? {} : { parts }),
  });
  const own = (one: Loaded): string => one.owner;
  const whole = (one: Loaded): string => (two ? `${one.title}, ${one.owner}` : one.title);
  const split = groups.map((group, i) => ({
    group,
    members: members(group, arrangement !== 'overlay' || i === chosen),
    parts: group.departures[0]?.from,
  }));
  switch (arrangement) {
    case 'by point':
      return split.map(({ members: of, parts }) => lane(of[0]!.loaded.key, of, two ? own : () => '', parts));
    case 'stacked':
      return split.flatMap(({ members: of, parts }) =>
        of.map((one) =>
          lane(
            one.loaded.key,
            [one],
            own,
            one.loaded.second === of.at(-1)!.loaded.second ? parts : undefined,
          ),
        ),
      );
    case 'difference':
      return split.flatMap(({ group, members: of, parts }) => [
        lane(of[0]!.loaded.key, of, two ? own : () => '', parts),
        ...(group.difference
          ? [
              lane(
                group.difference.key,
                [{ loaded: group.difference, departures: [], words: [], chosen: true }],
                () => '',
              ),
            ]
          : []),
      ]);
    case 'overlay': {
      const kinds = new Map<string, Member[]>();
      for (const { members: of } of split) {
        for (const one of of) {
          const kind = one.loaded.logic ? one.loaded.key : `all ${one.loaded.unit}`;
          kinds.set(kind, [...(kinds.get(kind) ?? []), one]);
        }
      }
      const first = Math.min(...split.map(({ parts }) => parts ?? Number.POSITIVE_INFINITY));
      return [...kinds].map(([kind, of]) =>
        lane(kind, of, whole, Number.isFinite(first) ? first : undefined),
      );
    }
  }
}

interface Member {
  readonly loaded: Loaded;
  readonly chosen: boolean;
  readonly departures: readonly Span[];
  readonly words: readonly DrawnWord[];
}

/** The lanes with what is expected behind them; where traces lie over each other, behind the chosen one. */
export function withExpected(
  lanes: readonly Lane[],
  groups: readonly Group[],
  chosen: number,
  byPoint: ReadonlyMap<string, Expected>,
  map: TimeMap,
): readonly Lane[] {
  if (byPoint.size === 0) return lanes;
  return lanes.map((lane) => {
    const own = groups.find(({ reference, other }) => reference?.key === lane.key || other?.key === lane.key);
    const group = own ?? (lane.key.startsWith('all ') ? groups[chosen] : undefined);
    const expected = byPoint.get((group?.reference ?? group?.other)?.point ?? '');
    if (!expected || lane.traces.length === 0) return lane;
    const low = Math.min(lane.low, expected.least);
    return { ...lane, low, high: Math.max(lane.high, expected.greatest), expected: { expected, map } };
  });
}

/** All that there is to see, in the seconds of the first capture. */
export function wholeOf(groups: readonly Group[], map: TimeMap): Span {
  const back = inverseMap(map);
  const ends = groups.flatMap(({ reference, other }) => [
    ...(reference ? [reference.extent] : []),
    ...(other
      ? [
          other.second
            ? { from: mapped(back, other.extent.from), to: mapped(back, other.extent.to) }
            : other.extent,
        ]
      : []),
  ]);
  const from = Math.min(...ends.map((end) => end.from));
  const to = Math.max(...ends.map((end) => end.to));
  return from < to ? { from, to } : { from: from || 0, to: (from || 0) + 1e-6 };
}

/** Seconds between samples of the finest trace; what is nearer cannot be told apart. */
export function finestStep(groups: readonly Group[]): number {
  const steps = groups
    .flatMap(({ reference, other }) => [reference, other])
    .flatMap((one) => {
      const trace = one?.pyramid?.trace;
      if (!trace)
        return one?.logic
          ? [(one.extent.to - one.extent.from) / Math.max(8, 4 * one.logic.instants.length)]
          : [];
      const last = trace.values.length - 1;
      return last > 0 ? [(instantAt(trace.timebase, last) - instantAt(trace.timebase, 0)) / last] : [];
    });
  return Math.min(...steps, Number.POSITIVE_INFINITY);
}
