/**
 * All readings of one unit weighed together: which faults explain them, and how probable each is.
 *
 * For a hypothesis h:  y = mu_h + S_h theta + offset + e,  with theta as the sound readings left it (`Baseline`).
 * Every hypothesis is screened tolerantly against the fault table; the leaders get their own sensitivities, and the foremost are solved
 * again at the deviations that the readings ask for. Two hypotheses stand beside the faults: sound, and unexplained.
 */
import { STAGE_RATE } from '../faults/index.ts';
import type { Machine } from '../machine/index.ts';
import { Baseline, LIKE_VOLTS, MODEL_NET, MODEL_SIGMA, type SoundDatum } from './baseline.ts';
import type { Datum } from './datum.ts';
import type { Offset, Slope } from './grounds.ts';
import { type Case, pointVolts } from './hypothesis.ts';
import { cholesky, type Evidence, robustEvidence } from './robust-evidence.ts';
import { netOfPoint } from './site.ts';
import { NO_ROW, type Row, rowTimes, type SparseGaussian } from './sparse-gaussian.ts';
import { type Flow, flowOf, learntSigma, type Stage, spoilt } from './stage.ts';
import type { FaultTable } from './table.ts';

/** Probability that a reading is a slip of the probe, and that a reading is beyond an unknown fault's reach. */
const SLIP_RATE = 0.002;
const UNKNOWN_RATE = 0.12;
/** Nets at which the model is off by more than MODEL_SIGMA, and by how much then: stages at the edge of saturation, leakages. */
const MISFIT_RATE = 0.02;
const MISFIT_VOLTS = 0.35;
/** Readings of a net share a misfit when their levels are so near. */
const LEVEL_VOLTS = 1.5;
const LEVELS = 4096;
/** Share of the model's variance that all points of one kind on a unit have in common, and how near in level these are. */
const MODEL_KIND = 0.25;
const KIND_VOLTS = 0.12;
/** Model error of what a fault moves, as a share of the move: of each reading by itself, and of all together (the fault's strength). */
const MOVE_SHARE = 0.035;
const MOVE_COMMON = 0.04;
/** Tolerance of the screening, as a share of the move: severities lie between the grades, parts off their values. */
const SCREEN_SHARE = 0.15;
/** Prior probabilities before any reading, of a unit believed faulty. */
const SOUND_PRIOR = { faulty: 0.35, unknown: 0.5, healthy: 0.85 } as const;
const UNEXPLAINED_PRIOR = 0.01;
/** Two faults at once, against one. */
const DOUBLE_PRIOR = 0.03;
/** Shares of its readings that a bad stage may get wrong, alike in probability. */
const SPOILT_SHARES = [0.1, 0.3, 0.6, 0.9];
/** So far off, in spreads and in volts, a reading is no matter of noise or of the model. */
const GROSS_Z = 7;
const GROSS_VOLTS = 0.6;
/** Weight of a left-out reading: taken one by one they say more than they know together. */
const LEFT_WEIGHT = 0.4;
const REMARK_VOLTS = 1;
/** Single faults that are extended by a second one: by evidence, and as many by the tolerant look. */
const FIRSTS = 12;
/** Cases are solved again at deviations in steps of so many spreads, or of so many volts at the net that feels them most. */
const STEP_SPREADS = 0.5;
const STEP_VOLTS = 0.15;
const LEADERS = 40;
const RESOLVED = 10;
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
  private gaussian: SparseGaussian;
  private covariances: Float64Array[];
  private soundLinear: Linear;
  private readonly logShare: Float64Array;

  constructor(machine: Machine, table: FaultTable, unit: string) {
    this.machine = machine;
    this.table = table;
    this.unit = unit;
    this.baseline = new Baseline(machine, table, unit);
    this.data = this.baseline.data;
    const volts = [
      0,
      ...machine.rails.map((r) => r.volts),
      ...machine.conditions.flatMap((c) => c.drives.map((d) => d.volts)),
    ];
    this.range = Math.max(5, 1.2 * (Math.max(...volts) - Math.min(...volts)));
    this.gaussian = this.baseline.gaussian;
    this.covariances = this.data.map((d) => this.gaussian.covariance(d.row));
    this.soundLinear = soundLinearOf(this.data);
    this.flow = flowOf(machine);
    this.learnt = this.baseline.learntOnly.flatMap((d) => {
      const twin = this.baseline.twinAt(d.condition, d.site);
      if (twin === undefined) return [];
      const sigma = Math.hypot(learntSigma(twin), Math.sqrt(d.variance));
      const { net } = netOfPoint(machine, d.site.point);
      const normal = this.logOf(d.value - twin, sigma * sigma);
      return [{ datum: d, net, twin, sigma, normal }];
    });
    const total = table.hypotheses.reduce((sum, h) => sum + h.rate, 0) + STAGE_RATE * this.flow.stages.length;
    this.stageShare = STAGE_RATE / total;
    const health = machine.units.find((u) => u.id === unit)?.health ?? 'unknown';
    const soundPrior = SOUND_PRIOR[health];
    const faulty = Math.log(1 - soundPrior - UNEXPLAINED_PRIOR);
    this.logShare = Float64Array.from(
      table.faults,
      ({ fault, hypothesis }) =>
        faulty + Math.log((table.hypotheses[hypothesis]!.rate / total) * fault.share),
    );
    this.weigh(Math.log(soundPrior), faulty);
  }

  private weigh(logSound: number, logFaulty: number): void {
    const seen = this.seenFaults();
    if (this.data.length > DENSE_MOST) this.narrow(seen);
    const sound = this.evidence({ faults: [], logPrior: logSound }, this.soundLinear, SLIP_RATE)!;
    this.soundCase = sound;
    const unknown = this.evidence({ faults: [], logPrior: 0 }, this.soundLinear, UNKNOWN_RATE)!;
    this.unknownCase = unknown;

    const screened = this.screened(sound, seen);
    for (const fault of screened.leaders) {
      const found = this.weighedCase({ faults: [fault], logPrior: this.logShare[fault]! });
      if (found) this.weighed.push(found);
      else this.dropped++;
    }
    this.sortWeighed();
    this.resolveForemost();
    this.addPairs(seen);
    this.sortWeighed();

    const learntSound = this.learnt.reduce((sum, x) => sum + x.normal, 0);
    const learntUnknown = this.learnt.reduce(
      (sum, x) => sum + Math.log((1 - UNKNOWN_RATE) * Math.exp(x.normal) + UNKNOWN_RATE / this.range),
      0,
    );
    const logs = [
      sound.evidence + logSound + learntSound,
      unknown.evidence + Math.log(UNEXPLAINED_PRIOR) + learntUnknown,
      ...this.weighed.map((w) => w.evidence + w.item.logPrior + learntSound + this.learntLog(w.item.faults)),
      ...screened.others.map(
        ({ fault, log }) => log + this.logShare[fault]! + learntSound + this.learntLog([fault]),
      ),
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
      this.stages.push({ stage, probability: weights[start + screened.others.length + i]! / sum });
    });
    screened.others.forEach(({ fault }, i) => {
      this.unseen.push({ fault, probability: weights[start + i]! / sum });
    });
  }

  /**
   * What a fault of a traced part does to the readings that only a twin explains: those behind a stage whose input it
   * disturbs, and those on its own nets, may read anything.
   */
  private learntLog(faults: readonly number[]): number {
    if (this.learnt.length === 0) return 0;
    const { table, flow } = this;
    const loose: LearntDatum[] = [];
    const free = new Map<number, Set<string>>();
    for (const x of this.learnt) {
      const { condition } = x.datum;
      let nets = free.get(condition);
      if (!nets) {
        const bad = new Set<string>();
        for (const fault of faults) {
          for (const pin of table.netlist.parts.get(table.faults[fault]!.fault.part)!.pins)
            if (flow.learnt.has(pin.net)) bad.add(pin.net);
          table.moved(fault, condition, (net, volts) => {
            const sound = table.sound[condition]!.volts[net]!;
            if (Math.abs(volts - sound) > 0.3) bad.add(table.netlist.nets[table.netlist.namedNet[net]!]!);
          });
        }
        nets = spoilt(flow, bad);
        free.set(condition, nets);
      }
      if (nets.has(x.net)) loose.push(x);
    }
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

  private sortWeighed(): void {
    this.weighed.sort((a, b) => b.evidence + b.item.logPrior - a.evidence - a.item.logPrior);
  }

  private marginals(): { r: number; variance: number }[] {
    return this.data.map((d, i) => {
      const model = this.modelOf(this.soundLinear, i);
      return {
        r: d.value - d.expected - rowTimes(d.row, this.gaussian.mean) - model.offset,
        variance: rowTimes(d.row, this.covariances[i]!) + d.variance + d.rest + model.variance,
      };
    });
  }

  /** Log density of a residual, slips included. */
  private logOf(r: number, variance: number): number {
    return Math.log(
      ((1 - SLIP_RATE) * Math.exp((-0.5 * r * r) / variance)) / Math.sqrt(2 * Math.PI * variance) +
        SLIP_RATE / this.range,
    );
  }

  /**
   * A first, tolerant look at every fault: which readings it moves, and the log ratio of all readings' densities against
   * sound as if they were independent. Faults that move no reading have no entry in `touched`.
   */
  private seenFaults(): SeenFault[] {
    const { table, data } = this;
    const gaussians = this.marginals();
    const base = gaussians.map((g) => this.logOf(g.r, g.variance));
    const list: SeenFault[] = [];
    for (let fault = 0; fault < table.faults.length; fault++) {
      const touched: number[] = [];
      const moves: number[] = [];
      const logs: number[] = [];
      for (let i = 0; i < data.length; i++) {
        const d = data[i]!;
        const volts = pointVolts(table, this.baseline.grounds.solver, single(fault), d.condition, d.site);
        if (Number.isNaN(volts)) {
          touched.push(i);
          moves.push(Number.NaN);
          logs.push(Math.log(0.5 * Math.exp(base[i]!) + 0.5 / this.range) - base[i]!);
          continue;
        }
        const move = volts - table.sound[d.condition]!.volts[d.site.net]!;
        const { r, variance } = gaussians[i]!;
        if (Math.abs(move) < 2e-3 || move * move < 0.0025 * variance) continue;
        touched.push(i);
        moves.push(move);
        logs.push(this.logOf(r - move, variance + (SCREEN_SHARE * move) ** 2) - base[i]!);
      }
      list.push({ fault, touched, moves, logs, log: logs.reduce((sum, x) => sum + x, 0) });
    }
    return list;
  }

  /**
   * Of many readings, keeps those that part the leading faults best and lets the ones that no leader moves condition
   * the deviations beforehand. The choice looks at what faults would do, not at how far a reading is off, so that it
   * does not make a sound unit look bad. Readings that a leader moves but that were not chosen are left out, but for what
   * they say against a fault.
   */
  private narrow(seen: SeenFault[]): void {
    const order = [...seen]
      .filter((s) => s.touched.length > 0)
      .sort((a, b) => b.log + this.logShare[b.fault]! - a.log - this.logShare[a.fault]!);
    const leaders = order.slice(0, 40);
    const n = this.data.length;
    const gaussians = this.marginals();
    const worth = new Float64Array(n);
    const moved = new Uint8Array(n);
    const chosen = new Set<number>();
    for (const [rank, s] of leaders.entries()) {
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
      for (const { i } of rated.slice(0, rank < 10 ? 8 : 3)) chosen.add(i);
    }
    // A reading that is off beyond all noise and that no leader moves asks for a second fault.
    gaussians.forEach((g, i) => {
      const gross = Math.abs(g.r) > Math.max(GROSS_VOLTS, GROSS_Z * Math.sqrt(g.variance));
      if (moved[i] === 0 && gross && chosen.size < DENSE_MOST - 20) {
        chosen.add(i);
        moved[i] = 1;
      }
    });
    const rest = Array.from(worth, (w, i) => ({ w, i })).filter((x) => x.w > 0 && !chosen.has(x.i));
    rest.sort((a, b) => b.w - a.w);
    for (const { i } of rest) {
      if (chosen.size >= DENSE_MOST) break;
      chosen.add(i);
    }
    const own = [...chosen].slice(0, DENSE_MOST).sort((a, b) => a - b);
    this.gaussian = this.baseline.conditionedOn(this.data.filter((_, i) => moved[i] === 0));
    const place = new Map(own.map((i, k) => [i, k]));
    this.data = own.map((i) => this.data[i]!);
    this.covariances = this.data.map((d) => this.gaussian.covariance(d.row));
    this.soundLinear = soundLinearOf(this.data);
    // The touched readings of every fault, renumbered; what it does elsewhere stays in `log`.
    seen.forEach((s, k) => {
      const touched: number[] = [];
      const moves: number[] = [];
      const logs: number[] = [];
      let left = 0;
      s.touched.forEach((i, q) => {
        const at = place.get(i);
        if (at === undefined) {
          left += s.logs[q]!;
          return;
        }
        touched.push(at);
        moves.push(s.moves[q]!);
        logs.push(s.logs[q]!);
      });
      if (left < 0) this.leftOut.set(s.fault, LEFT_WEIGHT * left);
      seen[k] = { ...s, touched, moves, logs };
    });
  }

  /** Leaders to be weighed in full, and a generous estimate for the others; a fault that no reading sees is as likely as sound. */
  private screened(
    sound: Weighed,
    seen: readonly SeenFault[],
  ): { leaders: number[]; others: { fault: number; log: number }[] } {
    const joint = this.jointScreen(sound);
    const rated = seen.map((s) => ({ ...s, joint: s.touched.length === 0 ? Math.min(0, s.log) : joint(s) }));
    const score = (s: (typeof rated)[number], log: number): number => log + this.logShare[s.fault]!;
    const candidates = rated.filter((s) => s.touched.length > 0);
    const leaders = new Set<number>();
    const by = (key: 'log' | 'joint'): void => {
      candidates.sort((a, b) => score(b, b[key]) - score(a, a[key]));
      for (const s of candidates.slice(0, LEADERS)) leaders.add(s.fault);
    };
    by('log');
    by('joint');
    const others = rated
      .filter((s) => !leaders.has(s.fault))
      .map((s) => ({
        fault: s.fault,
        log: sound.evidence + (s.touched.length === 0 ? Math.min(0, s.log) : Math.min(s.log, s.joint)),
      }));
    return { leaders: [...leaders], others };
  }

  /**
   * Log likelihood ratio of a shift of the readings against sound under the sound unit's joint covariance, the shift's size free
   * between 0.7 and 1.3: max over a of a d'z - a² d'Gd / 2 with G the inverse covariance and z = G r.
   */
  private jointScreen(sound: Weighed): (seen: SeenFault) => number {
    const n = this.data.length;
    if (n === 0) return () => 0;
    const l = cholesky(this.covariance(this.soundLinear), n);
    if (!l) return () => 0;
    const solve = (b: Float64Array): Float64Array => {
      for (let i = 0; i < n; i++) {
        let sum = b[i]!;
        for (let k = 0; k < i; k++) sum -= l[i * n + k]! * b[k]!;
        b[i] = sum / l[i * n + i]!;
      }
      return b;
    };
    const r = solve(Float64Array.from(this.data, (d, i) => d.value - sound.mean[i]!));
    const d = new Float64Array(n);
    return ({ touched, moves }) => {
      d.fill(0);
      touched.forEach((i, k) => {
        d[i] = Number.isNaN(moves[k]!) ? 0 : moves[k]!;
      });
      solve(d);
      let cross = 0;
      let square = 0;
      for (let i = 0; i < n; i++) {
        cross += d[i]! * r[i]!;
        square += d[i]! * d[i]!;
      }
      const a = Math.min(1.3, Math.max(0.7, square > 0 ? cross / square : 1));
      return a * cross - 0.5 * a * a * square;
    };
  }

  private weighedCase(item: Case): Weighed | undefined {
    const linear = this.linear(item);
    return linear ? this.evidence(item, linear, SLIP_RATE) : undefined;
  }

  /** Means and sensitivities of the case at nominal parts, or around the deviations that it asked for (`around`). */
  private linear(item: Case, around?: Weighed): Linear | undefined {
    const { table, data, baseline } = this;
    const { grounds } = baseline;
    const n = data.length;
    const mu = this.soundLinear.mu.slice();
    const rest = this.soundLinear.rest.slice();
    const rows = [...this.soundLinear.rows];
    const grade = new Float64Array(n);
    const move = new Float64Array(n);
    const own = new Uint8Array(n);
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
      const nominal = grounds.linearised(item, condition, nets);
      if (!nominal) {
        for (const i of list) move[i] = Number.NaN;
        continue;
      }
      const offset =
        around &&
        this.offsetOf(
          around,
          nets.map((net) => nominal.slopes.get(net)!),
        );
      const found = offset ? grounds.linearised(item, condition, nets, offset) : nominal;
      if (!found) return undefined;
      for (const i of list) {
        const d = data[i]!;
        own[i] = 1;
        const pin = item.faults.find((f) => d.site.pin && table.faults[f]!.fault.pin?.point === d.site.point);
        if (pin !== undefined) {
          mu[i] = pointVolts(table, grounds.solver, item, condition, d.site);
          rows[i] = baseline.withGain(NO_ROW, d);
          rest[i] = 0.05 ** 2 + (0.08 * mu[i]!) ** 2;
          continue;
        }
        const slope = found.slopes.get(d.site.net)!;
        let value = found.volts[d.site.net]! * (d.meterOhms / (d.meterOhms + slope.ohms));
        if (offset) value -= rowTimes(slope.row, offset.deviations) + slope.byGrade * offset.grade;
        mu[i] = value;
        rows[i] = baseline.withGain(slope.row, d);
        rest[i] = slope.rest;
        grade[i] = slope.byGrade;
      }
    }
    return { mu, rows, rest, grade, move, own };
  }

  /**
   * Where a condition is linearised again: the deviations that the readings ask for, those that are felt there, in steps that move
   * no net by more than STEP_VOLTS. Steps, so that a small change of the readings asks for the same place; undefined at nominal parts.
   */
  private offsetOf(around: Weighed, slopes: readonly Slope[]): Offset | undefined {
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
    const grade = STEP_SPREADS * Math.round(Math.max(-3, Math.min(3, around.grade)) / STEP_SPREADS);
    return steps.length > 0 || grade !== 0 ? { deviations, grade, key: `${steps} ${grade}` } : undefined;
  }

  /** Covariance of all data under a case, noise included, row-major. */
  private covariance(linear: Linear): Float64Array {
    const { data } = this;
    const n = data.length;
    const shared = linear.rows.map((row, i) =>
      linear.own[i] ? this.gaussian.covariance(row) : this.covariances[i]!,
    );
    const k = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      for (let j = 0; j <= i; j++) {
        let c = rowTimes(linear.rows[j]!, shared[i]!) + linear.grade[i]! * linear.grade[j]!;
        const together = MOVE_COMMON * MOVE_COMMON * linear.move[i]! * linear.move[j]!;
        if (together !== 0 && !Number.isNaN(together)) c += together;
        const a = data[i]!;
        const b = data[j]!;
        if (a.site.net === b.site.net) {
          const model = this.modelOf(linear, i).variance;
          if (i === j) c += model + a.variance + linear.rest[i]!;
          else {
            const other = this.modelOf(linear, j).variance;
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

  private evidence(item: Case, linear: Linear, slipRate: number): Weighed | undefined {
    const { data } = this;
    const n = data.length;
    const covariance = this.covariance(linear);
    const mean = new Float64Array(n);
    const sigma = new Float64Array(n);
    const residual = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      mean[i] =
        linear.mu[i]! + rowTimes(linear.rows[i]!, this.gaussian.mean) + this.modelOf(linear, i).offset;
      sigma[i] = Math.sqrt(covariance[i * n + i]!);
      residual[i] = data[i]!.value - mean[i]!;
    }
    const against = item.faults.reduce((sum, f) => sum + (this.leftOut.get(f) ?? 0), 0);
    const found: Evidence | undefined = robustEvidence(
      residual,
      covariance,
      data.map((d, i) => d.site.net * LEVELS + Math.round(mean[i]! / LEVEL_VOLTS + LEVELS / 2)),
      {
        slipRate,
        slipDensity: 1 / this.range,
        mostSlips: slipRate > 0.05 ? n : Math.max(1, Math.ceil(n * 0.06)),
        misfitRate: MISFIT_RATE,
        misfitVolts: MISFIT_VOLTS,
        mostMisfits: Math.ceil(n / 12),
      },
    );
    if (!found) return undefined;
    const theta = this.gaussian.mean.slice();
    let grade = 0;
    for (let i = 0; i < n; i++) {
      const w = found.weights[i]!;
      if (w === 0) continue;
      const c = linear.own[i] ? this.gaussian.covariance(linear.rows[i]!) : this.covariances[i]!;
      for (let p = 0; p < theta.length; p++) theta[p]! += w * c[p]!;
      grade += w * linear.grade[i]!;
    }
    return {
      item,
      evidence: found.log + against,
      setAside: found.setAside,
      misfits: found.misfits.map((group) => Math.floor(group / LEVELS)),
      chiSquare: found.chiSquare,
      theta,
      grade,
      mean,
      sigma,
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
      const linear = this.linear(current.item, current);
      if (!linear) return first;
      const next = this.evidence(current.item, linear, SLIP_RATE);
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
      best.chiSquare < kept + 3 * Math.sqrt(2 * kept) + 2
    )
      return;
    const total = Math.log(DOUBLE_PRIOR);
    const made = new Set<string>();
    const firsts: Weighed[] = [];
    const taken = new Set<number>();
    const take = (w: Weighed | undefined): void => {
      if (w?.item.faults.length !== 1) return;
      const { hypothesis } = table.faults[w.item.faults[0]!]!;
      if (taken.has(hypothesis)) return;
      taken.add(hypothesis);
      firsts.push(w);
    };
    for (const w of this.weighed) if (firsts.length < FIRSTS) take(w);
    // A fault that explains its own readings well is lost among single faults when the other one spoils the rest:
    // the tolerant look, which lets a reading cost no more than a slip, still knows it.
    const robust = [...seen]
      .filter((s) => s.touched.length > 0)
      .sort((a, b) => b.log + this.logShare[b.fault]! - a.log - this.logShare[a.fault]!);
    for (const { fault } of robust) {
      if (firsts.length >= 2 * FIRSTS) break;
      if (taken.has(table.faults[fault]!.hypothesis)) continue;
      take(this.weighedCase({ faults: [fault], logPrior: this.logShare[fault]! }));
    }
    const logOf = (r: number, variance: number): number => this.logOf(r, variance);
    const pairs: { item: Case; score: number }[] = [];
    for (const first of firsts) {
      const f1 = first.item.faults[0]!;
      const base = data.map((d, i) => logOf(d.value - first.mean[i]!, first.sigma[i]! ** 2));
      const ranked: { fault: number; score: number }[] = [];
      for (let f2 = 0; f2 < table.faults.length; f2++) {
        if (table.faults[f2]!.fault.part === table.faults[f1]!.fault.part) continue;
        let score = 0;
        let any = false;
        for (let i = 0; i < n; i++) {
          const d = data[i]!;
          const volts = pointVolts(table, this.baseline.grounds.solver, single(f2), d.condition, d.site);
          if (Number.isNaN(volts)) continue;
          const move = volts - table.sound[d.condition]!.volts[d.site.net]!;
          if (Math.abs(move) < 5e-3) continue;
          any = true;
          const variance = first.sigma[i]! ** 2;
          // Either the moves add, or the second fault overrides the first at this point.
          const add = logOf(d.value - first.mean[i]! - move, variance + (SCREEN_SHARE * move) ** 2);
          const override = logOf(
            d.value - this.soundCase.mean[i]! - move,
            this.soundCase.sigma[i]! ** 2 + (SCREEN_SHARE * move) ** 2,
          );
          score += Math.max(add, override) - base[i]!;
        }
        if (any) ranked.push({ fault: f2, score: score + this.logShare[f2]! });
      }
      ranked.sort((a, b) => b.score - a.score);
      for (const { fault, score } of ranked.slice(0, 10)) {
        const key = [f1, fault].sort((a, b) => a - b).join(' ');
        if (made.has(key)) continue;
        made.add(key);
        pairs.push({
          item: {
            faults: [f1, fault],
            logPrior: total + this.logShare[f1]! + this.logShare[fault]!,
            solved: this.baseline.grounds.solvedPair([f1, fault]),
          },
          score: score + first.evidence + first.item.logPrior,
        });
      }
    }
    pairs.sort((a, b) => b.score - a.score);
    const found: Weighed[] = [];
    for (const { item } of pairs.slice(0, 40)) {
      const w = this.weighedCase(item);
      if (w) found.push(w);
    }
    found.sort((a, b) => b.evidence + b.item.logPrior - a.evidence - a.item.logPrior);
    const top = Math.max(
      found[0] ? found[0].evidence + found[0].item.logPrior : -Infinity,
      best.evidence + best.item.logPrior,
    );
    found.forEach((w, i) => {
      const resolve = i < 6 && w.evidence + w.item.logPrior > top - 12;
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

/** What a fault does to the readings: which it moves, by how many volts (NaN: no operating point). */
interface SeenFault {
  readonly fault: number;
  readonly touched: readonly number[];
  readonly moves: readonly number[];
  /** Log ratio of each touched reading's density against sound. */
  readonly logs: readonly number[];
  /** Log ratio of the readings' densities against sound, taken as independent. */
  readonly log: number;
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
  };
}

function single(fault: number): Case {
  return { faults: [fault], logPrior: 0 };
}
