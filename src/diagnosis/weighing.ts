/**
 * All readings of one unit weighed together: which faults explain them, and how probable each is.
 *
 * For a hypothesis h:  y = mu_h + S_h theta + offset + e,  with theta as the sound readings left it (`Baseline`).
 * Every hypothesis is screened tolerantly against the fault table; the leaders get their own sensitivities, and the foremost are solved
 * again at the deviations that the readings ask for. Two hypotheses stand beside the faults: sound, and unexplained.
 */
import { repairedRates, STAGE_RATE } from '../faults/index.ts';
import type { Machine } from '../machine/index.ts';
import {
  Baseline,
  LIKE_VOLTS,
  MODEL_NET,
  MODEL_SIGMA,
  type SoundDatum,
  sameButReadings,
} from './baseline.ts';
import type { Datum } from './datum.ts';
import type { Offset, Reach, Slope } from './grounds.ts';
import { type Case, pointVolts, severitiesBeyond } from './hypothesis.ts';
import { likelyPairs, SCREEN_SHARE, type SeenFault } from './pair-search.ts';
import {
  alongWays,
  type Evidence,
  evidenceOf,
  explained,
  type Factored,
  factored,
  inverseCovariance,
  type LooseWay,
} from './robust-evidence.ts';
import { netOfPoint } from './site.ts';
import { type Deviations, NO_ROW, type Row, rowTimes } from './sparse-gaussian.ts';
import { type Flow, flowOf, learntSigma, type Stage, spoilt } from './stage.ts';
import { steadily } from './steadily.ts';
import type { FaultTable } from './table.ts';

/** Probability that a reading is a slip of the probe, and that a reading is beyond an unknown fault's reach. */
const SLIP_RATE = 0.002;
const UNKNOWN_RATE = 0.12;
/** Nets at which the model is off by more than MODEL_SIGMA, and by how much then: stages at the edge of saturation, leakages. */
const MISFIT_RATE = 0.02;
const MISFIT_VOLTS = 0.35;
/** Readings of a net share a misfit when no wider gap parts their levels. */
const LEVEL_VOLTS = 0.3;
/** Leakages far above the usual: how many of them, and the spread that these have beyond the usual one, in usual spreads. */
const LEAKY_RATE = 0.1;
const LEAKY_SPREADS = 3;
/** Share of the model's variance that all points of one kind on a unit have in common, and how near in level these are. */
const MODEL_KIND = 0.25;
const KIND_VOLTS = 0.12;
/** Model error of what a fault moves, as a share of the move: of each reading by itself, and of all together (the fault's strength). */
const MOVE_SHARE = 0.035;
const MOVE_COMMON = 0.04;
/** Prior probabilities before any reading, of a unit believed faulty. */
const SOUND_PRIOR = { faulty: 0.35, unknown: 0.5, healthy: 0.85 } as const;
const UNEXPLAINED_PRIOR = 0.01;
/** Two faults at once, against one. */
const DOUBLE_PRIOR = 0.03;
/** Misfit a reading above which pairs are looked for: the spreads are wide, so that what fits has less than one. */
const PAIR_CHI = 0.4;
/** Shares of its readings that a bad stage may get wrong, alike in probability. */
const SPOILT_SHARES = [0.1, 0.3, 0.6, 0.9];
/** So far off, in spreads and in volts, a reading is no matter of noise or of the model. */
const GROSS_Z = 7;
const GROSS_VOLTS = 0.6;
/** Parts whose company is looked for when the readings are chosen, and how many faults for each. */
const BESIDE_PARTS = 3;
const BESIDE = 8;
/** Weight of a left-out reading: taken one by one they say more than they know together. */
const LEFT_WEIGHT = 0.4;
const REMARK_VOLTS = 1;
/** A case so far below the best (natural log) is not weighed again for a change that cannot bring it up; what a change of one reading can. */
const HOPELESS_LOG = 30;
const CHANGE_LOG = 20;
/** With so few readings a case costs next to nothing, and all are weighed again. */
const FEW_READINGS = 60;
/** Prepared cases are kept up to so many numbers, and each until so many of its readings are surer or less sure than they were. */
const MOST_NUMBERS = 6e6;
const MOST_WIDER = 4;
/** What logs of the tolerant look are rounded to, so that their sums are exact. */
const LOG_SHARE = 2 ** -28;
/** Cases are solved again at deviations in steps of so many spreads, or of so many volts at the net that feels them most. */
const STEP_SPREADS = 0.5;
const STEP_VOLTS = 0.15;
/** Between two such steps the severity is taken from a cubic, in finer steps. */
const SEVERITY_STEP = 0.02;
const LEADERS = 40;
/** A severity is drawn no further than so many of its spreads while the table has another on that side. */
const SEVERITY_MOST = 3;
/** Others than the leaders are weighed in full when their estimate is within so much of the best (natural log), and so many at most. */
const OTHERS_LOG = 7;
const MOST_OTHERS = 60;
const RESOLVED = 10;
const RESOLVED_PAIRS = 6;
/** At most so many readings are weighed with their full covariance. */
const DENSE_MOST = 150;

/** A case with its evidence. */
export interface Weighed {
  readonly item: Case;
  readonly evidence: number;
  readonly setAside: readonly number[];
  /** Nets at which the model is off under this case. */
  readonly misfits: readonly number[];
  /** The second fault of a pair is only a part off its value. */
  readonly remark?: boolean;
  /** Standardised misfit of the readings kept. */
  readonly chiSquare: number;
  /** Deviations that the readings ask for under this case (length of the joint Gaussian), and the severity's. */
  readonly theta: Float64Array;
  readonly grade: number;
  /** Mean and standard deviation that this case predicts for each datum, the other readings not used. */
  readonly mean: Float64Array;
  readonly sigma: Float64Array;
  /** By how much the readings lower the variance of what depends on the deviations like this under the case: covariance times its row, V². */
  readonly explains: (shared: Float64Array) => number;
}

interface Linear {
  /** Expected value at theta = 0 and severity deviation 0. */
  readonly mu: Float64Array;
  readonly rows: readonly Row[];
  readonly rest: Float64Array;
  readonly grade: Float64Array;
  /** How far the case moves each datum from the sound value; NaN without an operating point. */
  readonly move: Float64Array;
  /** Which rows differ from the sound ones. */
  readonly own: Uint8Array;
  /** Where it is linearised: the slopes of the nets that the case moves, by condition. */
  readonly places: readonly { readonly condition: number; readonly slopes: readonly Slope[] }[];
}

/** Where a case is linearised in a condition. */
interface Around {
  /** The nearest step, undefined at nominal parts, and its severity. */
  readonly at: Offset | undefined;
  readonly grade: number;
  /** The step on the other side of the severity; undefined where there is none. */
  readonly beside: { readonly at: Offset | undefined; readonly grade: number } | undefined;
  readonly severity: number;
  readonly key: string;
}

/** A case with all that its evidence needs and that the values of the readings leave alone. */
interface Prepared {
  readonly linear: Linear;
  /** Covariance of all but the readings' own noise as the root of the deviations has it. */
  readonly root: Deviations;
  readonly rooted: Float64Array;
  /** Mean at the deviations' zero. */
  readonly level: Float64Array;
  readonly mean: Float64Array;
  /** Of each reading without its own noise, and the noise that `ready` is made with. */
  readonly variance: Float64Array;
  readonly noise: Float64Array;
  /** How its readings may be off together: the model at a net's level (so many: `levels`), then leakages. */
  readonly ways: readonly LooseWay[];
  readonly levels: number;
  /** How sure the covariance is of each way; undefined until asked for. */
  along: Float64Array | undefined;
  /** Undefined where the covariance is not positive definite. */
  readonly ready: Factored | undefined;
}

export class Weighing {
  readonly machine: Machine;
  readonly table: FaultTable;
  readonly unit: string;
  readonly baseline: Baseline;
  /** The readings that the hypotheses are weighed on: all, or when there are many those that part them best. */
  data: readonly SoundDatum[];
  /** Posterior probabilities; they add to one with `sound`, `unexplained` and the rest. */
  readonly weighed: Weighed[] = [];
  /** Probability of each entry of `weighed`, then of each fault that the readings cannot see (`unseen`). */
  readonly probabilities: number[] = [];
  sound = 0;
  unexplained = 0;
  /** Which readings an unknown fault would have to answer for. */
  unknownCase!: Weighed;
  /** Faults that move no reading: their prior is all that is known. */
  readonly unseen: { readonly fault: number; readonly probability: number }[] = [];
  soundCase!: Weighed;
  readonly flow: Flow;
  /** Readings at points that the circuit does not compute, beside what sound units show there. */
  readonly learnt: readonly LearntDatum[];
  readonly stages: { readonly stage: Stage; readonly probability: number }[] = [];
  private readonly stageShare: number;
  dropped = 0;
  /** Width of what a slip or an unknown fault may read, volts. */
  readonly range: number;
  /** What readings that were left out say against a fault, as a log ratio (negative). */
  private readonly leftOut = new Map<number, number>();
  gaussian: Deviations;
  private soundLinear: Linear;
  /** How often each hypothesis of the table fails, the repairs on record counted. */
  private readonly rates: Float64Array;
  private readonly logShare: Float64Array;
  /** The tolerant look at each reading, and the sums of each fault's logs over all of them. */
  private readonly looks = new Map<Datum['reading'], Look>();
  private sums: Float64Array;
  private cases = new Map<string, Prepared>();
  private casesBefore = new Map<string, Prepared>();
  /** Cases at nominal parts with the evidence found, and how much more it may be by now. */
  private weighedBefore = new Map<string, { readonly w: Weighed; readonly slack: number }>();
  private readonly weighedNow = new Map<string, { readonly w: Weighed; readonly slack: number }>();
  /** The best evidence with prior so far. */
  private top = -Infinity;
  private previous: Weighing | undefined;

  /** @param previous  of the same unit and table with other readings, to take over what has not changed */
  constructor(machine: Machine, table: FaultTable, unit: string, previous?: Weighing) {
    this.machine = machine;
    this.table = table;
    this.unit = unit;
    const same =
      previous?.table === table && previous.unit === unit && sameButReadings(previous.machine, machine);
    this.previous = same ? previous : undefined;
    this.baseline = new Baseline(machine, table, unit, this.previous?.baseline);
    this.data = this.baseline.data;
    const volts = [
      0,
      ...machine.rails.map((r) => r.volts),
      ...machine.conditions.flatMap((c) => c.drives.map((d) => d.volts)),
    ];
    this.range = Math.max(5, 1.2 * (Math.max(...volts) - Math.min(...volts)));
    this.gaussian = this.baseline.gaussian;
    this.soundLinear = soundLinearOf([]);
    this.flow = flowOf(machine);
    this.learnt = this.baseline.learntOnly.flatMap((d) => {
      const twin = this.baseline.twinAt(d.condition, d.site);
      if (twin === undefined) return [];
      const sigma = Math.hypot(learntSigma(twin), Math.sqrt(d.variance));
      const { net } = netOfPoint(machine, d.site.point);
      const normal = this.logOf(d.value - twin, sigma * sigma);
      return [{ datum: d, net, twin, sigma, normal }];
    });
    // By the machine and not by the table: a repair on record moves the rates and leaves every level as it is.
    this.rates = this.previous?.rates ?? repairedRates(machine, table.hypotheses).rates;
    const { rates } = this;
    const total = rates.reduce((sum, rate) => sum + rate, 0) + STAGE_RATE * this.flow.stages.length;
    this.stageShare = STAGE_RATE / total;
    const health = machine.units.find((u) => u.id === unit)?.health ?? 'unknown';
    const soundPrior = SOUND_PRIOR[health];
    const faulty = Math.log(1 - soundPrior - UNEXPLAINED_PRIOR);
    this.logShare = Float64Array.from(
      table.faults,
      ({ fault, hypothesis }) => faulty + Math.log((rates[hypothesis]! / total) * fault.share),
    );
    this.sums = new Float64Array(0);
    this.weigh(Math.log(soundPrior), faulty);
    this.previous = undefined;
    this.baseline.settle();
    this.weighedBefore = new Map();
    this.casesBefore = new Map();
  }

  private weigh(logSound: number, logFaulty: number): void {
    this.sums = this.look();
    if (this.data.length > DENSE_MOST) this.narrow();
    this.soundLinear = soundLinearOf(this.data);
    const seen = this.seenFaults();
    this.takeCases();
    const prepared = this.prepared({ faults: [], logPrior: 0 });
    const sound = this.evidence({ faults: [], logPrior: logSound }, prepared, SLIP_RATE)!;
    this.soundCase = sound;
    const unknown = this.evidence({ faults: [], logPrior: 0 }, prepared, UNKNOWN_RATE)!;
    this.unknownCase = unknown;

    const screened = this.screened(sound, seen);
    this.top = sound.evidence + logSound;
    const before = (fault: number): number => this.weighedBefore.get(`${fault}`)?.w.evidence ?? 0;
    for (const fault of screened.leaders.sort((a, b) => before(b) - before(a))) {
      const found = this.weighedCase({ faults: [fault], logPrior: this.logShare[fault]! });
      if (found) this.weighed.push(found);
      else this.dropped++;
    }
    this.sortWeighed();
    this.leaveFarSeverities();
    this.resolveForemost();
    this.addPairs(seen);
    const others = this.weighedOthers(screened.others);
    this.sortWeighed();
    this.leaveFarSeverities();

    const learntSound = this.learnt.reduce((sum, x) => sum + x.normal, 0);
    const learntUnknown = this.learnt.reduce(
      (sum, x) => sum + Math.log((1 - UNKNOWN_RATE) * Math.exp(x.normal) + UNKNOWN_RATE / this.range),
      0,
    );
    const logs = [
      sound.evidence + logSound + learntSound,
      unknown.evidence + Math.log(UNEXPLAINED_PRIOR) + learntUnknown,
      ...this.weighed.map((w) => w.evidence + w.item.logPrior + learntSound + this.learntLog(w.item.faults)),
      ...others.map(({ fault, log }) => log + this.logShare[fault]! + learntSound + this.learntLog([fault])),
      ...this.flow.stages.map((stage) => {
        const free = spoilt(this.flow, stage.outputs);
        const change = this.spoiltLog(this.learnt.filter((x) => free.has(x.net)));
        return sound.evidence + logFaulty + Math.log(this.stageShare) + learntSound + change;
      }),
    ];
    const most = Math.max(...logs);
    const weights = logs.map((x) => Math.exp(x - most));
    const sum = weights.reduce((a, b) => a + b, 0);
    this.sound = weights[0]! / sum;
    this.unexplained = weights[1]! / sum;
    this.weighed.forEach((_, i) => {
      this.probabilities.push(weights[2 + i]! / sum);
    });
    const start = 2 + this.weighed.length;
    this.flow.stages.forEach((stage, i) => {
      this.stages.push({ stage, probability: weights[start + others.length + i]! / sum });
    });
    others.forEach(({ fault }, i) => {
      this.unseen.push({ fault, probability: weights[start + i]! / sum });
    });
  }

  /**
   * What a fault of a traced part does to the readings that only a twin explains: those behind a stage whose input it
   * disturbs, and those on its own nets, may read anything.
   */
  private learntLog(faults: readonly number[]): number {
    if (this.learnt.length === 0) return 0;
    const loose = this.learnt.filter((x) => {
      const spoils = this.baseline.grounds.spoils(this.flow, x.datum.condition, x.net);
      return faults.some((fault) => spoils[fault] === 1);
    });
    return this.spoiltLog(loose);
  }

  /**
   * Log ratio against a stage that works, of readings that may be anything: a share q of them is, and q is not known
   * (a bad stage is seldom wrong in every state).
   */
  private spoiltLog(data: readonly LearntDatum[]): number {
    if (data.length === 0) return 0;
    const logs = SPOILT_SHARES.map((q) =>
      data.reduce((sum, x) => sum + Math.log((1 - q) * Math.exp(x.normal) + q / this.range) - x.normal, 0),
    );
    const most = Math.max(...logs);
    return most + Math.log(logs.reduce((sum, x) => sum + Math.exp(x - most), 0) / logs.length);
  }

  /** Takes over what the weighing before knows of cases, where it holds for these readings, too. */
  private takeCases(): void {
    const before = this.previous;
    if (before?.data.length !== this.data.length) return;
    const { data } = before;
    const same = this.data.every((a, i) => {
      const b = data[i]!;
      return (
        a.site === b.site &&
        a.condition === b.condition &&
        a.row === b.row &&
        a.meterOhms === b.meterOhms &&
        a.gain === b.gain &&
        a.visit === b.visit
      );
    });
    if (!same) return;
    let changed = 0;
    for (const [reading, look] of this.looks) if (before.looks.get(reading) !== look) changed++;
    const slack = CHANGE_LOG * (changed + Math.abs(before.looks.size - this.looks.size));
    if (this.data.length > FEW_READINGS)
      for (const [key, old] of before.weighedNow)
        this.weighedBefore.set(key, { w: old.w, slack: old.slack + slack });
    if (2 * before.cases.size * this.data.length ** 2 > MOST_NUMBERS) return;
    if (!before.baseline.teachesAs(this.baseline)) return;
    if (before.gaussian === this.gaussian) this.cases = before.cases;
    else this.casesBefore = before.cases;
  }

  private sortWeighed(): void {
    steadily(this.weighed, rank, ({ item }) => item.faults);
  }

  /** What a reading is off a sound unit's mean, and with which variance. */
  private marginal(d: SoundDatum): { r: number; variance: number } {
    const model = this.baseline.modelAt(d.condition, d.site.net);
    return {
      r: d.value - d.expected - rowTimes(d.row, this.gaussian.mean) - model.offset,
      variance: rowTimes(d.row, this.gaussian.covariance(d.row)) + d.variance + d.rest + model.variance,
    };
  }

  /** Log density of a residual, slips included. */
  private logOf(r: number, variance: number): number {
    return Math.log(
      ((1 - SLIP_RATE) * Math.exp((-0.5 * r * r) / variance)) / Math.sqrt(2 * Math.PI * variance) +
        SLIP_RATE / this.range,
    );
  }

  /**
   * A first, tolerant look at every fault: the log ratio of all readings' densities against sound as if they were independent.
   * Sums of whole shares of LOG_SHARE, so that they do not depend on the order in which readings came and went.
   */
  private look(): Float64Array {
    const before = this.previous?.baseline.teachesAs(this.baseline) ? this.previous.looks : undefined;
    const known = new Set<Look>();
    for (const d of this.data) {
      const old = before?.get(d.reading);
      if (old?.d === d) known.add(old);
      this.looks.set(d.reading, old?.d === d ? old : this.lookAt(d));
    }
    // From the sums before, where that is shorter.
    const from = known.size > this.data.length / 2 ? this.previous! : undefined;
    const sums = from ? from.sums.slice() : new Float64Array(this.table.faults.length);
    const add = ({ reach, logs }: Look, sign: 1 | -1): void => {
      for (let k = 0; k < logs.length; k++) sums[reach.faults[k]!]! += sign * logs[k]!;
    };
    if (from) for (const look of from.looks.values()) if (!known.has(look)) add(look, -1);
    for (const look of this.looks.values()) if (!from || !known.has(look)) add(look, 1);
    return sums;
  }

  private lookAt(d: SoundDatum): Look {
    const { r, variance } = this.marginal(d);
    const reach = this.baseline.grounds.reach(d.condition, d.site);
    const base = this.logOf(r, variance);
    const nothing = Math.log(0.5 * Math.exp(base) + 0.5 / this.range) - base;
    const logs = new Float64Array(reach.faults.length);
    for (let k = 0; k < logs.length; k++) {
      const move = reach.moves[k]!;
      let log = 0;
      if (Number.isNaN(move)) log = nothing;
      else if (this.isFelt(move, variance))
        log = this.logOf(r - move, variance + (SCREEN_SHARE * move) ** 2) - base;
      logs[k] = Math.round(log / LOG_SHARE) * LOG_SHARE;
    }
    return { d, r, variance, reach, logs };
  }

  private isFelt(move: number, variance: number): boolean {
    return Math.abs(move) >= 2e-3 && move * move >= 0.0025 * variance;
  }

  /** What each fault does to the readings that are weighed. Faults that move none have no entry in `touched`. */
  private seenFaults(): SeenFault[] {
    const list = this.table.faults.map((_, fault) => ({
      fault,
      touched: [] as number[],
      moves: [] as number[],
      logs: [] as number[],
      log: this.sums[fault]!,
    }));
    this.data.forEach((d, i) => {
      const { reach, logs, variance } = this.looks.get(d.reading)!;
      for (let k = 0; k < logs.length; k++) {
        const move = reach.moves[k]!;
        if (!Number.isNaN(move) && !this.isFelt(move, variance)) continue;
        const s = list[reach.faults[k]!]!;
        s.touched.push(i);
        s.moves.push(move);
        s.logs.push(logs[k]!);
      }
    });
    return list;
  }

  /**
   * Of many readings, keeps those that part the leading faults best and lets the ones that no leader moves condition
   * the deviations beforehand. The choice looks at what faults would do, not at how far a reading is off, so that it
   * does not make a sound unit look bad. Readings that a leader moves but that were not chosen are left out, but for what
   * they say against a fault.
   */
  private narrow(): void {
    const first = highest(this.sums, 40, (fault) => this.sums[fault]! !== 0, this.logShare);
    const leaders = this.touchedBy(first);
    const n = this.data.length;
    const nets = this.table.netlist.nets.length;
    const gaussians = this.data.map((d) => this.looks.get(d.reading)!);
    const worth = new Float64Array(n);
    const moved = new Uint8Array(n);
    const chosen = new Set<number>();
    /** Pins of one wire say nearly the same: how often each wire is chosen in each condition. */
    const placed = new Map<number, number>();
    const place = (i: number): number => this.data[i]!.condition * nets + this.data[i]!.site.net;
    const choose = (i: number): void => {
      if (chosen.has(i)) return;
      chosen.add(i);
      placed.set(place(i), (placed.get(place(i)) ?? 0) + 1);
    };
    const rate = (
      s: { touched: readonly number[]; moves: readonly number[] },
      rank: number,
      count: number,
    ) => {
      const rated = s.touched.map((i, k) => {
        const move = s.moves[k]!;
        const z = Number.isNaN(move) ? 3 : Math.min(6, Math.abs(move) / Math.sqrt(gaussians[i]!.variance));
        // Of many that are moved alike, some from all states.
        const turn = (0.618034 * i) % 1;
        moved[i] = 1;
        worth[i]! += z / (4 + rank);
        return { i, z: z + turn };
      });
      rated.sort((a, b) => b.z - a.z);
      for (const { i } of rated.slice(0, count)) choose(i);
    };
    leaders.forEach((s, rank) => {
      rate(s, rank, rank < 10 ? 8 : 3);
    });
    for (const s of this.touchedBy(this.besideLeaders(first, leaders))) rate(s, 10, 4);
    // A reading that is off beyond all noise and that no leader moves asks for a second fault.
    gaussians.forEach((g, i) => {
      const gross = Math.abs(g.r) > Math.max(GROSS_VOLTS, GROSS_Z * Math.sqrt(g.variance));
      if (moved[i] === 0 && gross && chosen.size < DENSE_MOST - 20) {
        choose(i);
        moved[i] = 1;
      }
    });
    const rest = Array.from(worth, (w, i) => ({ w, i })).filter((x) => x.w > 0 && !chosen.has(x.i));
    rest.sort((a, b) => b.w - a.w);
    for (let most = 1; chosen.size < DENSE_MOST && chosen.size < n; most++) {
      const before = chosen.size;
      for (const { i } of rest) {
        if (chosen.size >= DENSE_MOST) break;
        if ((placed.get(place(i)) ?? 0) < most) choose(i);
      }
      if (chosen.size === before && most > 12) break;
    }
    const own = [...chosen].slice(0, DENSE_MOST).sort((a, b) => a - b);
    this.gaussian = this.baseline.conditionedOn(this.data.filter((_, i) => moved[i] === 0));
    this.data = own.map((i) => this.data[i]!);
    // What the readings that were left out say against a fault.
    const left = this.sums.slice();
    for (const d of this.data) {
      const { reach, logs } = this.looks.get(d.reading)!;
      for (let k = 0; k < logs.length; k++) left[reach.faults[k]!]! -= logs[k]!;
    }
    left.forEach((log, fault) => {
      if (log < 0) this.leftOut.set(fault, LEFT_WEIGHT * log);
    });
  }

  /** Faults that explain best what each of the foremost parts leaves alone: where two have failed, the second may be among them. */
  private besideLeaders(
    leaders: readonly number[],
    touched: readonly { readonly touched: readonly number[] }[],
  ): number[] {
    const { table } = this;
    const partOf = (fault: number): string => table.faults[fault]!.fault.part;
    const parts = new Set<string>();
    const found = new Set<number>();
    for (const [rank, leader] of leaders.entries()) {
      if (parts.size === BESIDE_PARTS) break;
      if (parts.has(partOf(leader))) continue;
      parts.add(partOf(leader));
      const left = this.sums.slice();
      for (const i of touched[rank]!.touched) {
        const { reach, logs } = this.looks.get(this.data[i]!.reading)!;
        for (let k = 0; k < logs.length; k++) left[reach.faults[k]!]! -= logs[k]!;
      }
      const own = partOf(leader);
      for (const fault of highest(left, BESIDE, (f) => left[f]! > 0 && partOf(f) !== own, this.logShare))
        found.add(fault);
    }
    return [...found];
  }

  /** For each of some faults the readings that it moves. */
  private touchedBy(faults: readonly number[]): { touched: number[]; moves: number[] }[] {
    const { table, data } = this;
    const { solver } = this.baseline.grounds;
    const nets = table.netlist.nets.length;
    const atNet = new Map<number, number[]>();
    const inCondition: number[][] = table.conditions.map(() => []);
    data.forEach(({ condition, site }, i) => {
      inCondition[condition]!.push(i);
      const list = atNet.get(condition * nets + site.net);
      if (list) list.push(i);
      else atNet.set(condition * nets + site.net, [i]);
    });
    return faults.map((fault) => {
      const { pin } = table.faults[fault]!.fault;
      const near = new Set<number>();
      inCondition.forEach((list, c) => {
        if (!table.known(fault, c)) for (const i of list) near.add(i);
        table.moved(fault, c, (net) => {
          for (const i of atNet.get(c * nets + net) ?? []) near.add(i);
        });
        if (pin) for (const i of list) if (data[i]!.site.point === pin.point) near.add(i);
      });
      const touched: number[] = [];
      const moves: number[] = [];
      for (const i of [...near].sort((a, b) => a - b)) {
        const d = data[i]!;
        const move =
          pointVolts(table, solver, single(fault), d.condition, d.site) -
          table.sound[d.condition]!.volts[d.site.net]!;
        if (!Number.isNaN(move) && !this.isFelt(move, this.looks.get(d.reading)!.variance)) continue;
        touched.push(i);
        moves.push(move);
      }
      return { touched, moves };
    });
  }

  /** Leaders to be weighed in full, and a generous estimate for the others; a fault that no reading sees is as likely as sound. */
  private screened(
    sound: Weighed,
    seen: readonly SeenFault[],
  ): { leaders: number[]; others: { fault: number; log: number }[] } {
    const joint = this.jointScreen(sound);
    const tolerant = Float64Array.from(seen, (s) => s.log);
    const joined = Float64Array.from(seen, (s) => (s.touched.length === 0 ? Math.min(0, s.log) : joint(s)));
    const touches = (fault: number): boolean => seen[fault]!.touched.length > 0;
    const leaders = new Set([
      ...highest(tolerant, LEADERS, touches, this.logShare),
      ...highest(joined, LEADERS, touches, this.logShare),
    ]);
    const others: { fault: number; log: number }[] = [];
    for (const { fault } of seen)
      if (!leaders.has(fault))
        others.push({ fault, log: sound.evidence + Math.min(tolerant[fault]!, joined[fault]!) });
    return { leaders: [...leaders], others };
  }

  /**
   * Lets go of cases whose severity the readings draw so far away that another of the table's severities is nearer: there the
   * model's error, which grows with the move, would be taken too small. Those others are weighed instead.
   */
  private leaveFarSeverities(): void {
    const { table } = this;
    const weighed = new Set(this.weighed.map((w) => w.item.faults.join(' ')));
    const left = new Set<Weighed>();
    for (const w of [...this.weighed]) {
      const [first, second] = w.item.faults;
      if (Math.abs(w.grade) <= SEVERITY_MOST || first === undefined) continue;
      const beyond = severitiesBeyond(table, first, w.grade);
      if (beyond.length === 0) continue;
      left.add(w);
      for (const fault of second === undefined ? beyond : []) {
        if (weighed.has(`${fault}`)) continue;
        weighed.add(`${fault}`);
        const found = this.weighedCase({ faults: [fault], logPrior: this.logShare[fault]! });
        if (found) this.weighed.push(found);
      }
    }
    if (left.size === 0) return;
    const kept = this.weighed.filter((w) => !left.has(w));
    // Where all severities of a mode point away from themselves, the nearest stays.
    const modes = new Set(kept.map((w) => this.modeOf(w)));
    for (const w of [...left].sort((a, b) => Math.abs(a.grade) - Math.abs(b.grade) || rank(b) - rank(a)))
      if (!modes.has(this.modeOf(w))) {
        modes.add(this.modeOf(w));
        kept.push(w);
      }
    this.weighed.splice(0, this.weighed.length, ...kept);
    this.sortWeighed();
  }

  /** Parts and modes of a case, whatever its severities. */
  private modeOf({ item }: Weighed): string {
    return item.faults.map((f) => this.table.faults[f]!.hypothesis).join(' ');
  }

  /** Weighs in full those of the others whose generous estimate would count. Returns the rest. */
  private weighedOthers(
    others: readonly { readonly fault: number; readonly log: number }[],
  ): readonly { readonly fault: number; readonly log: number }[] {
    const estimate = ({ fault, log }: { fault: number; log: number }): number => log + this.logShare[fault]!;
    const order = [...others];
    steadily(order, estimate, ({ fault }) => [fault]);
    let best = this.weighed.reduce((most, w) => Math.max(most, rank(w)), -Infinity);
    const taken = new Set<number>();
    for (const other of order) {
      if (taken.size === MOST_OTHERS || estimate(other) < best - OTHERS_LOG) break;
      const { fault } = other;
      const found = this.weighedCase({ faults: [fault], logPrior: this.logShare[fault]! });
      taken.add(fault);
      if (!found) {
        this.dropped++;
        continue;
      }
      this.weighed.push(found);
      best = Math.max(best, rank(found));
    }
    return others.filter(({ fault }) => !taken.has(fault));
  }

  /**
   * Log likelihood ratio of a shift of the readings against sound under the sound unit's joint covariance, the shift's size free
   * between 0.7 and 1.3: max over a of a d'z - a² d'Gd / 2 with G the inverse covariance and z = G r.
   */
  private jointScreen(sound: Weighed): (seen: SeenFault) => number {
    const n = this.data.length;
    if (n === 0) return () => 0;
    const { ready, noise } = this.prepared({ faults: [], logPrior: 0 });
    if (!ready) return () => 0;
    const inverse = inverseCovariance(ready, this.widerThan(noise));
    const z = new Float64Array(n);
    for (let i = 0; i < n; i++)
      for (let k = 0; k < n; k++) z[i]! += inverse[i * n + k]! * (this.data[k]!.value - sound.mean[k]!);
    return ({ touched, moves }) => {
      let cross = 0;
      let square = 0;
      for (let a = 0; a < touched.length; a++) {
        const move = moves[a]!;
        if (Number.isNaN(move)) continue;
        const row = touched[a]! * n;
        cross += move * z[touched[a]!]!;
        square += move * move * inverse[row + touched[a]!]!;
        for (let b = 0; b < a; b++)
          if (!Number.isNaN(moves[b]!)) square += 2 * move * moves[b]! * inverse[row + touched[b]!]!;
      }
      const a = Math.min(1.3, Math.max(0.7, square > 0 ? cross / square : 1));
      return a * cross - 0.5 * a * a * square;
    };
  }

  private weighedCase(item: Case): Weighed | undefined {
    const key = item.faults.join(' ');
    const old = this.weighedBefore.get(key);
    // What the readings cannot have made probable since need not be weighed again.
    if (old && old.w.evidence + item.logPrior + old.slack < this.top - HOPELESS_LOG) {
      this.weighedNow.set(key, old);
      return { ...old.w, item };
    }
    const w = this.evidence(item, this.prepared(item), SLIP_RATE);
    if (w) {
      this.weighedNow.set(key, { w, slack: 0 });
      this.top = Math.max(this.top, w.evidence + item.logPrior);
    }
    return w;
  }

  /** A case at nominal parts, with all of its evidence that does not depend on the readings' values; kept between answers. */
  private prepared(item: Case): Prepared {
    const key = item.faults.join(' ');
    let found = this.keptCase(key);
    if (!found) {
      const before = this.casesBefore.get(key);
      found = this.newPrepared(before?.linear ?? this.linear(item)!, before);
      this.cases.set(key, found);
    }
    return found;
  }

  private keptCase(key: string): Prepared | undefined {
    const found = this.cases.get(key);
    return found && this.widerThan(found.noise).length <= MOST_WIDER ? found : undefined;
  }

  /** The same around the deviations that the case asked for; undefined where it has no operating point there. */
  private preparedAround(around: Weighed): Prepared | undefined {
    const offsets = new Map<number, Around>();
    for (const { condition, slopes } of this.prepared(around.item).linear.places) {
      const offset = this.offsetOf(around, slopes);
      if (offset) offsets.set(condition, offset);
    }
    if (offsets.size === 0) return this.prepared(around.item);
    const key = `${around.item.faults.join(' ')}|${[...offsets].map(([c, { key }]) => `${c} ${key}`).join('|')}`;
    let found = this.keptCase(key);
    if (!found) {
      const before = this.casesBefore.get(key);
      const linear = before?.linear ?? this.linear(around.item, offsets);
      if (!linear) return undefined;
      found = this.newPrepared(linear, before);
      this.cases.set(key, found);
    }
    return found;
  }

  private newPrepared(linear: Linear, before?: Prepared): Prepared {
    const { data, gaussian } = this;
    const n = data.length;
    const own = Float64Array.from(data, (d) => d.variance);
    const rooted = before?.root === gaussian.root ? before.rooted : this.covariance(linear);
    const covariance = rooted.slice();
    gaussian.correct(linear.rows, covariance);
    const variance = Float64Array.from(data, (_, i) => covariance[i * n + i]!);
    for (let i = 0; i < n; i++) covariance[i * n + i]! += own[i]!;
    const level =
      before?.level ?? Float64Array.from(data, (_, i) => linear.mu[i]! + this.modelOf(linear, i).offset);
    const mean = level.map((x, i) => x + rowTimes(linear.rows[i]!, gaussian.mean));
    const levels = levelWays(data, mean);
    return {
      linear,
      root: gaussian.root,
      rooted,
      level,
      mean,
      variance,
      noise: Float64Array.from(data, (d) => d.variance),
      ways: [...levels, ...this.leakyWays(linear.rows)],
      levels: levels.length,
      along: undefined,
      ready: factored(covariance, n),
    };
  }

  /** Means and sensitivities of the case at nominal parts, or around other values in some conditions. */
  private linear(item: Case, offsets?: ReadonlyMap<number, Around>): Linear | undefined {
    const { table, data, baseline } = this;
    const { grounds } = baseline;
    const n = data.length;
    const mu = this.soundLinear.mu.slice();
    const rest = this.soundLinear.rest.slice();
    const rows = [...this.soundLinear.rows];
    const grade = new Float64Array(n);
    const move = new Float64Array(n);
    const own = new Uint8Array(n);
    const places: { condition: number; slopes: readonly Slope[] }[] = [];
    const byCondition = new Map<number, number[]>();
    data.forEach((d, i) => {
      const volts = pointVolts(table, grounds.solver, item, d.condition, d.site);
      move[i] = volts - table.sound[d.condition]!.volts[d.site.net]!;
      // Points that the fault leaves alone keep the sound rows.
      if (Math.abs(move[i]!) < 4e-3) return;
      const list = byCondition.get(d.condition);
      if (list) list.push(i);
      else byCondition.set(d.condition, [i]);
    });
    for (const [condition, list] of byCondition) {
      const nets = [...new Set(list.map((i) => data[i]!.site.net))];
      const place = offsets?.get(condition);
      const found = grounds.linearised(item, condition, nets, place?.at);
      const beside = place?.beside && grounds.linearised(item, condition, nets, place.beside.at);
      if (!found) {
        if (place) return undefined;
        for (const i of list) move[i] = Number.NaN;
        continue;
      }
      places.push({ condition, slopes: nets.map((net) => found.slopes.get(net)!) });
      for (const i of list) {
        const d = data[i]!;
        own[i] = 1;
        const pin = item.faults.find((f) => d.site.pin && table.faults[f]!.fault.pin?.point === d.site.point);
        if (pin !== undefined) {
          mu[i] = pointVolts(table, grounds.solver, item, condition, d.site);
          rows[i] = baseline.withGain(NO_ROW, d, mu[i]!);
          rest[i] = 0.05 ** 2 + (0.08 * mu[i]!) ** 2;
          continue;
        }
        const slope = found.slopes.get(d.site.net)!;
        let value = found.volts[d.site.net]! * (d.meterOhms / (d.meterOhms + slope.ohms));
        let { byGrade } = slope;
        if (place) {
          const h = place.severity - place.grade;
          if (beside) {
            const other = beside.slopes.get(d.site.net)!;
            const end = beside.volts[d.site.net]! * (d.meterOhms / (d.meterOhms + other.ohms));
            [value, byGrade] = cubic(
              value,
              byGrade,
              end,
              other.byGrade,
              place.beside!.grade - place.grade,
              h,
            );
          } else value += byGrade * h;
        }
        const level = value;
        // The model's error grows with what the fault moves at the severity that it has here.
        if (place) move[i]! += byGrade * place.severity;
        // The table was made in its own room; how another one moves the points follows from the slopes.
        value += this.warmth(slope.row) * (grounds.room(d.ambient) - table.ambient);
        if (place) {
          if (place.at) value -= rowTimes(slope.row, place.at.deviations);
          value -= byGrade * place.severity;
        }
        mu[i] = value;
        rows[i] = baseline.withGain(slope.row, d, level);
        rest[i] = slope.rest;
        grade[i] = byGrade;
      }
    }
    return { mu, rows, rest, grade, move, own, places };
  }

  /**
   * Where a condition is linearised again: the deviations that the readings ask for, those that are felt there, in steps that move
   * no net by more than STEP_VOLTS, and the severity between two steps. Steps, so that a small change of the readings asks for places
   * that are known; undefined at nominal parts.
   */
  private offsetOf(around: Weighed, slopes: readonly Slope[]): Around | undefined {
    const felt = new Map<number, number>();
    for (const { row } of slopes)
      row.indices.forEach((p, k) => {
        felt.set(p, Math.max(felt.get(p) ?? 0, Math.abs(row.values[k]!)));
      });
    const deviations = new Float64Array(this.table.netlist.parameters.length);
    const steps: number[] = [];
    for (const [p, volts] of [...felt].sort((a, b) => a[0] - b[0])) {
      const step = Math.max(STEP_SPREADS, STEP_VOLTS / volts);
      const count = Math.round(Math.max(-4, Math.min(4, around.theta[p]!)) / step);
      if (count === 0) continue;
      deviations[p] = count * step;
      steps.push(p, count, step);
    }
    const severity = SEVERITY_STEP * Math.round(Math.max(-3, Math.min(3, around.grade)) / SEVERITY_STEP);
    const grade = STEP_SPREADS * Math.round(severity / STEP_SPREADS);
    const at = (g: number): Offset | undefined =>
      steps.length > 0 || g !== 0 ? { deviations, grade: g, key: `${steps} ${g}` } : undefined;
    if (steps.length === 0 && severity === 0) return undefined;
    const other = grade + STEP_SPREADS * Math.sign(severity - grade);
    return {
      at: at(grade),
      grade,
      beside: other === grade ? undefined : { at: at(other), grade: other },
      severity,
      key: `${steps} ${severity}`,
    };
  }

  /** Volts a degree by which a point follows the room. */
  private warmth({ indices, values }: Row): number {
    const { parameters } = this.table.netlist;
    for (let k = 0; k < indices.length; k++) {
      const parameter = parameters[indices[k]!];
      if (parameter?.kind === 'celsius') return values[k]! / parameter.spread;
    }
    return 0;
  }

  /** Covariance of all data under a case by the root of the deviations, but for the readings' own noise; row-major. */
  private covariance(linear: Linear): Float64Array {
    const { data } = this;
    const n = data.length;
    const k = this.gaussian.root.between(linear.rows);
    const models = data.map((_, i) => this.modelOf(linear, i).variance);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++) {
        let c = k[i * n + j]! + linear.grade[i]! * linear.grade[j]!;
        const together = MOVE_COMMON * MOVE_COMMON * linear.move[i]! * linear.move[j]!;
        if (together !== 0 && !Number.isNaN(together)) c += together;
        const a = data[i]!;
        const b = data[j]!;
        if (a.site.net === b.site.net) {
          const model = models[i]!;
          if (i === j) c += model + linear.rest[i]!;
          else {
            const other = models[j]!;
            const apart = Math.abs(linear.mu[i]! - linear.mu[j]!);
            c +=
              a.condition === b.condition
                ? Math.min(model, other)
                : MODEL_NET * Math.min(MODEL_SIGMA ** 2, model, other) * Math.exp(-apart / LIKE_VOLTS);
          }
        }
        // Points at one level are of one kind (saturated collectors, conducting bases): the model errs alike at them.
        else
          c +=
            MODEL_KIND * MODEL_SIGMA ** 2 * Math.exp(-Math.abs(linear.mu[i]! - linear.mu[j]!) / KIND_VOLTS);
        k[i * n + j] = c;
        k[j * n + i] = c;
      }
    }
    return k;
  }

  /** Offset and variance of the model at a datum under a case: what the sound units taught fades as the point moves away. */
  private modelOf(linear: Linear, i: number): { offset: number; variance: number } {
    const d = this.data[i]!;
    const { offset, variance } = this.baseline.modelAt(d.condition, d.site.net);
    const move = linear.move[i]!;
    if (Number.isNaN(move)) return { offset: 0, variance: (this.range / 4) ** 2 };
    const stays = Math.exp(-Math.abs(move) / 0.4);
    return {
      offset: offset * stays,
      variance:
        stays * variance +
        (1 - stays) * MODEL_SIGMA ** 2 +
        (MOVE_SHARE * move) ** 2 +
        ((1 - stays) * offset * 0.5) ** 2,
    };
  }

  /** Readings that are less sure (or more: negative) than those that a case was prepared for, by how much in V². */
  private widerThan(noise: Float64Array): { i: number; by: number }[] {
    const wider: { i: number; by: number }[] = [];
    this.data.forEach((d, i) => {
      const by = d.variance - noise[i]!;
      if (by !== 0) wider.push({ i, by });
    });
    return wider;
  }

  private evidence(item: Case, prepared: Prepared, slipRate: number): Weighed | undefined {
    const { data } = this;
    const { linear, mean, ready, variance } = prepared;
    if (!ready) return undefined;
    const n = data.length;
    const sigma = new Float64Array(n);
    const residual = new Float64Array(n);
    const wider = this.widerThan(prepared.noise);
    for (let i = 0; i < n; i++) {
      sigma[i] = Math.sqrt(variance[i]! + data[i]!.variance);
      residual[i] = data[i]!.value - mean[i]!;
    }
    const against = item.faults.reduce((sum, f) => sum + (this.leftOut.get(f) ?? 0), 0);
    const { ways, levels } = prepared;
    const found: Evidence | undefined = evidenceOf(
      ready,
      residual,
      {
        slipRate,
        slipDensity: 1 / this.range,
        mostSlips: slipRate > 0.05 ? n : Math.max(1, Math.ceil(n * 0.06)),
        ways,
        mostWays: Math.ceil(n / 12),
      },
      () => {
        prepared.along ??= alongWays(ready, ways);
        return prepared.along;
      },
      wider,
    );
    if (!found) return undefined;
    let grade = 0;
    for (let i = 0; i < n; i++) grade += found.weights[i]! * linear.grade[i]!;
    const { gaussian } = this;
    let theta: Float64Array | undefined;
    return {
      item,
      evidence: found.log + against,
      setAside: found.setAside,
      misfits: found.loose.filter((k) => k < levels).map((k) => data[ways[k]!.readings[0]!]!.site.net),
      chiSquare: found.chiSquare,
      get theta() {
        theta ??= gaussian.pulled(linear.rows, found.weights);
        return theta;
      },
      grade,
      mean,
      sigma,
      explains: (shared) =>
        explained(
          ready,
          found.corrections,
          Float64Array.from(linear.rows, (row) => rowTimes(row, shared)),
        ),
    };
  }

  /**
   * Leakages far above the usual. Their logarithm is normal, so that the Gaussian in the leakage itself allows too little
   * of a large one (docs/method.md).
   */
  private leakyWays(rows: readonly Row[]): LooseWay[] {
    const { parameters } = this.table.netlist;
    const ways = new Map<number, { readings: number[]; volts: number[] }>();
    rows.forEach(({ indices, values }, i) => {
      for (let k = 0; k < indices.length; k++) {
        const p = indices[k]!;
        if (p >= parameters.length || parameters[p]!.kind !== 'leakage') continue;
        let way = ways.get(p);
        if (!way) {
          way = { readings: [], volts: [] };
          ways.set(p, way);
        }
        way.readings.push(i);
        way.volts.push(LEAKY_SPREADS * values[k]!);
      }
    });
    return [...ways.values()].map((way) => ({ ...way, rate: LEAKY_RATE }));
  }

  /** Solves the foremost cases again at the deviations and the severity that the readings ask for. */
  private resolveForemost(): void {
    const best = this.weighed[0];
    if (!best) return;
    const top = best.evidence + best.item.logPrior;
    for (let i = 0; i < this.weighed.length && i < RESOLVED; i++) {
      const w = this.weighed[i]!;
      if (w.evidence + w.item.logPrior < top - 14) break;
      this.weighed[i] = this.resolved(w);
    }
    this.sortWeighed();
  }

  private resolved(first: Weighed): Weighed {
    let current = first;
    for (let round = 0; round < 2; round++) {
      const prepared = this.preparedAround(current);
      const next = prepared && this.evidence(current.item, prepared, SLIP_RATE);
      if (!next) return first;
      const change = Math.abs(next.evidence - current.evidence);
      current = next;
      if (change < 0.3) break;
    }
    return current;
  }

  /** Extends the best single faults by a second one where readings are left unexplained. */
  private addPairs(seen: readonly SeenFault[]): void {
    const { table, data } = this;
    const n = data.length;
    const best = this.weighed[0];
    if (!best || n < 2) return;
    const kept = n - best.setAside.length;
    if (
      best.setAside.length === 0 &&
      best.misfits.length === 0 &&
      best.chiSquare < PAIR_CHI * kept + 3 * Math.sqrt(2 * PAIR_CHI * kept)
    )
      return;
    const pairs = likelyPairs({
      table,
      solver: this.baseline.grounds.solver,
      data,
      sound: this.soundCase,
      solvedPair: (faults) => this.baseline.grounds.solvedPair(faults),
      // Beyond that it is not known how far behind they are.
      firsts: this.weighed.filter((w) => rank(w) > rank(best) - HOPELESS_LOG),
      seen,
      logShare: this.logShare,
      logDouble: Math.log(DOUBLE_PRIOR),
      soundLog: this.soundCase.evidence,
      bestLog: Math.max(rank(best), rank(this.soundCase)),
      logOf: (r, variance) => this.logOf(r, variance),
    });
    const found = pairs.flatMap((item) => this.weighedCase(item) ?? []);
    steadily(found, rank, ({ item }) => item.faults);
    const top = Math.max(
      found[0] ? found[0].evidence + found[0].item.logPrior : -Infinity,
      best.evidence + best.item.logPrior,
    );
    found.forEach((w, i) => {
      const resolve = i < RESOLVED_PAIRS && w.evidence + w.item.logPrior > top - 12;
      const kept = resolve ? this.resolved(w) : w;
      this.weighed.push({ ...kept, remark: this.isRemark(w.item.faults[1]!) });
    });
  }

  /**
   * A second part that is merely off its value (a drifted resistor, a leak, a low gain) and moves no reading by as much as a volt
   * is a remark on the first fault, not a fault of its own.
   */
  private isRemark(second: number): boolean {
    const { table, data } = this;
    const { mode } = table.faults[second]!.fault;
    if (mode !== 'high' && mode !== 'low-gain' && !mode.startsWith('leaky')) return false;
    return data.every((d) => {
      const volts = pointVolts(table, this.baseline.grounds.solver, single(second), d.condition, d.site);
      return Math.abs(volts - table.sound[d.condition]!.volts[d.site.net]!) < REMARK_VOLTS;
    });
  }
}

/** A reading that only a twin explains, and its log density when its stage works. */
export interface LearntDatum {
  readonly datum: Datum;
  readonly net: string;
  readonly twin: number;
  readonly sigma: number;
  readonly normal: number;
}

/** What one reading says of each fault that it sees, tolerantly, and what that was worked out for. */
interface Look {
  readonly d: SoundDatum;
  readonly r: number;
  readonly variance: number;
  readonly reach: Reach;
  readonly logs: Float64Array;
}

/** The readings of each net at each of its levels: where the model is off there, it is off in all of them. */
function levelWays(data: readonly SoundDatum[], mean: Float64Array): LooseWay[] {
  const order = data.map((_, i) => i);
  order.sort((a, b) => data[a]!.site.net - data[b]!.site.net || mean[a]! - mean[b]!);
  const groups: number[][] = [];
  order.forEach((i, k) => {
    const before = order[k - 1];
    const same =
      before !== undefined &&
      data[before]!.site.net === data[i]!.site.net &&
      mean[i]! - mean[before]! <= LEVEL_VOLTS;
    if (same) groups.at(-1)!.push(i);
    else groups.push([i]);
  });
  return groups.map((readings) => ({
    readings,
    volts: readings.map(() => MISFIT_VOLTS),
    rate: MISFIT_RATE,
  }));
}

function rank({ evidence, item }: Weighed): number {
  return evidence + item.logPrior;
}

function soundLinearOf(data: readonly SoundDatum[]): Linear {
  const n = data.length;
  return {
    mu: Float64Array.from(data, (d) => d.expected),
    rows: data.map((d) => d.row),
    rest: Float64Array.from(data, (d) => d.rest),
    grade: new Float64Array(n),
    move: new Float64Array(n),
    own: new Uint8Array(n),
    places: [],
  };
}

/** Numbers of the `count` highest of `scores` + `plus` among those that are asked for, highest first; of equals the lower number. */
function highest(
  scores: Float64Array,
  count: number,
  wanted: (index: number) => boolean,
  plus: Float64Array,
): number[] {
  // Rounded, so that equals are equal.
  const total = scores.map((x, i) => (wanted(i) ? Math.round((x + plus[i]!) * 1e6) : -Infinity));
  const least = total.slice().sort().at(-count) ?? -Infinity;
  const found: number[] = [];
  total.forEach((x, i) => {
    if (x >= least && x > -Infinity) found.push(i);
  });
  return found.sort((a, b) => total[b]! - total[a]! || a - b).slice(0, count);
}

/** Value and slope at `x` of the cubic with values `a`, `b` and slopes `da`, `db` at 0 and `h`. */
function cubic(a: number, da: number, b: number, db: number, h: number, x: number): [number, number] {
  const t = x / h;
  const rise = b - a;
  const p = h * da - rise;
  const q = rise - h * db;
  // a + t rise + t (1 - t) ((1 - t) p + t q)
  const value = a + t * rise + t * (1 - t) * ((1 - t) * p + t * q);
  const slope = rise + (1 - 2 * t) * ((1 - t) * p + t * q) + t * (1 - t) * (q - p);
  return [value, slope / h];
}

function single(fault: number): Case {
  return { faults: [fault], logPrior: 0 };
}
