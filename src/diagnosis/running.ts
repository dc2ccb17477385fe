/**
 * The readings of running states in the reckoning: what they say of each fault, of a sound unit, and of what nobody has thought of.
 *
 * Of each reading a fault foretells a mean, from the running table, moved by what the sound unit beside it has taught where the fault
 * leaves the waveform alone; and a spread, of sound units' parts, of the model, of the fault's own severity, of the instrument. Readings
 * stray together as the drawn sound units do. A few may be slips.
 */
import { FIGURES, figureOf, type RunningTable } from '../faults/index.ts';
import { type Machine, quantityOf } from '../machine/index.ts';
import { type Evidence, robustEvidence } from './robust-evidence.ts';
import { isInVolts, type RunningDatum, runningData } from './running-datum.ts';
import { netOfPoint, type Site } from './site.ts';
import type { FaultTable } from './table.ts';

/** What the model's waveforms err by on a sound unit: volts; of an edge's duration a share (common practice, no source). */
const MODEL_VOLTS = 0.06;
const MODEL_EDGE = 0.15;
/** … of what sound units stray by, a share more: parts age in other ways than they were made. */
const MODEL_MORE = 0.5;
/** Share of the sound spread that all units of a machine have in common, and of the model's error. */
const COMMON = 0.3;
const MODEL_COMMON = 0.85;
/** Spreads of a sound unit beyond which a twin shows that the drawing is wrong there, and is itself the measure. */
const TWIN_SPREADS = 3;
/** Model error of what a fault moves, as a share of the move: of each reading by itself, and of all together. */
const MOVE_SHARE = 0.1;
const MOVE_COMMON = 0.06;
/** A move of so many volts, or so large a share of a time, leaves nothing of what the sound unit taught. */
const FORGOTTEN_VOLTS = 0.5;
const FORGOTTEN_SHARE = 0.3;
/** How far the drawn units are believed that readings stray together. */
const TOGETHER = 0.8;
/** So many of them must show a figure for it to be counted on. */
const MOST_SHOW = 0.6;
/** Probability of a slip, and that a reading is beyond an unknown fault's reach, as for readings that stand still. */
const SLIP_RATE = 0.002;
/** Chance that a waveform without such a figure is read as having one: ringing, a slow slope. */
const NONE_RATE = 0.01;
/** Somebody says of a waveform that it moves from about so many volts on; the width of that, in natural logarithms; and slips. */
const MOVES_VOLTS = 0.15;
const MOVES_WIDTH = 0.6;
const MOVES_SLIP = 0.01;
/** Twice this share of the readings' number may be slips. */
const SLIPS_SHARE = 0.06;

/** What a reading would show: a mean and a standard deviation; `undefined` mean where the waveform has no such figure, or is unknown. */
export interface Foretold {
  readonly mean: number;
  readonly sigma: number;
  /** `figure`: so; `none`: the waveform has none; `unknown`: nobody can say. */
  readonly kind: 'figure' | 'none' | 'unknown';
}

interface Known {
  readonly datum: RunningDatum;
  readonly sound: number;
  /** Figures of the drawn units less their mean; 0 where one has none. */
  readonly strays: Float64Array;
  /** Variance of sound units by their parts, and the model's. */
  readonly parts: number;
  readonly model: number;
  /** What the twin taught: an offset, and the variance that is left, also as a share of what it was. */
  readonly offset: number;
  readonly rest: number;
  readonly left: number;
  /** Width of what a slip may read. */
  readonly range: number;
}

/** Of a place and quantity, what the sound circuit and its drawn units show. */
interface SoundFigure {
  readonly value: number;
  readonly strays: Float64Array;
  readonly parts: number;
  readonly model: number;
}

export class RunningReadings {
  /** Readings at points that the circuit computes. */
  readonly known: readonly Known[];
  /** Readings where only a twin says what is right. */
  readonly others: readonly RunningDatum[];
  /** Readings of which the table says nothing: what no drive moves, a state that was not followed. They are not weighed. */
  readonly aside: readonly RunningDatum[];
  /** Log density of all `known` readings on a sound unit, and where anything may be wrong with it, over that. */
  readonly sound: number = 0;
  readonly unknown: number = 0;
  private readonly machine: Machine;
  private readonly table: FaultTable;
  private readonly running: RunningTable | undefined;
  private readonly volts: number;
  /** Log density of each reading by itself on a sound unit. */
  private readonly soundLogs: readonly number[] = [];
  private readonly data: readonly RunningDatum[];
  private readonly ratios: Map<number, number> = new Map();
  private readonly figures: Map<string, SoundFigure | undefined> = new Map();

  /**
   * @param volts  width of what a slip may read, volts
   * @param previous  of the same machine, table and unit with other readings: where those of running states are the same, what they say is
   */
  constructor(
    machine: Machine,
    table: FaultTable,
    unit: string,
    siteOf: (point: string) => Site | undefined,
    { volts, unknownRate, learnt }: { volts: number; unknownRate: number; learnt: (net: string) => boolean },
    previous?: RunningReadings,
  ) {
    this.machine = machine;
    this.table = table;
    this.running = table.running;
    this.volts = volts;
    const known: Known[] = [];
    const others: RunningDatum[] = [];
    const aside: RunningDatum[] = [];
    const data = runningData(machine, unit, siteOf);
    if (previous !== undefined) this.figures = previous.figures;
    if (previous !== undefined && sameData(data, previous.data)) {
      this.data = previous.data;
      this.known = previous.known;
      this.others = previous.others;
      this.aside = previous.aside;
      this.sound = previous.sound;
      this.unknown = previous.unknown;
      this.soundLogs = previous.soundLogs;
      this.ratios = previous.ratios;
      return;
    }
    this.data = data;
    for (const datum of data) {
      const { net } = netOfPoint(machine, datum.site.point);
      const figure = learnt(net) ? undefined : this.soundFigure(datum.condition, datum.site, datum.quantity);
      if (figure === undefined) (learnt(net) || datum.site.net < 0 ? others : aside).push(datum);
      else known.push(this.taught(datum, figure));
    }
    this.known = known;
    this.others = others;
    this.aside = aside;
    if (known.length === 0) return;
    this.soundLogs = known.map((k) => this.logOf(k, this.foretold(k, undefined)));
    this.sound = this.together([]);
    // Any of the readings may be anything, but nothing says which.
    this.unknown =
      known.reduce((sum, k, i) => {
        const rate = k.datum.quantity === 'moves' ? 0.5 : 1 / k.range;
        return sum + Math.log((1 - unknownRate) * Math.exp(this.soundLogs[i]!) + unknownRate * rate);
      }, 0) - this.soundLogs.reduce((sum, log) => sum + log, 0);
  }

  /** Log density of the readings under a fault over that on a sound unit. */
  logRatio(fault: number): number {
    let ratio = this.ratios.get(fault);
    if (ratio === undefined) {
      ratio = this.touches(fault) ? this.together([fault]) - this.sound : 0;
      this.ratios.set(fault, ratio);
    }
    return ratio;
  }

  /** The same of two faults at once, tolerantly: each reading as the one has it that moves it; of two that do, as it is likelier. */
  logRatioOfTwo(a: number, b: number): number {
    return this.touches(a) || this.touches(b) ? this.together([a, b]) - this.sound : 0;
  }

  private foretoldOfAll(k: Known, faults: readonly number[]): Foretold {
    const moving = faults.filter((f) => this.moved(k, f)).map((f) => this.foretold(k, f));
    const logs = moving.map((foretold) => this.logOf(k, foretold));
    return moving[logs.indexOf(Math.max(...logs))] ?? this.foretold(k, undefined);
  }

  private touches(fault: number): boolean {
    return this.known.some((k) => this.moved(k, fault));
  }

  private moved({ datum: { condition, site, quantity } }: Known, fault: number): boolean {
    const from = this.delayFrom(quantity);
    return (
      this.table.faults[fault]!.fault.pin?.point === site.point ||
      this.running!.moves(fault, condition, site.net) ||
      (from !== undefined && this.running!.moves(fault, condition, from))
    );
  }

  /** What each reading would show on a sound unit and under some faults, and what it says for them (natural log). */
  reasons(faults: readonly number[]): {
    readonly datum: RunningDatum;
    readonly sound: Foretold;
    readonly fault: Foretold;
    readonly weight: number;
  }[] {
    return this.known.map((k, i) => {
      const sound = this.foretold(k, undefined);
      const fault = this.foretoldOfAll(k, faults);
      return { datum: k.datum, sound, fault, weight: this.logOf(k, fault) - this.soundLogs[i]! };
    });
  }

  /** What a quantity at a place would show under a fault, or on a sound unit; its instrument's uncertainty is not in it. Undefined where nothing is computed. */
  at(condition: number, site: Site, quantity: string, fault: number | undefined): Foretold | undefined {
    const figure = this.soundFigure(condition, site, quantity);
    if (figure === undefined) return undefined;
    const datum = { condition, site, quantity, value: 0, variance: 0 };
    const range = isInVolts(quantity) ? this.volts : Math.max(Math.abs(figure.value) || 0, 1e-9);
    return this.foretold({ ...untaught(figure), datum, range }, fault);
  }

  /** Each reading beside what a sound unit would show; of a time that a sound one does not have, nothing. */
  departures(): { readonly datum: RunningDatum; readonly expected: Foretold }[] {
    return this.known.flatMap((k) => {
      const sound = this.foretold(k, undefined);
      if (sound.kind === 'none') return [];
      return [{ datum: k.datum, expected: k.datum.quantity === 'moves' ? movesAtAll(sound) : sound }];
    });
  }

  private delayFrom(quantity: string): number | undefined {
    const { from } = quantityOf(quantity) ?? {};
    if (from === undefined) return undefined;
    return this.table.netlist.netIndex.get(netOfPoint(this.machine, from).net) ?? -1;
  }

  /** Undefined where the circuit computes no waveform, or a sound one has no such figure. */
  private soundFigure(condition: number, site: Site, quantity: string): SoundFigure | undefined {
    const key = `${condition} ${site.net} ${quantity}`;
    if (!this.figures.has(key)) this.figures.set(key, this.newSoundFigure(condition, site.net, quantity));
    return this.figures.get(key);
  }

  private newSoundFigure(condition: number, net: number, quantity: string): SoundFigure | undefined {
    const { running } = this;
    if (net < 0 || !running?.followed(condition)) return undefined;
    const from = this.delayFrom(quantity);
    if (from === -1) return undefined;
    const row = running.sound(condition, net);
    const value = figureOf(quantity, row, from === undefined ? undefined : running.sound(condition, from));
    // A net that nothing fixes has no figures at all.
    if (Number.isNaN(row[FIGURES.indexOf('average')]!)) return undefined;
    const fromRows = from === undefined ? undefined : running.drawn(condition, from);
    const shown = running.drawn(condition, net).map((r, i) => figureOf(quantity, r, fromRows?.[i]));
    const finite = shown.filter((x) => Number.isFinite(x));
    const mean = finite.reduce((sum, x) => sum + x, 0) / Math.max(1, finite.length);
    const strays = Float64Array.from(shown, (x) => (Number.isFinite(x) ? x - mean : 0));
    let parts = strays.reduce((sum, x) => sum + x * x, 0) / Math.max(1, finite.length - 1);
    // What not all sound units show may be anything that some show.
    if (finite.length < MOST_SHOW * shown.length) parts += value * value;
    const edges = [row, ...(from === undefined ? [] : [running.sound(condition, from)])].map(edgeSeconds);
    const model = isInVolts(quantity)
      ? MODEL_VOLTS ** 2
      : quantity === 'period'
        ? 0
        : (MODEL_EDGE * Math.max(...edges)) ** 2;
    return { value, strays, parts, model: model + MODEL_MORE ** 2 * parts };
  }

  /** With what the twin teaches of it: the common part of what both units are off by. */
  private taught(datum: RunningDatum, figure: SoundFigure): Known {
    const range = isInVolts(datum.quantity) ? this.volts : this.seconds(datum, figure);
    const bare = { ...untaught(figure), datum, range };
    const { twin } = datum;
    if (twin === undefined || datum.quantity === 'moves' || Number.isNaN(figure.value)) return bare;
    const whole = figure.parts + figure.model;
    let common = COMMON * figure.parts + MODEL_COMMON * figure.model;
    const own = whole - common;
    const off = twin.value - figure.value;
    if (off * off > TWIN_SPREADS ** 2 * (whole + twin.variance)) common = off * off;
    const gain = common / (common + own + twin.variance);
    // What the drives dictate has no variance of its own: what is left is then the twin's, and a share would lose it.
    const rest = common * (1 - gain) + own;
    return { ...bare, offset: gain * off, rest, left: whole > 0 ? rest / whole : 1 };
  }

  /** What a slip may read of a time: anything in the stretch that is looked at. */
  private seconds({ value }: RunningDatum, figure: SoundFigure): number {
    return 3 * Math.max(Math.abs(value), Number.isNaN(figure.value) ? 0 : Math.abs(figure.value), 1e-9);
  }

  private foretold(k: Omit<Known, 'datum'> & { datum: Place }, fault: number | undefined): Foretold {
    const { condition, site, quantity, variance } = k.datum;
    const whole = k.parts + k.model;
    const usual = { sigma: Math.sqrt(k.rest + variance) };
    if (fault === undefined) {
      if (Number.isNaN(k.sound)) return { mean: Number.NaN, ...usual, kind: 'none' };
      return { mean: k.sound + k.offset, ...usual, kind: 'figure' };
    }
    const from = this.delayFrom(quantity);
    const row = this.running!.row(fault, condition, site.net);
    const fromRow = from === undefined ? undefined : this.running!.row(fault, condition, from);
    const ownPin = this.table.faults[fault]!.fault.pin?.point === site.point;
    if (row === undefined || ownPin || (from !== undefined && fromRow === undefined))
      return { mean: k.sound, sigma: k.range, kind: 'unknown' };
    const mean = figureOf(quantity, row, fromRow);
    if (Number.isNaN(mean)) return { mean, ...usual, kind: 'none' };
    if (Number.isNaN(k.sound)) {
      const sigma = Math.hypot(
        MOVE_SHARE * mean,
        isInVolts(quantity) ? MODEL_VOLTS : MODEL_EDGE * edgeSeconds(row),
      );
      return { mean, sigma: Math.hypot(sigma, Math.sqrt(variance)), kind: 'figure' };
    }
    const move = mean - k.sound;
    const stays = this.stays(quantity, move, k.sound);
    const model = isInVolts(quantity) || quantity === 'period' ? 0 : (MODEL_EDGE * edgeSeconds(row)) ** 2;
    const spread = stays * k.rest + (1 - stays) * Math.max(whole, model) + (MOVE_SHARE * move) ** 2;
    return { mean: mean + stays * k.offset, sigma: Math.sqrt(spread + variance), kind: 'figure' };
  }

  private stays(quantity: string, move: number, sound: number): number {
    const forgotten = isInVolts(quantity) ? FORGOTTEN_VOLTS : FORGOTTEN_SHARE * Math.abs(sound) + 1e-9;
    return Math.exp(-Math.abs(move) / forgotten);
  }

  /** Log density of one reading by itself. */
  private logOf(k: Known, foretold: Foretold): number {
    const { value, quantity } = k.datum;
    if (quantity === 'moves') return Math.log(movesChance(foretold, value));
    const anything = 1 / k.range;
    if (foretold.kind === 'none') return Math.log(NONE_RATE * anything);
    const { mean, sigma } = foretold;
    if (foretold.kind === 'unknown') {
      const sound = Math.exp(-0.5 * ((value - k.sound - k.offset) / sigma) ** 2) / (sigma * ROOT_TWO_PI);
      return Math.log(0.5 * (Number.isNaN(sound) ? anything : sound) + 0.5 * anything);
    }
    const z = (value - mean) / sigma;
    return Math.log(
      ((1 - SLIP_RATE) * Math.exp(-0.5 * z * z)) / (sigma * ROOT_TWO_PI) + SLIP_RATE * anything,
    );
  }

  /** Log density of all readings under some faults or, under none, on a sound unit, as they stray together. */
  private together(faults: readonly number[]): number {
    let log = 0;
    const joint: { k: Known; foretold: Foretold; stays: number; move: number }[] = [];
    for (const k of this.known) {
      const foretold = this.foretoldOfAll(k, faults);
      if (foretold.kind !== 'figure' || k.datum.quantity === 'moves') {
        log += this.logOf(k, foretold);
        continue;
      }
      const move = faults.length === 0 || Number.isNaN(k.sound) ? 0 : foretold.mean - k.sound - k.offset;
      const stays = Number.isNaN(k.sound) ? 0 : this.stays(k.datum.quantity, move, k.sound);
      joint.push({ k, foretold, stays, move });
    }
    const n = joint.length;
    // Each in widths of what a slip may read, so that volts and seconds stand side by side.
    const covariance = new Float64Array(n * n);
    for (let i = 0; i < n; i++) {
      const a = joint[i]!;
      covariance[i * n + i] = (a.foretold.sigma / a.k.range) ** 2;
      for (let j = 0; j < i; j++) {
        const b = joint[j]!;
        const strays = TOGETHER * a.stays * b.stays * covarianceOf(a.k.strays, b.k.strays);
        const shared = strays * Math.sqrt(a.k.left * b.k.left) + MOVE_COMMON ** 2 * a.move * b.move;
        covariance[i * n + j] = shared / (a.k.range * b.k.range);
        covariance[j * n + i] = covariance[i * n + j]!;
      }
    }
    const residual = Float64Array.from(joint, ({ k, foretold }) => (k.datum.value - foretold.mean) / k.range);
    const found: Evidence | undefined = robustEvidence(residual, covariance, {
      ...{ slipRate: SLIP_RATE, slipDensity: 1, mostSlips: Math.max(1, Math.ceil(n * SLIPS_SHARE)) },
      ...{ ways: [], mostWays: 0 },
    });
    const widths = joint.reduce((sum, { k }) => sum + Math.log(k.range), 0);
    // Without a good covariance each by itself.
    const alone = (): number => joint.reduce((sum, { k, foretold }) => sum + this.logOf(k, foretold), 0);
    return log + (found === undefined ? alone() : found.log - widths);
  }
}

function sameData(a: readonly RunningDatum[], b: readonly RunningDatum[]): boolean {
  return (
    a.length === b.length &&
    a.every(
      (one, i) =>
        one.reading === b[i]!.reading &&
        one.twin?.value === b[i]!.twin?.value &&
        one.twin?.variance === b[i]!.twin?.variance,
    )
  );
}

const ROOT_TWO_PI = Math.sqrt(2 * Math.PI);

type Place = Pick<RunningDatum, 'condition' | 'site' | 'quantity' | 'value' | 'variance'>;

function untaught({ value, strays, parts, model }: SoundFigure): Omit<Known, 'datum' | 'range'> {
  return { sound: value, strays, parts, model, offset: 0, rest: parts + model, left: 1 };
}

/** Of a waveform's own edges the longer, seconds; 0 where it has none. */
function edgeSeconds(row: Float32Array): number {
  const [rise, fall] = [row[FIGURES.indexOf('rise')]!, row[FIGURES.indexOf('fall')]!];
  return Math.max(Number.isNaN(rise) ? 0 : rise, Number.isNaN(fall) ? 0 : fall);
}

function covarianceOf(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return a.length > 1 ? sum / (a.length - 1) : 0;
}

/** Chance that somebody says of a waveform what was said: that it moves, 1, or stands still, 0. */
export function movesChance({ mean, kind }: Foretold, said: number): number {
  if (kind !== 'figure') return 0.5;
  const moves = logistic(Math.log(Math.max(mean, 1e-6) / MOVES_VOLTS) / (MOVES_WIDTH / 1.7));
  const chance = MOVES_SLIP + (1 - 2 * MOVES_SLIP) * moves;
  return said === 1 ? chance : 1 - chance;
}

/** What is foretold of a waveform's swing as what somebody would say: 1, it moves, or 0. */
export function movesAtAll(foretold: Foretold): Foretold {
  const chance = movesChance(foretold, 1);
  return { mean: chance > 0.5 ? 1 : 0, sigma: Math.sqrt(chance * (1 - chance)), kind: 'figure' };
}

function logistic(x: number): number {
  return 1 / (1 + Math.exp(-x));
}
