/**
 * All readings of one unit weighed together: which faults explain them, and how probable each is.
 *
 * For a hypothesis h:  y = mu_h + S_h theta + offset + e,  with theta as the sound readings left it (`Baseline`).
 * Every hypothesis is screened tolerantly against the fault table; the leaders get their own sensitivities, and the foremost are solved
 * again at the deviations that the readings ask for. Two hypotheses stand beside the faults: sound, and unexplained.
 */
import { repairedRates, STAGE_RATE } from '../faults/index.ts';
import type { Machine, Reading } from '../machine/index.ts';
import { Baseline, type SoundDatum, sameButReadings } from './baseline.ts';
import { CaseModels, type Prepared } from './case-model.ts';
import { type Case, pointVolts, severitiesBeyond } from './hypothesis.ts';
import { DENSE_MOST, highest, Looks, logDensity, SLIP_RATE, single } from './looks.ts';
import { likelyPairs, type SeenFault } from './pair-search.ts';
import { alongWays, type Evidence, evidenceOf, explained, inverseCovariance } from './robust-evidence.ts';
import { movesChance, RunningReadings } from './running.ts';
import { isInVolts, type RunningDatum } from './running-datum.ts';
import { netOfPoint, type Site } from './site.ts';
import { type Deviations, rowTimes } from './sparse-gaussian.ts';
import { type Flow, flowOf, learntSeconds, learntSigma, type Stage, spoilt } from './stage.ts';
import { steadily } from './steadily.ts';
import type { FaultTable } from './table.ts';

/** Probability that a reading is beyond an unknown fault's reach. */
const UNKNOWN_RATE = 0.12;
/** Prior probabilities before any reading, of a unit believed faulty. */
const SOUND_PRIOR = { faulty: 0.35, unknown: 0.5, healthy: 0.85 } as const;
const UNEXPLAINED_PRIOR = 0.01;
/** Two faults at once, against one. */
const DOUBLE_PRIOR = 0.03;
/** Misfit a reading above which pairs are looked for: the spreads are wide, so that what fits has less than one. */
const PAIR_CHI = 0.4;
/** Shares of its readings that a bad stage may get wrong, alike in probability. */
const SPOILT_SHARES = [0.1, 0.3, 0.6, 0.9];
const REMARK_VOLTS = 1;
/** A case so far below the best (natural log) is not weighed again for a change that cannot bring it up; what a change of one reading can. */
const HOPELESS_LOG = 30;
const CHANGE_LOG = 20;
/** With so few readings a case costs next to nothing, and all are weighed again. */
const FEW_READINGS = 60;
const LEADERS = 40;
/** A severity is drawn no further than so many of its spreads while the table has another on that side. */
const SEVERITY_MOST = 3;
/** Others than the leaders are weighed in full when their estimate is within so much of the best (natural log), and so many at most. */
const OTHERS_LOG = 7;
const MOST_OTHERS = 60;
const RESOLVED = 10;
const RESOLVED_PAIRS = 6;

/** A case with its evidence. */
export interface Weighed {
  readonly item: Case;
  readonly evidence: number;
  readonly setAside: readonly number[];
  /** Nets at which the model is off under this case. */
  readonly misfits: readonly number[];
  /** Number of that fault of a pair which is only a part off its value. */
  readonly remark?: number | undefined;
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
  readonly learnt: LearntDatum[];
  /** Readings of states that run. */
  readonly running: RunningReadings;
  readonly stages: { readonly stage: Stage; readonly probability: number }[] = [];
  private readonly stageShare: number;
  dropped = 0;
  /** Width of what a slip or an unknown fault may read, volts. */
  readonly range: number;
  /** What readings that were left out say against a fault, as a log ratio (negative). */
  private leftOut: ReadonlyMap<number, number> = new Map();
  gaussian: Deviations;
  /** How often each hypothesis of the table fails, the repairs on record counted. */
  private readonly rates: Float64Array;
  /** Log prior of each fault, with what the readings of running states say of it against sound. */
  private readonly logShare: Float64Array;
  private readonly looks: Looks;
  private models!: CaseModels;
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
    this.flow = flowOf(machine);
    this.learnt = this.baseline.learntOnly.flatMap((d) => {
      const twin = this.baseline.twinAt(d.condition, d.site);
      if (twin === undefined) return [];
      const sigma = Math.hypot(learntSigma(twin), Math.sqrt(d.variance));
      const { net } = netOfPoint(machine, d.site.point);
      const normal = logDensity(d.value - twin, sigma * sigma, this.range);
      return [
        {
          reading: d.reading,
          condition: d.condition,
          value: d.value,
          net,
          twin,
          sigma,
          normal,
          range: this.range,
        },
      ];
    });
    const siteOf = (point: string): Site | undefined => this.baseline.sites.get(point);
    this.running = new RunningReadings(
      machine,
      table,
      unit,
      siteOf,
      { volts: this.range, unknownRate: UNKNOWN_RATE, learnt: (net) => this.flow.learnt.has(net) },
      this.previous?.running,
    );
    for (const d of this.running.others) {
      const learnt = this.learntRunning(d);
      if (learnt) this.learnt.push(learnt);
    }
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
      ({ fault, hypothesis }, f) =>
        faulty + Math.log((rates[hypothesis]! / total) * fault.share) + this.running.logRatio(f),
    );
    this.looks = new Looks(this.baseline, this.logShare, this.range, this.previous?.looks);
    this.weigh(Math.log(soundPrior), faulty);
    this.previous = undefined;
    this.baseline.settle();
    this.weighedBefore = new Map();
    this.models.settle();
  }

  private weigh(logSound: number, logFaulty: number): void {
    if (this.data.length > DENSE_MOST)
      ({ data: this.data, gaussian: this.gaussian, leftOut: this.leftOut } = this.looks.narrowed());
    const seen = this.looks.seenFaults(this.data);
    this.models = new CaseModels(this.baseline, this.gaussian, this.data, this.range);
    this.takeCases();
    const prepared = this.models.prepared({ faults: [], logPrior: 0 });
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
      (sum, x) => sum + Math.log((1 - UNKNOWN_RATE) * Math.exp(x.normal) + UNKNOWN_RATE / x.range),
      0,
    );
    const logs = [
      sound.evidence + logSound + learntSound,
      unknown.evidence + Math.log(UNEXPLAINED_PRIOR) + learntUnknown + this.running.unknown,
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
      const spoils = this.baseline.grounds.spoils(this.flow, x.condition, x.net);
      return faults.some((fault) => spoils[fault] === 1 || this.disturbs(fault, x));
    });
    return this.spoiltLog(loose);
  }

  /** Whether a fault moves the waveform of a net that a stage before this one takes in. */
  private disturbs(fault: number, { condition, net }: LearntDatum): boolean {
    const { running, netlist } = this.table;
    if (!running?.followed(condition)) return false;
    return this.flow.stages.some(
      (stage) =>
        spoilt(this.flow, stage.outputs).has(net) &&
        [...stage.inputs].some((input) => {
          const index = netlist.netIndex.get(input);
          return index !== undefined && running.moves(fault, condition, index);
        }),
    );
  }

  /** A reading of a waveform that the circuit does not compute, beside what sound units show there. */
  private learntRunning({
    reading,
    condition,
    site,
    quantity,
    value,
    variance,
    twin,
  }: RunningDatum): LearntDatum | undefined {
    if (twin === undefined) return undefined;
    const { net } = netOfPoint(this.machine, site.point);
    const own = { reading, condition, value, net, twin: twin.value };
    if (quantity === 'moves') {
      const normal = Math.log(movesChance({ mean: twin.value, sigma: 0, kind: 'figure' }, value));
      return { ...own, sigma: 0.5, normal, range: 2 };
    }
    const range = isInVolts(quantity) ? this.range : 3 * Math.max(value, twin.value, 1e-9);
    const spread = isInVolts(quantity) ? learntSigma(twin.value) : learntSeconds(twin.value);
    const sigma = Math.hypot(spread, Math.sqrt(variance + twin.variance));
    return { ...own, sigma, normal: logDensity(value - twin.value, sigma * sigma, range), range };
  }

  /**
   * Log ratio against a stage that works, of readings that may be anything: a share q of them is, and q is not known
   * (a bad stage is seldom wrong in every state).
   */
  private spoiltLog(data: readonly LearntDatum[]): number {
    if (data.length === 0) return 0;
    const logs = SPOILT_SHARES.map((q) =>
      data.reduce((sum, x) => sum + Math.log((1 - q) * Math.exp(x.normal) + q / x.range) - x.normal, 0),
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
    const looks = this.looks.of;
    for (const [reading, look] of looks) if (before.looks.of.get(reading) !== look) changed++;
    const slack = CHANGE_LOG * (changed + Math.abs(before.looks.of.size - looks.size));
    if (this.data.length > FEW_READINGS)
      for (const [key, old] of before.weighedNow)
        this.weighedBefore.set(key, { w: old.w, slack: old.slack + slack });
    this.models.takeOver(before.models);
  }

  private sortWeighed(): void {
    steadily(this.weighed, rank, ({ item }) => item.faults);
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
    const { ready, noise } = this.models.prepared({ faults: [], logPrior: 0 });
    if (!ready) return () => 0;
    const inverse = inverseCovariance(ready, this.models.widerThan(noise));
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
    const w = this.evidence(item, this.models.prepared(item), SLIP_RATE);
    if (w) {
      this.weighedNow.set(key, { w, slack: 0 });
      this.top = Math.max(this.top, w.evidence + item.logPrior);
    }
    return w;
  }

  private evidence(item: Case, prepared: Prepared, slipRate: number): Weighed | undefined {
    const { data } = this;
    const { linear, mean, ready, variance } = prepared;
    if (!ready) return undefined;
    const n = data.length;
    const sigma = new Float64Array(n);
    const residual = new Float64Array(n);
    const wider = this.models.widerThan(prepared.noise);
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
      const prepared = this.models.preparedAround(current);
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
      logOf: (r, variance) => logDensity(r, variance, this.range),
    });
    const found = pairs.flatMap((item) => this.weighedCase(this.together(item)) ?? []);
    steadily(found, rank, ({ item }) => item.faults);
    const top = Math.max(
      found[0] ? found[0].evidence + found[0].item.logPrior : -Infinity,
      best.evidence + best.item.logPrior,
    );
    found.forEach((w, i) => {
      const resolve = i < RESOLVED_PAIRS && w.evidence + w.item.logPrior > top - 12;
      const kept = resolve ? this.resolved(w) : w;
      const [first, second] = w.item.faults as [number, number];
      const remark = this.isRemark(second, 0) ? second : this.isRemark(first, kept.grade) ? first : undefined;
      this.weighed.push({ ...kept, remark });
    });
  }

  /** A pair with the readings of running states weighed for both at once: in its prior they count for each by itself. */
  private together(item: Case): Case {
    const [a, b] = item.faults as [number, number];
    const each = this.running.logRatio(a) + this.running.logRatio(b);
    return { ...item, logPrior: item.logPrior - each + this.running.logRatioOfTwo(a, b) };
  }

  /**
   * A part that is merely off its value (a drifted resistor, a leak, a low gain) and moves no reading by as much as a volt
   * is a remark on the other fault of a pair, not a fault of its own. Drawn away from its severity it counts as the next one there.
   */
  private isRemark(number: number, grade: number): boolean {
    const { table, data } = this;
    const fault = (Math.abs(grade) > 1 ? severitiesBeyond(table, number, grade)[0] : undefined) ?? number;
    const { mode } = table.faults[fault]!.fault;
    if (mode !== 'high' && mode !== 'low-gain' && !mode.startsWith('leaky')) return false;
    return data.every((d) => {
      const volts = pointVolts(table, this.baseline.grounds.solver, single(fault), d.condition, d.site);
      return Math.abs(volts - table.sound[d.condition]!.volts[d.site.net]!) < REMARK_VOLTS;
    });
  }
}

/** A reading that only a twin explains, and its log density when its stage works. */
export interface LearntDatum {
  readonly reading: Reading;
  /** Number of the condition in the machine. */
  readonly condition: number;
  readonly value: number;
  readonly net: string;
  readonly twin: number;
  readonly sigma: number;
  readonly normal: number;
  /** Width of what it reads where its stage does not work. */
  readonly range: number;
}

function rank({ evidence, item }: Weighed): number {
  return evidence + item.logPrior;
}
