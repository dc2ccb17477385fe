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
/**
 * Seconds of each first that are solved in the condition of which the first explains least: so much work by so many nets as the
 * machine has, within bounds; and of these, those solved in all.
 */
const CLOSE_WORK = 12_000;
const LEAST_CLOSELY = 40;
const MOST_CLOSELY = 400;
const SECONDS = 10;
/** Of seconds that read alike, so many are solved. */
const MOST_ALIKE = 3;
/** Weight of what a second by itself does in the other conditions: together the two may do another thing there. */
const HEARSAY = 0.1;
/** Pairs that are given to be weighed. */
const WEIGHED = 30;
/** A pair that could not come nearer to the best than this, whatever its second explained, is not looked for (natural log). */
const BEHIND_LOG = 5;
/** A reading is left unexplained by a first when its density is so far below that of its mean (natural log: 2 spreads). */
const UNEXPLAINED_LOG = 2;
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
  /** Single faults weighed in full, best first, with what each is expected to read. */
  readonly firsts: readonly {
    readonly item: Case;
    readonly evidence: number;
    readonly mean: Float64Array;
    readonly sigma: Float64Array;
  }[];
  readonly seen: readonly SeenFault[];
  /** Log prior of each fault of the table. */
  readonly logShare: Float64Array;
  /** Log prior of a second fault's being there at all. */
  readonly logDouble: number;
  /** Log posterior, but for what is common to all: of a sound unit's evidence without its prior, and the best of all weighed so far. */
  readonly soundLog: number;
  readonly bestLog: number;
  /** Log density of a residual of some variance, slips included. */
  readonly logOf: (residual: number, variance: number) => number;
}

/** A second solved together with its first in one condition. */
interface Close {
  readonly s: SeenFault;
  readonly item: Case;
  readonly gained: number;
  readonly score: number;
}

function graded(table: FaultTable, fault: number): number {
  return table.faults[fault]!.fault.grade ? 1 : 0;
}

/** The likeliest double faults, best first by a tolerant look at their solved points; at most WEIGHED. */
export function likelyPairs(question: PairQuestion): Case[] {
  const { table, solver, data, sound, seen, logShare, logOf, logDouble, solvedPair } = question;
  const closely = Math.max(
    LEAST_CLOSELY,
    Math.min(MOST_CLOSELY, Math.floor(CLOSE_WORK / table.netlist.nets.length)),
  );
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
  const inFull = new Map<number, PairQuestion['firsts'][number]>();
  for (const w of question.firsts) if (w.item.faults.length === 1) inFull.set(w.item.faults[0]!, w);
  const severities = new Map<number, SeenFault[]>();
  for (const s of bySeen.values()) {
    const { hypothesis } = table.faults[s.fault]!;
    const list = severities.get(hypothesis);
    if (list) list.push(s);
    else severities.set(hypothesis, [s]);
  }
  const places = placesOf(data, table.conditions.length);

  const found = new Map<string, { item: Case; score: number }>();
  for (const first of firstsOf(question, bySeen)) {
    const own = movesOf(first);
    const full = inFull.get(first);
    // What the first alone is expected to read: as it was weighed, else by a tolerant look.
    const off = new Float64Array(n);
    const spread = new Float64Array(n);
    const base = new Float64Array(n);
    const open: number[] = [];
    const missing = new Float64Array(table.conditions.length);
    let start = logShare[first]!;
    let most =
      (full ? full.evidence : question.soundLog + bySeen.get(first)!.log) + logShare[first]! + logDouble;
    for (let i = 0; i < n; i++) {
      const move = own[i]!;
      // Without an operating point the reading may be anything.
      if (Number.isNaN(move)) {
        off[i] = Number.NaN;
        continue;
      }
      off[i] = data[i]!.value - (full ? full.mean[i]! : sound.mean[i]! + move);
      spread[i] = full ? full.sigma[i]! ** 2 : variance(i, move);
      base[i] = logOf(off[i]!, spread[i]!);
      start += base[i]!;
      const lost = logOf(0, spread[i]!) - base[i]!;
      most += lost;
      if (lost < UNEXPLAINED_LOG) continue;
      open.push(i);
      missing[data[i]!.condition]! += lost;
    }
    if (open.length === 0) continue;
    const hopeless = (second: number): boolean => most + logShare[second]! < question.bestLog - BEHIND_LOG;
    /** Log ratio of reading `i` with a second fault that moves it by `more` volts from where the first leaves it. */
    const gainOf = (i: number, more: number): number =>
      logOf(off[i]! - more, spread[i]! + (SCREEN_SHARE * more) ** 2) - base[i]!;
    /** The same from what the second does on a sound unit. */
    const gain = (i: number, move: number): number => {
      const at = own[i]!;
      if (Number.isNaN(move) || Number.isNaN(at)) return 0;
      const together = gainOf(i, move);
      if (Math.abs(at) < STILL_VOLTS) return together;
      return Math.max(together, gainOf(i, move - at), 0) - CHOICE_LOG;
    };
    const pairOf = (second: number): Case => {
      // The one whose severity may move stands first, for only its can be fitted.
      const faults = [first, second].sort((a, b) => graded(table, b) - graded(table, a) || a - b);
      return {
        faults,
        logPrior: logDouble + logShare[first]! + logShare[second]!,
        solved: solvedPair(faults),
      };
    };
    /** Log ratio of the readings of a condition at the pair's solved points. */
    const solvedGain = (item: Case, condition: number): number => {
      let sum = 0;
      for (const i of places[condition]!) {
        const d = data[i]!;
        const at = own[i]!;
        if (Number.isNaN(at)) continue;
        const volts = pointVolts(table, solver, item, condition, d.site);
        const more = volts - table.sound[condition]!.volts[d.site.net]! - at;
        sum += Number.isNaN(more)
          ? Math.log(0.5) + logOf(Number.POSITIVE_INFINITY, 1) - base[i]!
          : gainOf(i, more);
      }
      return sum;
    };

    const part = table.faults[first]!.fault.part;
    const ranked: { s: SeenFault; score: number }[] = [];
    for (const s of bySeen.values()) {
      if (table.faults[s.fault]!.fault.part === part || hopeless(s.fault)) continue;
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
    const worst = missing.indexOf(Math.max(...missing));
    const closeLook = (s: SeenFault): Close => {
      let elsewhere = 0;
      s.touched.forEach((i, k) => {
        if (data[i]!.condition !== worst) elsewhere += gain(i, s.moves[k]!);
      });
      const item = pairOf(s.fault);
      const gained = solvedGain(item, worst);
      return { s, item, gained, score: gained + HEARSAY * elsewhere + logShare[s.fault]! };
    };
    // One severity of each second: the best by a far look, and of the foremost the best by a close one.
    const modes = new Set<number>();
    const close: Close[] = [];
    for (const { s } of ranked) {
      const { hypothesis } = table.faults[s.fault]!;
      if (modes.has(hypothesis)) continue;
      if (modes.size === closely) break;
      modes.add(hypothesis);
      close.push(closeLook(s));
    }
    const inOrder = (): void => {
      steadily(
        close,
        (x) => x.score,
        (x) => x.item.faults,
      );
    };
    inOrder();
    for (let k = 0; k < Math.min(2 * SECONDS, close.length); k++)
      for (const other of severities.get(table.faults[close[k]!.s.fault]!.hypothesis)!) {
        if (other === close[k]!.s) continue;
        const look = closeLook(other);
        if (look.score > close[k]!.score) close[k] = look;
      }
    inOrder();
    const kinds = new Map<string, number>();
    for (const { item, gained } of close) {
      // Seconds that read alike (the two joints of a resistor) take one place between them.
      const kind = gained.toFixed(3);
      const count = (kinds.get(kind) ?? 0) + 1;
      if (count === 1 && kinds.size === SECONDS) continue;
      kinds.set(kind, count);
      if (count > MOST_ALIKE) continue;
      // By what the first was weighed to read, or tolerantly from a sound unit: the severities are not yet fitted.
      let fitted = start + item.logPrior - logShare[first]!;
      let tolerant = item.logPrior;
      for (let c = 0; c < places.length; c++) {
        fitted += solvedGain(item, c);
        tolerant += solvedScore(question, item, c, places[c]!);
      }
      const score = Math.max(fitted, tolerant);
      // The same pair may be met from either side.
      const key = item.faults.join(' ');
      const before = found.get(key);
      if (!before || before.score < score) found.set(key, { item, score });
    }
  }
  const pairs = [...found.values()];
  steadily(
    pairs,
    (x) => x.score,
    (x) => x.item.faults,
  );
  return pairs.slice(0, WEIGHED).map(({ item }) => item);
}

/** Log density of the readings of a condition at the pair's solved points, taken as independent. */
function solvedScore(
  { table, solver, data, sound, logOf }: PairQuestion,
  item: Case,
  condition: number,
  readings: readonly number[],
): number {
  let score = 0;
  for (const i of readings) {
    const d = data[i]!;
    const volts = pointVolts(table, solver, item, condition, d.site);
    const move = volts - table.sound[condition]!.volts[d.site.net]!;
    score += Number.isNaN(move)
      ? Math.log(0.5) + logOf(Number.POSITIVE_INFINITY, 1)
      : logOf(d.value - sound.mean[i]! - move, sound.sigma[i]! ** 2 + (SCREEN_SHARE * move) ** 2);
  }
  return score;
}

/** Numbers of the readings in each condition. */
function placesOf(data: readonly SoundDatum[], conditions: number): readonly (readonly number[])[] {
  const places: number[][] = Array.from({ length: conditions }, () => []);
  data.forEach((d, i) => {
    places[d.condition]!.push(i);
  });
  return places;
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
