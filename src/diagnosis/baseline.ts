/**
 * What the sound readings teach about the faulty unit: the healthy units, and the unit itself before it failed.
 *
 * All units share one drawing and partly one batch of parts, so each parameter's deviations are correlated between units
 * (`Parameter.common`). The sound readings condition them by Gaussian updating; the deviations of the faulty unit
 * follow. What no deviation explains at a point read on a sound unit is learnt as an offset of the drawing there.
 */
import type { OperatingPoint } from '../circuit/index.ts';
import type { Machine } from '../machine/index.ts';
import { type Datum, readingsOf } from './datum.ts';
import { type Grounds, groundsOf, type Slope } from './grounds.ts';
import { type Site, sitesBeside, sitesOf } from './site.ts';
import {
  type Change,
  ChangedGaussian,
  type Coupling,
  type Deviations,
  type GaussianDatum,
  NO_ROW,
  type Row,
  rowTimes,
  SparseGaussian,
} from './sparse-gaussian.ts';
import { fedConditions, flowOf } from './stage.ts';
import type { FaultTable } from './table.ts';

/** Standard deviation of the model itself at a point, volts; measured against a richer physics (docs/method.md). */
export const MODEL_SIGMA = 0.03;
/** Share of the model's variance that all units have in common: the same circuit is mismodelled in the same way. */
const MODEL_COMMON = 0.45;
/** Share that one unit has at one net in all states of like level: its own transistor's saturation, its own leakages. */
export const MODEL_NET = 0.42;
/** Levels within so many volts of each other are alike. */
export const LIKE_VOLTS = 0.5;
/** More levels than there are. */
const LEVELS = 65536;
/** So many spreads off what the others say, a sound reading contradicts the drawing. */
const DRAWING_Z = 4.5;

/** An earlier reading that is so far off was not taken on a sound unit. */
const HISTORY_VOLTS = 0.4;
const HISTORY_Z = 5;
/** How many spreads the same way both units must put a parameter for the drawing to be suspect, and how wide it is then taken. */
const WIDEN_SPREADS = 2.2;
const WIDENED = 36;
const WIDEN_MOST = 4;
/** A fit follows another one by so many readings that come or go; then it is made anew. */
const MOST_CHANGES = 60;
/** From here on a wrong value of the drawing is felt at a point, volts. */
const FELT_VOLTS = 0.25;

/** A place where the drawing and the sound units disagree. */
export interface DrawingOffset {
  readonly condition: number;
  readonly net: number;
  readonly point: string;
  /** Volts by which the sound units read above what the drawing says. */
  readonly offset: number;
  readonly z: number;
}

/** What the sound readings teach, whatever the unit in question reads but for the parameters that are wide. */
interface Taught {
  readonly data: readonly SoundDatum[];
  readonly wide: readonly number[];
  /** The fits before each widening and after the last. */
  readonly fits: readonly SparseGaussian[];
  readonly gaussian: SparseGaussian;
  /** The data without slips. */
  readonly kept: readonly SoundDatum[];
  readonly drawing: readonly DrawingOffset[];
  readonly free: ReadonlyMap<string, number>;
  readonly places: ReadonlyMap<string, { readonly sum: number; readonly precision: number }>;
}

/** A datum with its expected value and sensitivities on a sound unit. */
export interface SoundDatum extends Datum {
  /** Volts expected of a nominal sound unit at the reading's temperature, meter loading included; NaN: not computed. */
  readonly expected: number;
  /** Deviations of the joint Gaussian that move it. */
  readonly row: Row;
  /** Variance of small sensitivities that the row leaves out, V². */
  readonly rest: number;
}

export class Baseline {
  readonly machine: Machine;
  readonly table: FaultTable;
  readonly unit: string;
  readonly grounds: Grounds;
  readonly sites: ReadonlyMap<string, Site>;
  /** The unit's readings that count, computed points and others. */
  readonly data: SoundDatum[];
  /** Readings of points that have no computed value on the faulty unit. */
  readonly learntOnly: Datum[];
  readonly gaussian: SparseGaussian;
  readonly soundReadings: number;
  private couplings: readonly Coupling[] = [];
  /** Parameters at whose drawn value both units are off the same way. */
  private readonly wide = new Set<number>();
  private readonly blocks: number;
  private readonly taught: Taught;
  readonly notes: string[] = [];
  /** Readings of sound units by condition and point, for points that are not computed and for the strips. */
  readonly twin: Map<string, Datum[]> = new Map();
  private offsets = new Map<string, { offset: number; variance: number }>();
  /** Variance of offsets that were set free because a sound unit contradicts the drawing there. */
  private readonly free = new Map<string, number>();
  private readonly alike = new Map<SoundDatum, number>();
  /** The same for the sound readings, among themselves: they are a fit of their own. */
  private readonly alikeSound: Map<SoundDatum, number>;
  private readonly fed = new Map<string, Machine['conditions']>();
  private readonly feedKeys = new Map<string, string>();
  private readonly twinByNet: Map<string, Datum[]> = new Map();
  private readonly others: readonly Datum[];
  /** What readings are as data, and in which place of the Gaussian: the same for all baselines that follow each other. */
  private readonly known: WeakMap<Datum['reading'], Datum>;
  private readonly placed: WeakMap<Datum, SoundDatum>;
  private readonly gained: WeakMap<Row, { visit: number; volts: number; row: Row }[]>;
  /** Text of what the places of the Gaussian and the levels fed depend on. */
  private readonly layout: string;
  private readonly read = new Map<string, Read>();
  /** The baseline before, until `settle`. */
  private like: Baseline | undefined;
  private alone: OwnFit | undefined;
  private conditioned: OwnFit | undefined;
  private readonly visits = new Map<string, number>();
  private readonly size: number;
  /** Prior mean of the deviations, in spreads. */
  private readonly start: Float64Array;

  /**
   * @param machine  the description whose readings count; the table may have been made before the last of them
   * @param previous  of the same unit and table, to take over what the readings that have changed leave alone
   */
  constructor(machine: Machine, table: FaultTable, unit: string, previous?: Baseline) {
    this.machine = machine;
    this.table = table;
    this.unit = unit;
    const { netlist } = table;
    this.grounds = groundsOf(table);
    const like =
      previous?.table === table && previous.unit === unit && sameButReadings(previous.machine, machine)
        ? previous
        : undefined;
    this.like = like;
    this.sites = like ? sitesBeside(like.sites, machine, netlist) : sitesOf(machine, netlist);
    this.known = like?.known ?? new WeakMap();

    const read = (id: string): Read => {
      const list = machine.readings.filter((r) => r.unit === id);
      const before = like?.read.get(id);
      const found =
        before && sameList(before.list, list)
          ? before
          : {
              list,
              ...readingsOf(
                { ...machine, readings: list },
                id,
                this.sites,
                this.known,
                (visit) => this.looksSound(visit),
                id === unit ? 'trouble' : 'twin',
              ),
            };
      this.read.set(id, found);
      return found;
    };
    const own = read(unit);
    const healthy = machine.units.filter((u) => u.health === 'healthy' && u.id !== unit);
    const sound: { block: number; data: readonly Datum[] }[] = [];
    let blocks = 1;
    for (const u of healthy) {
      const { now } = read(u.id);
      if (now.length > 0) sound.push({ block: blocks++, data: now });
    }
    const parameters = netlist.parameters.length;
    const others = [...own.history, ...sound.flatMap((s) => s.data)];
    const everything = [...others, ...own.now];
    for (const d of everything)
      if (!this.visits.has(d.visit)) this.visits.set(d.visit, blocks * parameters + this.visits.size);
    this.size = blocks * parameters + this.visits.size;
    this.layout = [this.feedKey(this.feed(unit)), blocks, ...this.visits.keys()].join('\n');
    for (const { id } of healthy) this.layout += `\n${this.feedKey(this.feed(id))}`;
    this.placed = like?.layout === this.layout ? like.placed : new WeakMap();
    this.gained = like?.layout === this.layout ? like.gained : new WeakMap();

    this.others = others;
    if (like && sameList(like.others, others)) {
      this.twin = like.twin;
      this.twinByNet = like.twinByNet;
    } else this.learnTwins(others);

    this.prepare(everything.filter((d) => !this.placed.has(d)));
    const history = own.history.map((d) => this.soundDatum(d, 0)).filter((d) => Number.isFinite(d.expected));
    const soundThen = this.looksSound(history);
    if (!soundThen)
      this.notes.push(
        `${history.length} earlier readings of ${unit}, from before it was sound or repaired, do not fit a sound unit, and they are not used`,
      );
    const soundData = [
      ...(soundThen ? history : []),
      ...sound.flatMap((s) => s.data.map((d) => this.soundDatum(d, s.block))),
    ].filter((d) => Number.isFinite(d.expected));
    this.soundReadings = soundData.length;
    const now = own.now.map((d) => this.soundDatum(d, 0));
    this.data = now.filter((d) => Number.isFinite(d.expected));
    this.learntOnly = own.now.filter((_, i) => !Number.isFinite(now[i]!.expected));

    this.blocks = blocks;
    this.countAlike(this.data, this.alike);
    const same = like?.layout === this.layout && sameList(like.taught.data, soundData);
    this.alikeSound = same ? like.alikeSound : this.countAlike(soundData, new Map());
    this.start = this.priorMean(blocks, parameters);
    this.taught = this.teach(soundData, same ? like.taught : undefined);
    this.gaussian = this.taught.gaussian;
    // Which of the freed offsets are the unit's too is for its readings to say.
    if (like && this.taught === like.taught && this.free.size === 0) this.offsets = like.offsets;
    else this.learnOffsets(this.taught.places);
  }

  /** What the sound readings teach. `before`: of the same sound readings, from whose parts it may differ only by the widened parameters. */
  private teach(soundData: readonly SoundDatum[], before?: Taught): Taught {
    const parameters = this.table.netlist.parameters.length;
    const { blocks } = this;
    const fits: SparseGaussian[] = [];
    const fitWidened = (): SparseGaussian => {
      const known = sameStart(before?.wide, [...this.wide]) ? before?.fits[fits.length] : undefined;
      this.couplings = this.prior(blocks, parameters);
      const fit = known ?? this.fit(this.couplings, soundData);
      fits.push(fit);
      return fit;
    };
    let gaussian = fitWidened();
    for (let k = 0; k < WIDEN_MOST && soundData.length > 0; k++) {
      const at = this.drawnWrong(gaussian, parameters, blocks);
      if (at < 0) break;
      this.wide.add(at);
      gaussian = fitWidened();
    }
    const wide = [...this.wide];
    if (before && sameList(before.wide, wide)) {
      for (const [key, variance] of before.free) this.free.set(key, variance);
      return before;
    }
    const drawing: DrawingOffset[] = [];
    for (let round = 0; round < 6 && soundData.length > 0; round++) {
      const found = this.misfits(gaussian, soundData, round);
      if (found.length === 0) break;
      drawing.push(...found);
      gaussian = this.fit(this.couplings, soundData);
    }
    const kept = this.withoutSlips(soundData, drawing);
    if (kept.length < soundData.length) gaussian = this.fit(this.couplings, kept);
    drawing.push(...this.drawnElsewhere(kept, parameters, gaussian));
    return {
      data: soundData,
      wide,
      fits,
      gaussian,
      kept,
      drawing,
      free: new Map(this.free),
      places: this.learntPlaces(kept, gaussian),
    };
  }

  /** Lets go of the baseline before. */
  settle(): void {
    this.like = undefined;
  }

  /** Whether means and spreads of sound readings are what they are by another baseline. */
  teachesAs(other: Baseline): boolean {
    return this.gaussian === other.gaussian && this.offsets === other.offsets;
  }

  /** Places where the drawing and the sound units disagree. */
  get drawing(): readonly DrawingOffset[] {
    return this.taught.drawing;
  }

  private learnTwins(others: readonly Datum[]): void {
    for (const d of others) {
      const key = `${d.condition} ${d.site.point}`;
      const list = this.twin.get(key);
      if (list) list.push(d);
      else this.twin.set(key, [d]);
      const place = `${d.condition} ${d.site.net >= 0 ? this.namedNet(d.site.net) : d.site.point}`;
      const near = this.twinByNet.get(place);
      if (near) near.push(d);
      else this.twinByNet.set(place, [d]);
    }
  }

  /** Under whose levels of uncomputed nets a reading stands: its own unit's, where there are such nets. */
  private feed(unit: string): string {
    return unit === this.unit || flowOf(this.machine).learnt.size === 0 ? '' : unit;
  }

  private conditionsOf(feed: string): Machine['conditions'] {
    if (feed === '') return this.table.conditions;
    let found = this.fed.get(feed);
    if (!found) {
      found = fedConditions(this.machine, feed);
      this.fed.set(feed, found);
    }
    return found;
  }

  /** Operating points of the sound circuit in a room, fed as the unit `feed` is. */
  private pointsAt(ambient: number, feed = ''): readonly OperatingPoint[] {
    return this.grounds.soundPoints(ambient, this.feedKey(feed), this.conditionsOf(feed));
  }

  /** The levels that a unit feeds, by themselves: they change with its readings. */
  private feedKey(feed: string): string {
    let key = this.feedKeys.get(feed);
    if (key === undefined) {
      key = feed === '' ? '' : JSON.stringify(this.conditionsOf(feed).map((c) => c.drives));
      this.feedKeys.set(feed, key);
    }
    return key;
  }

  /** Works out the slopes of all the data's nets, condition by condition. */
  private prepare(data: readonly Datum[]): void {
    const groups = new Map<string, { first: Datum; nets: Set<number> }>();
    for (const d of data) {
      if (d.site.net < 0) continue;
      const key = `${this.feed(d.reading.unit)} ${d.ambient} ${d.condition}`;
      let group = groups.get(key);
      if (!group) {
        group = { first: d, nets: new Set() };
        groups.set(key, group);
      }
      group.nets.add(d.site.net);
    }
    for (const { first, nets } of groups.values())
      this.slopesAt(first.ambient, first.condition, [...nets], this.feed(first.reading.unit));
  }

  private slopesAt(
    ambient: number,
    condition: number,
    nets: readonly number[],
    feed: string,
  ): readonly (Slope | undefined)[] {
    return this.grounds.soundSlopes(ambient, this.feedKey(feed), this.conditionsOf(feed), condition, nets);
  }

  /** How a net depends on the parts on a sound unit. */
  soundSlope(ambient: number, condition: number, net: number, feed = ''): Slope | undefined {
    return this.slopesAt(ambient, condition, [net], feed)[0];
  }

  /** True when the circuit computes this net: it is reached, and no part without a model hangs on it. */
  computed(condition: number, net: number): boolean {
    const point = this.table.sound[condition]!;
    return (
      net >= 0 &&
      point.converged &&
      Number.isFinite(point.volts[net]!) &&
      !flowOf(this.machine).learnt.has(this.namedNet(net))
    );
  }

  /** What the folder calls a net: the sides of a contact are one. */
  private namedNet(net: number): string {
    const { nets, namedNet } = this.table.netlist;
    return nets[namedNet[net]!]!;
  }

  /** Mean of the sound readings at a point, taken there or at another pin of its net; undefined where none was taken. */
  twinAt(condition: number, site: Site): number | undefined {
    const list = this.twinByNet.get(`${condition} ${site.net >= 0 ? this.namedNet(site.net) : site.point}`);
    return list ? list.reduce((sum, d) => sum + d.value, 0) / list.length : undefined;
  }

  private soundDatum(d: Datum, block: number): SoundDatum {
    let found = this.placed.get(d);
    if (!found) {
      found = this.newSoundDatum(d, block);
      this.placed.set(d, found);
    }
    return found;
  }

  private newSoundDatum(d: Datum, block: number): SoundDatum {
    const { netlist } = this.table;
    const nothing = { ...d, expected: Number.NaN, row: NO_ROW, rest: 0 };
    if (!this.computed(d.condition, d.site.net)) return nothing;
    const feed = this.feed(d.reading.unit);
    const found = this.soundSlope(d.ambient, d.condition, d.site.net, feed);
    if (!found) return nothing;
    const loading = d.meterOhms / (d.meterOhms + found.ohms);
    const expected = this.pointsAt(d.ambient, feed)[d.condition]!.volts[d.site.net]! * loading;
    const start = block * netlist.parameters.length;
    const row = start === 0 ? found.row : { ...found.row, indices: found.row.indices.map((p) => start + p) };
    return { ...d, expected, row: this.withGain(row, d, expected), rest: found.rest };
  }

  /**
   * The row with the gain error of the reading's visit, as it is at `level` volts: what the reading is expected to be, so that the row
   * does not depend on what it is. The same row object for the same row.
   */
  withGain(row: Row, d: Datum, level: number): Row {
    const visit = this.visits.get(d.visit);
    const volts = d.gain * level;
    if (visit === undefined || volts === 0) return row;
    let known = this.gained.get(row);
    if (!known) {
      known = [];
      this.gained.set(row, known);
    }
    const found = known.find((x) => x.visit === visit && x.volts === volts);
    if (found) return found.row;
    const indices = new Int32Array(row.indices.length + 1);
    const values = new Float64Array(row.indices.length + 1);
    indices.set(row.indices);
    values.set(row.values);
    indices[row.indices.length] = visit;
    values[row.indices.length] = volts;
    const gained = { indices, values };
    known.push({ visit, volts, row: gained });
    return gained;
  }

  private prior(blocks: number, parameters: number): Coupling[] {
    const list: Coupling[] = [];
    for (let p = 0; p < parameters; p++) {
      const own = 1 - this.table.netlist.parameters[p]!.common;
      const common = 1 - own + (this.wide.has(p) ? WIDENED : 0);
      // Inverse of own·I + common·11': (I - common/(own + blocks·common)·11') / own.
      const off = -common / (own + blocks * common) / own;
      for (let a = 0; a < blocks; a++)
        for (let b = 0; b < blocks; b++)
          list.push({
            i: a * parameters + p,
            k: b * parameters + p,
            precision: (a === b ? 1 / own : 0) + off,
          });
    }
    for (let i = blocks * parameters; i < this.size; i++) list.push({ i, k: i, precision: 1 });
    return list;
  }

  private modelVariance(condition: number, net: number): number {
    return MODEL_SIGMA ** 2 + (this.offsets.get(`${condition} ${net}`)?.variance ?? 0);
  }

  private noise(d: SoundDatum): number {
    return d.variance + d.rest + this.modelVariance(d.condition, d.site.net) + this.repeats(d);
  }

  /**
   * What a reading's variance must grow by so that readings of one net at like levels, whose model errors are one, count as one:
   * the sparse fit takes them as independent.
   */
  private repeats(d: SoundDatum): number {
    return MODEL_SIGMA ** 2 * (MODEL_NET + MODEL_COMMON) * (this.likeOf(d) - 1);
  }

  /** How many readings of its net and level are like a datum, itself included. */
  private likeOf(d: SoundDatum): number {
    return this.alike.get(d) ?? this.alikeSound.get(d) ?? 1;
  }

  private countAlike(data: readonly SoundDatum[], into: Map<SoundDatum, number>): Map<SoundDatum, number> {
    const units = new Map<string, Map<number, SoundDatum[]>>();
    for (const d of data) {
      let groups = units.get(d.reading.unit);
      if (!groups) {
        groups = new Map();
        units.set(d.reading.unit, groups);
      }
      const key = d.site.net * LEVELS + Math.round(d.expected / LIKE_VOLTS) + LEVELS / 2;
      const list = groups.get(key);
      if (list) list.push(d);
      else groups.set(key, [d]);
    }
    for (const groups of units.values())
      for (const list of groups.values()) for (const d of list) into.set(d, list.length);
    return into;
  }

  private fit(prior: readonly Coupling[], data: readonly SoundDatum[]): SparseGaussian {
    const list: GaussianDatum[] = data.map((d) => ({
      row: d.row,
      residual: d.value - d.expected,
      variance: this.noise(d),
    }));
    return new SparseGaussian(this.size, prior, this.start, list);
  }

  /**
   * The deviations given, besides the sound readings, those readings of the unit that no leading hypothesis moves. Each is
   * taken with the model's offset at its place; what fits badly counts for less.
   */
  conditionedOn(data: readonly SoundDatum[]): Deviations {
    const before = this.like && this.teachesAs(this.like) ? this.like : undefined;
    const items = data.map((d) => {
      const known = before?.conditioned?.items.get(d);
      return { d, item: known ?? this.conditioningItem(d) };
    });
    this.conditioned = this.followed(before?.conditioned, '', items, (own) => {
      const sound: GaussianDatum[] = this.taught.kept.map((d) => ({
        row: d.row,
        residual: d.value - d.expected,
        variance: d.variance + d.rest + this.soundNoise(d) + this.repeats(d),
      }));
      return new SparseGaussian(this.size, this.couplings, this.start, [...sound, ...own]);
    });
    return this.conditioned.gaussian;
  }

  private conditioningItem(d: SoundDatum): GaussianDatum {
    const model = this.modelAt(d.condition, d.site.net);
    const residual = d.value - d.expected - model.offset;
    const variance = d.variance + d.rest + model.variance + this.repeats(d);
    const spread = variance + rowTimes(d.row, this.gaussian.covariance(d.row));
    const z2 = (residual - rowTimes(d.row, this.gaussian.mean)) ** 2 / spread;
    return { row: d.row, residual, variance: variance * Math.max(1, z2 / 6) };
  }

  /** A fit of the unit's own readings, from that of the baseline before where few of them differ. */
  private followed(
    before: OwnFit | undefined,
    prior: string,
    list: readonly { readonly d: SoundDatum; readonly item: GaussianDatum }[],
    fresh: (items: readonly GaussianDatum[]) => SparseGaussian,
  ): OwnFit {
    const items = new Map(list.map(({ d, item }) => [d, item]));
    if (before && before.prior === prior && this.like?.layout === this.layout) {
      const come: Change[] = [];
      const go: Change[] = [];
      const change = ({ row, residual, variance }: GaussianDatum, sign: 1 | -1): Change => ({
        row,
        precision: sign / variance,
        pull: (sign * residual) / variance,
      });
      for (const { d, item } of list) {
        const old = before.items.get(d);
        if (old === item) continue;
        if (old && old.variance === item.variance && old.residual === item.residual) continue;
        if (old) go.push(change(old, -1));
        come.push(change(item, 1));
      }
      for (const [d, old] of before.items) if (!items.has(d)) go.push(change(old, -1));
      if (come.length + go.length === 0) return before;
      const gaussian = ChangedGaussian.of(before.gaussian, [...come, ...go], MOST_CHANGES);
      if (gaussian) return { prior, items, gaussian };
    }
    return { prior, items, gaussian: fresh(list.map(({ item }) => item)) };
  }

  /** Variance that the last fit gave to a sound datum's place. */
  private soundNoise(d: SoundDatum): number {
    return MODEL_SIGMA ** 2 + (this.free.get(`${d.condition} ${d.site.net}`) ?? 0);
  }

  /**
   * Old carbon resistors have drifted upwards, the more the wider their tolerance; it is warmer inside than in the room; and a
   * leakage, being a matter of factors, is more in the mean than in the middle (common practice, no source).
   */
  private priorMean(blocks: number, parameters: number): Float64Array {
    const mean = new Float64Array(this.size);
    this.table.netlist.parameters.forEach((p, i) => {
      const resistor = p.kind === 'ohms' && this.table.netlist.parts.get(p.owner)!.kind === 'resistor';
      const drift = p.kind === 'celsius' ? 0.7 : p.kind === 'leakage' ? 0.4 : resistor ? 0.5 : 0;
      for (let b = 0; b < blocks; b++) mean[b * parameters + i] = drift;
    });
    return mean;
  }

  /**
   * Points where a sound unit reads what no likely deviation explains: the worst half of those beyond DRAWING_Z spreads
   * when left out of the fit. Their offset becomes free, so that the next fit is not bent by them.
   */
  private misfits(gaussian: SparseGaussian, data: readonly SoundDatum[], round: number): DrawingOffset[] {
    const rated = data
      .map((d) => {
        const noise = this.noise(d);
        const rest = d.value - d.expected - rowTimes(d.row, gaussian.mean);
        return { d, noise, rest, rough: Math.abs(rest) / Math.sqrt(noise) };
      })
      .filter((x) => x.rough > 1.2)
      .sort((a, b) => b.rough - a.rough)
      .slice(0, 60)
      .map((x) => {
        // Left-out residual: rest / (1 - leverage), with variance noise / (1 - leverage).
        const leverage = Math.min(0.999, rowTimes(x.d.row, gaussian.covariance(x.d.row)) / x.noise);
        return {
          ...x,
          offset: x.rest / (1 - leverage),
          z: Math.abs(x.rest) / Math.sqrt(x.noise * (1 - leverage)),
        };
      })
      .filter((x) => x.z > DRAWING_Z)
      .sort((a, b) => b.z - a.z);
    const most = rated[0]?.z ?? 0;
    const chosen = rated.filter((x) => x.z >= most / (round < 4 ? 1.7 : 10));
    const found: DrawingOffset[] = [];
    for (const { d, offset, z } of chosen) {
      const key = `${d.condition} ${d.site.net}`;
      if (this.offsets.has(key)) continue;
      this.offsets.set(key, { offset: 0, variance: offset * offset });
      this.free.set(key, offset * offset);
      found.push({ condition: d.condition, net: d.site.net, point: d.site.point, offset, z });
    }
    return found;
  }

  /**
   * The sound readings without slips of the probe: one that is off where another on the same net, in the same state and on the same
   * unit, is not.
   */
  private withoutSlips(data: readonly SoundDatum[], drawing: DrawingOffset[]): SoundDatum[] {
    const groups = new Map<string, SoundDatum[]>();
    for (const d of data) {
      const key = `${d.reading.unit} ${d.visit} ${d.condition} ${d.site.net}`;
      const list = groups.get(key);
      if (list) list.push(d);
      else groups.set(key, [d]);
    }
    const slips = new Set<SoundDatum>();
    for (const list of groups.values()) {
      if (list.length < 2) continue;
      const key = `${list[0]!.condition} ${list[0]!.site.net}`;
      if (!this.free.has(key)) continue;
      const near = (a: SoundDatum, b: SoundDatum): boolean =>
        Math.abs(a.value - b.value) < 5 * Math.sqrt(a.variance + b.variance);
      // What most of them say counts; of two that differ, the one that the drawing bears out.
      const support = (a: SoundDatum): number =>
        list.filter((b) => near(a, b)).length - Math.abs(a.value - a.expected) / (1 + this.modelScale(list));
      const best = list.reduce((x, y) => (support(y) > support(x) ? y : x));
      const off = list.filter((d) => !near(d, best));
      if (off.length === 0) continue;
      for (const d of off) slips.add(d);
      if (Math.abs(best.value - best.expected) < 0.5 * Math.sqrt(this.free.get(key)!)) {
        this.free.delete(key);
        this.offsets.delete(key);
        const at = drawing.findIndex((x) => `${x.condition} ${x.net}` === key);
        if (at >= 0) drawing.splice(at, 1);
      }
    }
    return data.filter((d) => !slips.has(d));
  }

  private modelScale(list: readonly SoundDatum[]): number {
    return list.reduce((most, d) => Math.max(most, Math.abs(d.value - d.expected)), 0);
  }

  /**
   * Whether the unit in question shows an offset too: then the drawing is off. One that only the sound unit shows may as
   * well be a leaky part of its own, or a slip.
   */
  private shared(condition: number, net: number, offset: number): boolean {
    return this.data.some(
      (d) =>
        d.condition === condition &&
        d.site.net === net &&
        Math.abs(d.value - d.expected - offset) < 0.3 * Math.abs(offset),
    );
  }

  /**
   * The parameter that the sound units and the unit in question, each by its own readings, put furthest off its drawn value in the
   * same way; -1 when none is beyond WIDEN_SPREADS in both. Two units do not fail alike: the drawing is the suspect.
   */
  private drawnWrong(sound: SparseGaussian, parameters: number, blocks: number): number {
    if (this.data.length === 0) return -1;
    // What the sound units put far off, and how far: mostly nothing, and then the unit's own readings need no fit.
    const far: { p: number; others: number }[] = [];
    for (let p = 0; p < parameters; p++) {
      const { kind } = this.table.netlist.parameters[p]!;
      if (this.wide.has(p) || kind === 'celsius' || kind === 'rail') continue;
      let others = 0;
      for (let b = 1; b < blocks; b++)
        others += (sound.mean[b * parameters + p]! - this.start[p]!) / (blocks - 1);
      if (Math.abs(others) > WIDEN_SPREADS) far.push({ p, others });
    }
    if (far.length === 0) return -1;
    const alone = this.followed(
      this.like?.alone,
      [...this.wide].join(' '),
      this.data.map((d) => {
        const known = this.like?.alone?.items.get(d);
        const item =
          known && this.like!.alike.get(d) === this.alike.get(d)
            ? known
            : { row: d.row, residual: d.value - d.expected, variance: this.noise(d) };
        return { d, item };
      }),
      (items) => new SparseGaussian(this.size, this.couplings, this.start, items),
    );
    this.alone = alone;
    let best = -1;
    let most = WIDEN_SPREADS;
    for (const { p, others } of far) {
      const own = alone.gaussian.mean[p]! - this.start[p]!;
      const both = own * others > 0 ? Math.min(Math.abs(own), Math.abs(others)) : 0;
      if (both > most) {
        most = both;
        best = p;
      }
    }
    return best;
  }

  /** Where sound units were read and a parameter at whose drawn value both units are off makes itself felt. */
  private drawnElsewhere(
    data: readonly SoundDatum[],
    parameters: number,
    gaussian: SparseGaussian,
  ): DrawingOffset[] {
    if (this.wide.size === 0) return [];
    return data.flatMap((d) => {
      let offset = 0;
      d.row.indices.forEach((index, k) => {
        if (index < this.blocks * parameters && this.wide.has(index % parameters))
          offset += d.row.values[k]! * gaussian.mean[index]!;
      });
      if (Math.abs(offset) < FELT_VOLTS) return [];
      const z = offset / Math.sqrt(this.noise(d));
      return [{ condition: d.condition, net: d.site.net, point: d.site.point, offset, z: Math.abs(z) }];
    });
  }

  /** Parts whose value both units put elsewhere than the drawing, with the value's change in words. */
  drawnParts(): { part: string; points: string[]; text: string }[] {
    const { parameters } = this.table.netlist;
    return [...this.wide].map((p) => {
      const { owner, kind, spread } = parameters[p]!;
      let d = 0;
      for (let b = 1; b < this.blocks; b++)
        d += this.gaussian.mean[b * parameters.length + p]! / (this.blocks - 1);
      const factor = kind === 'ohms' || kind === 'gain' || kind === 'saturation' || kind === 'leakage';
      const change = factor
        ? `about ${Math.exp(d * spread).toFixed(2)} times`
        : `about ${(d * spread).toFixed(2)} off`;
      const felt = this.taught.kept.filter((x) => {
        const at = x.row.indices.findIndex(
          (i) => i < this.blocks * parameters.length && i % parameters.length === p,
        );
        return at >= 0 && Math.abs(x.row.values[at]! * d) > FELT_VOLTS;
      });
      const { conditions } = this.machine;
      const points = [...new Set(felt.map((x) => `${conditions[x.condition]!.name} ${x.site.point}`))];
      return {
        part: owner,
        points,
        text: `both units read as if ${owner} were ${change} what the drawing says`,
      };
    });
  }

  /** Whether readings of an earlier visit look like those of a sound unit: next to none is off by more than the drawing allows. */
  private looksSound(visit: readonly Datum[]): boolean {
    let read = 0;
    let off = 0;
    for (const d of visit) {
      if (!this.computed(d.condition, d.site.net)) continue;
      const feed = this.feed(d.reading.unit);
      const slope = this.soundSlope(d.ambient, d.condition, d.site.net, feed);
      if (!slope) continue;
      read++;
      const level = this.pointsAt(d.ambient, feed)[d.condition]!.volts[d.site.net]!;
      const expected = (level * d.meterOhms) / (d.meterOhms + slope.ohms);
      const variance =
        d.variance + slope.rest + MODEL_SIGMA ** 2 + (d.gain * expected) ** 2 + rowTimesItself(slope.row);
      if (Math.abs(d.value - expected) > Math.max(HISTORY_VOLTS, HISTORY_Z * Math.sqrt(variance))) off++;
    }
    return off <= 0.03 * read;
  }

  /** What the sound readings leave over at their points, summed by condition and net. */
  private learntPlaces(
    data: readonly SoundDatum[],
    gaussian: SparseGaussian,
  ): ReadonlyMap<string, { readonly sum: number; readonly precision: number }> {
    const byPlace = new Map<string, { sum: number; precision: number }>();
    for (const d of data) {
      const leverage = Math.min(0.99, rowTimes(d.row, gaussian.covariance(d.row)) / this.noise(d));
      const rest = (d.value - d.expected - rowTimes(d.row, gaussian.mean)) / (1 - leverage);
      // Left out of the fit, the datum says offset + own noise + what the deviations leave open.
      const open =
        d.variance +
        d.rest +
        MODEL_SIGMA ** 2 * (1 - MODEL_COMMON) +
        (leverage * this.noise(d)) / (1 - leverage);
      const key = `${d.condition} ${d.site.net}`;
      const at = byPlace.get(key) ?? { sum: 0, precision: 0 };
      at.sum += rest / open;
      at.precision += 1 / open;
      byPlace.set(key, at);
    }
    return byPlace;
  }

  /** What the sound readings leave over at their points is an offset of the model there, common to all units in part. */
  private learnOffsets(byPlace: Taught['places']): void {
    this.offsets.clear();
    for (const [key, { sum, precision }] of byPlace) {
      const free = this.free.get(key) ?? 0;
      const [condition, net] = key.split(' ').map(Number) as [number, number];
      if (free > 0 && !this.shared(condition, net, sum / precision)) {
        // Common to all units or not: the offset and none are both a spread away.
        const half = sum / precision / 2;
        this.offsets.set(key, { offset: half, variance: half * half });
        continue;
      }
      const common = MODEL_SIGMA ** 2 * MODEL_COMMON + free;
      const gain = common / (common + 1 / precision);
      this.offsets.set(key, {
        offset: (gain * sum) / precision,
        variance: common * (1 - gain) - MODEL_SIGMA ** 2 * MODEL_COMMON,
      });
    }
  }

  /** Offset of the model at a net in a condition as learnt, and the variance that stays (model error of one unit), V. */
  modelAt(condition: number, net: number): { offset: number; variance: number } {
    const learnt = this.offsets.get(`${condition} ${net}`);
    return {
      offset: learnt?.offset ?? 0,
      variance: Math.max(MODEL_SIGMA ** 2 * 0.1, MODEL_SIGMA ** 2 + (learnt?.variance ?? 0)),
    };
  }
}

/** The variance that independent deviations of one spread each make, V². */
function rowTimesItself({ values }: Row): number {
  let sum = 0;
  for (const x of values) sum += x * x;
  return sum;
}

/** The readings of a unit and what counts of them. */
interface Read {
  readonly list: Machine['readings'];
  readonly now: readonly Datum[];
  readonly history: readonly Datum[];
}

/** A fit to readings of the unit itself. */
interface OwnFit {
  /** Names the prior that it was made with. */
  readonly prior: string;
  readonly items: ReadonlyMap<SoundDatum, GaussianDatum>;
  readonly gaussian: SparseGaussian | ChangedGaussian;
}

function sameList<T>(a: readonly T[], b: readonly T[]): boolean {
  return a.length === b.length && a.every((x, i) => x === b[i]);
}

/** True when `list` begins like `whole`. */
function sameStart<T>(whole: readonly T[] | undefined, list: readonly T[]): boolean {
  return whole !== undefined && list.every((x, i) => x === whole[i]);
}

/** Two states of one description that differ in nothing but what was read. */
export function sameButReadings(a: Machine, b: Machine): boolean {
  const keys = new Set([...Object.keys(a), ...Object.keys(b)]) as Set<keyof Machine>;
  for (const key of keys) if (key !== 'readings' && a[key] !== b[key]) return false;
  return true;
}
