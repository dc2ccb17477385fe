/**
 * Which two faults together may explain what no single one does.
 *
 * All pairs of a table are too many to solve, so they are looked for in three steps: faults that explain a part of the readings well,
 * whatever they do to the rest; seconds for each of them, the pair's moves composed of those of its two faults; and a real
 * solve of the likeliest pairs. What comes out is to be weighed in full by the caller.
 */
import type { CircuitSolver } from '../circuit/index.ts';
import type { SoundDatum } from './baseline.ts';
import { type Case, pointVolts } from './hypothesis.ts';
import { steadily } from './steadily.ts';
import type { FaultTable } from './table.ts';

/** Tolerance of the moves, as a share of them: severities lie between the grades, parts off their values. */
export const SCREEN_SHARE = 0.15;
/** Firsts taken from each of the rankings. */
const FIRSTS = 12;
/** Seconds looked at closely for each first. */
const CLOSELY = 40;
/** Weight of what a second does at readings that the first explains by itself: together the two may do another thing there. */
const HEARSAY = 0.1;
/** Of the seconds of each first, those that are solved in any case. */
const SURELY = 4;
/** Further pairs that are solved, and pairs that are given to be weighed. */
const SOLVED = 200;
const WEIGHED = 30;
/** A reading is left unexplained by a first when its density is so far below that of its mean (natural log: about 3 spreads). */
const UNEXPLAINED_LOG = 4.5;
/** A point that a fault moves by less is taken as left alone, volts. */
const STILL_VOLTS = 5e-3;
/** Where both faults move a point, what is seen of them may be both moves added or one alone: what the choice costs (natural log). */
const CHOICE_LOG = 0.1;

/** What a fault does to the readings: which it moves, by how many volts (NaN: no operating point). */
export interface SeenFault {
  readonly fault: number;
  readonly touched: readonly number[];
  readonly moves: readonly number[];
  /** Log ratio of each touched reading's density against sound. */
  readonly logs: readonly number[];
  /** Log ratio of the readings' densities against sound, taken as independent. */
  readonly log: number;
}

export interface PairQuestion {
  readonly table: FaultTable;
  readonly solver: CircuitSolver;
  readonly data: readonly SoundDatum[];
  /** What a sound unit would read: mean and spread of each datum. */
  readonly sound: { readonly mean: Float64Array; readonly sigma: Float64Array };
  /** Where the solutions of two faults together are kept. */
  readonly solvedPair: (faults: readonly number[]) => NonNullable<Case['solved']>;
  /** Single faults weighed in full, best first. */
  readonly firsts: readonly { readonly item: Case }[];
  readonly seen: readonly SeenFault[];
  /** Log prior of each fault of the table. */
  readonly logShare: Float64Array;
  /** Log prior of a second fault's being there at all. */
  readonly logDouble: number;
  /** Log density of a residual of some variance, slips included. */
  readonly logOf: (residual: number, variance: number) => number;
}

interface Pair {
  readonly faults: readonly [number, number];
  readonly score: number;
}

function graded(table: FaultTable, fault: number): number {
  return table.faults[fault]!.fault.grade ? 1 : 0;
}

/** The likeliest double faults, best first by a tolerant look at their solved points; at most WEIGHED. */
export function likelyPairs(question: PairQuestion): Case[] {
  const { table, data, sound, seen, logShare, logOf, logDouble, solvedPair } = question;
  const n = data.length;
  const moves = new Map<number, Float64Array>();
  const bySeen = new Map<number, SeenFault>();
  for (const s of seen) if (s.touched.length > 0) bySeen.set(s.fault, s);
  const movesOf = (fault: number): Float64Array => {
    let found = moves.get(fault);
    if (!found) {
      found = new Float64Array(n);
      const s = bySeen.get(fault)!;
      for (let k = 0; k < s.touched.length; k++) found[s.touched[k]!] = s.moves[k]!;
      moves.set(fault, found);
    }
    return found;
  };
  const variance = (i: number, move: number): number => sound.sigma[i]! ** 2 + (SCREEN_SHARE * move) ** 2;
  const off = Float64Array.from(data, (d, i) => d.value - sound.mean[i]!);

  const scored: Pair[] = [];
  const sure: Pair[] = [];
  const made = new Set<string>();
  for (const first of firstsOf(question, bySeen)) {
    const own = movesOf(first);
    const base = new Float64Array(n);
    const open: number[] = [];
    for (let i = 0; i < n; i++) {
      const move = own[i]!;
      // Without an operating point the reading may be anything.
      if (Number.isNaN(move)) continue;
      const spread = variance(i, move);
      base[i] = logOf(off[i]! - move, spread);
      if (logOf(0, spread) - base[i]! > UNEXPLAINED_LOG) open.push(i);
    }
    const part = table.faults[first]!.fault.part;
    const ranked: { s: SeenFault; score: number }[] = [];
    const gain = (i: number, move: number): number => {
      const at = own[i]!;
      if (Number.isNaN(move) || Number.isNaN(at)) return 0;
      const together = logOf(off[i]! - at - move, variance(i, Math.abs(at) + Math.abs(move)));
      if (Math.abs(at) < STILL_VOLTS) return together - base[i]!;
      const second = logOf(off[i]! - move, variance(i, move));
      return Math.max(together, second, base[i]!) - base[i]! - CHOICE_LOG;
    };
    for (const s of bySeen.values()) {
      if (table.faults[s.fault]!.fault.part === part) continue;
      const second = movesOf(s.fault);
      let score = 0;
      for (const i of open) {
        const move = second[i]!;
        if (Math.abs(move) < STILL_VOLTS) continue;
        const g = gain(i, move);
        if (g > 0) score += g;
      }
      if (score > 0) ranked.push({ s, score: score + logShare[s.fault]! });
    }
    steadily(
      ranked,
      (x) => x.score,
      (x) => [x.s.fault],
    );
    // One severity of each second: the best.
    const modes = new Set<number>();
    const close: { s: SeenFault; score: number }[] = [];
    for (const { s, score } of ranked) {
      const { hypothesis } = table.faults[s.fault]!;
      if (modes.has(hypothesis)) continue;
      if (modes.size === CLOSELY) break;
      modes.add(hypothesis);
      let everywhere = logShare[s.fault]!;
      s.touched.forEach((i, k) => {
        everywhere += gain(i, s.moves[k]!);
      });
      close.push({ s, score: score + HEARSAY * (everywhere - score) });
    }
    let start = logShare[first]!;
    for (let i = 0; i < n; i++) start += base[i]!;
    close.forEach(({ s, score }, rank) => {
      // The same pair may be met from either side; the one whose severity may move stands first, for only its can be fitted.
      const faults = [first, s.fault].sort((a, b) => graded(table, b) - graded(table, a) || a - b) as [
        number,
        number,
      ];
      const key = faults.join(' ');
      if (made.has(key)) return;
      made.add(key);
      const pair: Pair = { faults, score: start + score };
      if (rank < SURELY) sure.push(pair);
      else scored.push(pair);
    });
  }
  steadily(
    scored,
    (x) => x.score,
    (x) => x.faults,
  );
  const pairs = [...sure, ...scored.slice(0, SOLVED)].map(({ faults: [a, b] }) => {
    const item: Case = {
      faults: [a, b],
      logPrior: logDouble + logShare[a]! + logShare[b]!,
      solved: solvedPair([a, b]),
    };
    return { item, score: solvedScore(question, item) + item.logPrior };
  });
  steadily(
    pairs,
    (x) => x.score,
    (x) => x.item.faults,
  );
  return pairs.slice(0, WEIGHED).map(({ item }) => item);
}

/** Faults that explain some of the readings: by all readings in full, by all tolerantly, by the states and by the nets that they explain best. */
function firstsOf(
  { table, data, firsts, logShare }: PairQuestion,
  bySeen: ReadonlyMap<number, SeenFault>,
): number[] {
  const taken = new Set<number>();
  const chosen: number[] = [];
  const take = (order: Iterable<number>): void => {
    let left = FIRSTS;
    for (const fault of order) {
      if (left === 0) break;
      left--;
      const { hypothesis } = table.faults[fault]!;
      if (taken.has(hypothesis)) continue;
      taken.add(hypothesis);
      chosen.push(fault);
    }
  };
  const best = (score: (s: SeenFault) => number): number[] => {
    const rated = [...bySeen.values()].map((s) => ({ s, score: score(s) + logShare[s.fault]! }));
    steadily(
      rated,
      (x) => x.score,
      (x) => [x.s.fault],
    );
    // One severity of each mode: the best.
    const modes = new Set<number>();
    return rated.flatMap(({ s }) => {
      const { hypothesis } = table.faults[s.fault]!;
      if (modes.has(hypothesis)) return [];
      modes.add(hypothesis);
      return [s.fault];
    });
  };
  const explained = (group: (i: number) => number) => (s: SeenFault) => {
    const sums = new Map<number, number>();
    s.touched.forEach((i, k) => {
      sums.set(group(i), (sums.get(group(i)) ?? 0) + s.logs[k]!);
    });
    let sum = 0;
    for (const x of sums.values()) if (x > 0) sum += x;
    return sum;
  };
  take(
    firsts.flatMap(({ item }) => (item.faults.length === 1 ? item.faults : [])).filter((f) => bySeen.has(f)),
  );
  take(best((s) => s.log));
  take(best(explained((i) => data[i]!.condition)));
  take(best(explained((i) => data[i]!.site.net)));
  return chosen;
}

/** Log density of the readings at the pair's solved points, taken as independent. */
function solvedScore({ table, solver, data, sound, logOf }: PairQuestion, item: Case): number {
  let score = 0;
  data.forEach((d, i) => {
    const volts = pointVolts(table, solver, item, d.condition, d.site);
    const move = volts - table.sound[d.condition]!.volts[d.site.net]!;
    score += Number.isNaN(move)
      ? Math.log(0.5) + logOf(Number.POSITIVE_INFINITY, 1)
      : logOf(d.value - sound.mean[i]! - move, sound.sigma[i]! ** 2 + (SCREEN_SHARE * move) ** 2);
  });
  return score;
}
