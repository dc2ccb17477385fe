/**
 * What each case says of the readings, but for their values: means, sensitivities and covariance, at nominal parts or around the
 * deviations that the readings asked for; and how readings may be off together.
 */
import { type Baseline, LIKE_VOLTS, MODEL_NET, MODEL_SIGMA, type SoundDatum } from './baseline.ts';
import type { Offset, Slope } from './grounds.ts';
import { type Case, pointVolts } from './hypothesis.ts';
import { type Factored, factored, type LooseWay } from './robust-evidence.ts';
import { type Deviations, NO_ROW, type Row, rowTimes } from './sparse-gaussian.ts';
import type { FaultTable } from './table.ts';

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
/** Cases are solved again at deviations in steps of so many spreads, or of so many volts at the net that feels them most. */
const STEP_SPREADS = 0.5;
const STEP_VOLTS = 0.15;
/** Between two such steps the severity is taken from a cubic, in finer steps. */
const SEVERITY_STEP = 0.02;
/** Prepared cases are kept up to so many numbers, and each until so many of its readings are surer or less sure than they were. */
const MOST_NUMBERS = 6e6;
const MOST_WIDER = 4;

export interface Linear {
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

/** What the readings ask for under a case: deviations, and the severity's. */
export interface Asked {
  readonly item: Case;
  readonly theta: Float64Array;
  readonly grade: number;
}

/** A case with all that its evidence needs and that the values of the readings leave alone. */
export interface Prepared {
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

export class CaseModels {
  private readonly table: FaultTable;
  private readonly baseline: Baseline;
  private readonly gaussian: Deviations;
  private readonly data: readonly SoundDatum[];
  private readonly range: number;
  private readonly soundLinear: Linear;
  private cases = new Map<string, Prepared>();
  private casesBefore = new Map<string, Prepared>();

  /** @param range  width of what a point may read, volts */
  constructor(baseline: Baseline, gaussian: Deviations, data: readonly SoundDatum[], range: number) {
    this.table = baseline.table;
    this.baseline = baseline;
    this.gaussian = gaussian;
    this.data = data;
    this.range = range;
    this.soundLinear = soundLinearOf(data);
  }

  /** Takes over what was prepared before for the same places of readings, where the sound readings teach the same. */
  takeOver(before: CaseModels): void {
    if (2 * before.cases.size * this.data.length ** 2 > MOST_NUMBERS) return;
    if (!before.baseline.teachesAs(this.baseline)) return;
    if (before.gaussian === this.gaussian) this.cases = before.cases;
    else this.casesBefore = before.cases;
  }

  /** Lets go of what was prepared before. */
  settle(): void {
    this.casesBefore = new Map();
  }

  /** A case at nominal parts, with all of its evidence that does not depend on the readings' values; kept between answers. */
  prepared(item: Case): Prepared {
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
  preparedAround(around: Asked): Prepared | undefined {
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
  private offsetOf(around: Asked, slopes: readonly Slope[]): Around | undefined {
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
  widerThan(noise: Float64Array): { i: number; by: number }[] {
    const wider: { i: number; by: number }[] = [];
    this.data.forEach((d, i) => {
      const by = d.variance - noise[i]!;
      if (by !== 0) wider.push({ i, by });
    });
    return wider;
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
