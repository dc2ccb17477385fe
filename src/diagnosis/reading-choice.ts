/**
 * The reading to take next: what each place would show under every hypothesis that is still alive, and how far that parts them.
 *
 * Places are thousands and hypotheses hundreds, so all places get a rough look (levels in bins), the best of them the integral, and
 * the foremost another step: what the best reading after them would bring.
 */
import { isRunning } from '../machine/index.ts';
import { type Case, caseVolts, pointVolts } from './hypothesis.ts';
import { type Component, informationBits } from './next-reading.ts';
import { runningPlaces } from './running-choice.ts';
import { netOfPoint, type Site } from './site.ts';
import { NO_ROW, type Row, rowTimes } from './sparse-gaussian.ts';
import { learntSigma, type Stage, spoilt } from './stage.ts';
import { steadily } from './steadily.ts';
import type { Weighed, Weighing } from './weighing.ts';

export interface NextReading {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  /** What this reading by itself is expected to tell of the part, bits. */
  readonly bits: number;
  readonly minutes: number;
  readonly caution: string;
  readonly would: readonly {
    readonly suspect: string;
    readonly probability: number;
    readonly mean: number;
    readonly sigma: number;
  }[];
}

/** Hypotheses alive are at most so many, and no less probable than this. */
const ALIVE = 420;
const ALIVE_LEAST = 1e-5;
/** Places whose information is integrated: so many more than are asked for. */
const CLOSELY = 18;
/** Of them, those from which another step is looked, the seconds looked at, and the hypotheses that count then. */
const FIRSTS = 3;
const SECONDS = 7;
const STEP_LEAST = 4e-3;
/** The most probable hypotheses, whose readings are followed to the second step. */
const FOLLOWED = 5;
/** What a reading may show then: nodes and weights of a three-point Gauss-Hermite rule (Abramowitz & Stegun 25.4.46, from memory). */
const OUTCOMES = [
  { z: -1.7320508075688772, weight: 1 / 6 },
  { z: 0, weight: 2 / 3 },
  { z: 1.7320508075688772, weight: 1 / 6 },
];
/** A waveform takes so many minutes more than a level: an oscilloscope is set to it (common practice, no source). */
const SCOPE_MINUTES = 0.5;
/** Bits a minute that are nothing. */
const NO_RATE = 1e-6;
/** Another first is taken only when the two steps bring so much more a minute. */
const STEP_GAIN = 1.15;
/** A hypothesis that moves a place by less leaves it alone, volts; all together must move it with this probability. */
const MOVED_VOLTS = 0.05;
const MOVED_LEAST = 0.004;
/** From this probability on a case has a spread of its own. */
const OWN_SPREAD = 5e-3;

interface Alive {
  readonly name: string;
  /** The answer a person wants: which part. */
  readonly group: number;
  readonly probability: number;
  readonly item: Case | undefined;
  readonly stage?: Stage;
  readonly weighed: Weighed;
}

interface Place {
  readonly condition: number;
  readonly site: Site;
  readonly quantity: string;
  readonly components: readonly Component[];
  readonly bits: number;
  /** Bits a minute. */
  readonly rate: number;
}

/** At most `limit` readings that would part the suspects best for their minutes, best first. */
export function nextReadings(weighing: Weighing, limit: number): NextReading[] {
  const choice = new ReadingChoice(weighing);
  return choice.best(limit).map(({ condition, site, quantity, bits, components }) => ({
    condition: weighing.machine.conditions[condition]!.name,
    point: site.point,
    quantity,
    bits,
    minutes: minutesOf(site, quantity),
    caution: site.note,
    would: choice.would(components),
  }));
}

function minutesOf({ minutes }: Site, quantity: string): number {
  return quantity === 'V' ? minutes : minutes + SCOPE_MINUTES;
}

class ReadingChoice {
  private readonly weighing: Weighing;
  private readonly alive: readonly Alive[];
  private readonly spoilt = new Map<Stage, Set<string>>();

  constructor(weighing: Weighing) {
    this.weighing = weighing;
    this.alive = living(weighing);
  }

  best(limit: number): Place[] {
    const places = [
      ...this.candidates(limit + CLOSELY).map((place) => ({ ...place, quantity: 'V' })),
      ...this.runningCandidates(limit + CLOSELY),
    ].map(({ condition, site, quantity, components }): Place => {
      const bits = informationBits(components);
      const rate = bits / Math.max(0.1, minutesOf(site, quantity));
      return { condition, site, quantity, components, bits, rate };
    });
    const order = new Map([...this.weighing.baseline.sites.values()].map((site, i) => [site, i]));
    steadily(
      places,
      (x) => x.rate,
      (x) => [x.condition, order.get(x.site)!],
    );
    return this.twoSteps(places).slice(0, limit);
  }

  /**
   * Puts another reading first when it and the best one after it bring clearly more a minute than the reading that is best by itself
   * and the best one after that.
   */
  private twoSteps(places: readonly Place[]): readonly Place[] {
    const firsts = places.slice(0, FIRSTS);
    if (firsts.length < 2) return places;
    const seconds = places.slice(0, SECONDS);
    const rates = firsts.map((first) => this.rateOfTwo(first, seconds));
    let best = 0;
    rates.forEach((rate, i) => {
      if (rate > rates[best]! && rate > STEP_GAIN * rates[0]!) best = i;
    });
    return best === 0 ? places : [places[best]!, ...places.filter((_, i) => i !== best)];
  }

  /** Expected bits a minute of a reading and of the best one that may follow what it shows. */
  private rateOfTwo(first: Place, seconds: readonly Place[]): number {
    const alive = [...first.components.keys()].filter((i) => first.components[i]!.probability > STEP_LEAST);
    let mass = 0;
    let bits = 0;
    let minutes = 0;
    for (const i of alive.slice(0, FOLLOWED)) {
      const { mean, sigma, probability } = first.components[i]!;
      for (const { z, weight } of OUTCOMES) {
        const value = mean + z * sigma;
        const after = alive.map((k) => {
          const c = first.components[k]!;
          return (c.probability * Math.exp(-0.5 * ((value - c.mean) / c.sigma) ** 2)) / c.sigma;
        });
        const sum = after.reduce((a, b) => a + b, 0);
        const share = probability * weight;
        mass += share;
        const living = alive.flatMap((k, a) =>
          after[a]! > STEP_LEAST * sum ? [{ k, p: after[a]! / sum }] : [],
        );
        let most = 0;
        let next: Place | undefined;
        for (const second of seconds) {
          if (second === first || this.alike(first, second)) continue;
          const found = informationBits(
            living.map(({ k, p }) => ({ ...second.components[k]!, probability: p })),
          );
          const rate = found / Math.max(0.1, minutesOf(second.site, second.quantity));
          // What brings nothing is not gone for, however the rounding falls.
          if (rate <= most + NO_RATE) continue;
          most = rate;
          next = second;
        }
        if (!next) continue;
        const own = Math.max(0.1, minutesOf(next.site, next.quantity));
        minutes += share * own;
        bits += share * most * own;
      }
    }
    if (mass === 0) return first.rate;
    return (
      (first.bits + bits / mass) / (Math.max(0.1, minutesOf(first.site, first.quantity)) + minutes / mass)
    );
  }

  /** Two places of one net in one state show one thing. */
  private alike(a: Place, b: Place): boolean {
    return a.condition === b.condition && a.site.net === b.site.net && a.site.net >= 0;
  }

  /** The places that may part the suspects, with what each would show; of those that the circuit computes the `most` best by a rough look. */
  private candidates(most: number): { condition: number; site: Site; components: readonly Component[] }[] {
    const { machine, baseline } = this.weighing;
    const { alive } = this;
    const taken = new Set<string>();
    const netsTaken = new Map<string, number>();
    for (const d of [...baseline.data, ...baseline.learntOnly]) {
      taken.add(`${d.condition}\n${d.site.point}`);
      if (d.site.net >= 0) netsTaken.set(`${d.condition}\n${d.site.net}`, d.value);
    }
    const rough = this.roughBits();
    const { nets } = this.weighing.table.netlist;
    const found: { condition: number; site: Site; components: readonly Component[] }[] = [];
    const open: { condition: number; site: Site; rate: number }[] = [];
    machine.conditions.forEach((state, c) => {
      // In a state that runs no level stands still.
      if (isRunning(state)) return;
      for (const site of baseline.sites.values()) {
        if (taken.has(`${c}\n${site.point}`)) continue;
        if (!baseline.computed(c, site.net)) {
          const components = this.learntComponents(c, site);
          if (components) found.push({ condition: c, site, components });
          continue;
        }
        const near = netsTaken.get(`${c}\n${site.net}`);
        if (near !== undefined) {
          const components = this.pinComponents(c, site, near);
          if (components) found.push({ condition: c, site, components });
          continue;
        }
        const bits = rough[c * nets.length + site.net]!;
        if (bits > NO_RATE) open.push({ condition: c, site, rate: bits / Math.max(0.1, site.minutes) });
      }
    });
    const order = new Map([...baseline.sites.values()].map((site, i) => [site, i]));
    steadily(
      open,
      (x) => x.rate,
      (x) => [x.condition, order.get(x.site)!],
    );
    for (const { condition, site } of open.slice(0, most)) {
      const nominal = this.weighing.table.sound[condition]!.volts[site.net]!;
      const row = baseline.soundSlope(this.weighing.table.ambient, condition, site.net);
      const sound = this.soundPrediction(condition, site, nominal, row?.row ?? NO_ROW, row?.rest ?? 0);
      const components = alive.map((x) => ({
        group: x.group,
        probability: x.probability,
        ...this.predicted(x, site, condition, sound),
      }));
      found.push({ condition, site, components });
    }
    return found;
  }

  /** Of the states that run, the `most` best by a rough look. */
  private runningCandidates(
    most: number,
  ): { condition: number; site: Site; quantity: string; components: readonly Component[] }[] {
    const { table, running, baseline, range } = this.weighing;
    const read = new Set(
      [...running.known.map(({ datum }) => datum), ...running.others, ...running.aside].map(
        ({ condition, site, quantity }) => `${condition} ${site.net} ${quantity}`,
      ),
    );
    const places = runningPlaces(
      table,
      running,
      this.alive.map(({ group, probability, item }) => ({ group, probability, faults: item?.faults })),
      baseline.sites.values(),
      (condition, net, quantity) => read.has(`${condition} ${net} ${quantity}`),
      range,
    );
    const order = new Map([...baseline.sites.values()].map((site, i) => [site, i]));
    steadily(
      places,
      (x) => x.rough / Math.max(0.1, minutesOf(x.site, x.quantity)),
      (x) => [x.condition, order.get(x.site)!],
    );
    return places.slice(0, most);
  }

  /**
   * A rough look at all nets in all conditions at once: the information of a level in bins that are as wide as what is foretold of a
   * moved point is uncertain. 0 where next to nothing moves the net.
   */
  private roughBits(): Float64Array {
    const { table, baseline } = this.weighing;
    const count = table.netlist.nets.length;
    const bits = new Float64Array(table.conditions.length * count);
    const order = [...this.alive].sort((a, b) => a.group - b.group);
    const shares = new Map<number, number>();
    let total = 0;
    for (const { group, probability } of order) {
      shares.set(group, (shares.get(group) ?? 0) + probability);
      total += probability;
    }
    const nats = (p: number): number => (p > 0 ? p * Math.log2(p) : 0);
    table.conditions.forEach((_, c) => {
      const sound = table.sound[c]!.volts;
      /** By net: groups and bins of the hypotheses that move it, one after the other, with their probabilities. */
      const moved: { group: number; bin: number; p: number }[][] = Array.from({ length: count }, () => []);
      for (const { item, group, probability } of order) {
        if (!item || item.faults.length === 0) continue;
        const p = probability / total;
        const put = (net: number, volts: number): void => {
          const move = volts - sound[net]!;
          const size = Math.abs(move);
          if (!(size > MOVED_VOLTS)) return;
          moved[net]!.push({ group, bin: Math.sign(move) * Math.ceil(4 * Math.log1p(size / 0.2)), p });
        };
        const [first, second] = item.faults;
        if (second === undefined && table.known(first!, c)) table.moved(first!, c, put);
        else {
          const volts = second === undefined ? undefined : caseVolts(table, baseline.grounds.solver, item, c);
          if (volts) for (let net = 0; net < count; net++) put(net, volts[net]!);
          // Without an operating point any net may read anything.
          else for (const list of moved) list.push({ group, bin: NOWHERE, p });
        }
      }
      moved.forEach((list, net) => {
        let mass = 0;
        for (const { p } of list) mass += p;
        if (mass < MOVED_LEAST) return;
        // I = sum of p(g,b) log p(g,b) - sum of p(g) log p(g) - sum of p(b) log p(b); groups that move nothing cancel but in the last.
        const levels = new Map<number, number>();
        let information = 0;
        let at = 0;
        while (at < list.length) {
          const { group } = list[at]!;
          const own = new Map<number, number>();
          let rest = shares.get(group)! / total;
          information -= nats(rest);
          for (; at < list.length && list[at]!.group === group; at++) {
            const { bin, p } = list[at]!;
            own.set(bin, (own.get(bin) ?? 0) + p);
            levels.set(bin, (levels.get(bin) ?? 0) + p);
            rest -= p;
          }
          information += nats(rest);
          for (const p of own.values()) information += nats(p);
        }
        information -= nats(1 - mass);
        for (const p of levels.values()) information -= nats(p);
        bits[c * count + net] = Math.max(0, information);
      });
    });
    return bits;
  }

  private soundPrediction(
    condition: number,
    site: Site,
    nominal: number,
    row: Row,
    rest: number,
  ): SoundPrediction {
    const { baseline } = this.weighing;
    const model = baseline.modelAt(condition, site.net);
    const shared = this.weighing.gaussian.covariance(row);
    const before = rowTimes(row, shared);
    const others = rest + model.variance + (0.01 * Math.abs(nominal) + 0.01) ** 2;
    const after = (x: Weighed): number => Math.max(0.01 * before, before - x.explains(shared)) + others;
    return {
      nominal,
      row,
      offset: model.offset,
      after,
      usual: after(this.weighing.soundCase),
      own: new Map(),
    };
  }

  private predicted(
    x: Alive,
    site: Site,
    condition: number,
    sound: SoundPrediction,
  ): { mean: number; sigma: number } {
    const { baseline, range, table } = this.weighing;
    if (!x.item) return { mean: sound.nominal, sigma: range / 3 };
    const volts = pointVolts(table, baseline.grounds.solver, x.item, condition, site);
    if (Number.isNaN(volts)) return { mean: sound.nominal, sigma: range / 3 };
    const move = volts - sound.nominal;
    const stays = Math.exp(-Math.abs(move) / 0.8);
    const shift =
      rowTimes(sound.row, x.weighed.theta) * stays + sound.offset * Math.exp(-Math.abs(move) / 0.4);
    let variance = sound.usual;
    if (x.probability > OWN_SPREAD) {
      variance = sound.own.get(x.weighed) ?? sound.after(x.weighed);
      sound.own.set(x.weighed, variance);
    }
    const sigma = Math.sqrt(variance * (0.3 + 0.7 * stays) + (0.08 * move) ** 2);
    return { mean: volts + shift, sigma };
  }

  /** A pin whose net has been read can differ from it only by its own joint. */
  private pinComponents(condition: number, site: Site, near: number): Component[] | undefined {
    const { table } = this.weighing;
    if (!site.pin) return undefined;
    const meanOf = (x: Alive): number => {
      for (const f of x.item?.faults ?? [])
        if (table.faults[f]!.fault.pin?.point === site.point) {
          const mean = table.pin(f, condition);
          if (Math.abs(mean - near) > 0.1) return mean;
        }
      return Number.NaN;
    };
    if (!this.alive.some((x) => x.probability > 0.005 && Number.isFinite(meanOf(x)))) return undefined;
    return this.alive.map((x) => {
      const mean = meanOf(x);
      const own = Number.isFinite(mean);
      const sigma = own ? Math.hypot(0.05, 0.08 * mean) : Math.hypot(0.015, 0.01 * near);
      return { group: x.group, probability: x.probability, mean: own ? mean : near, sigma };
    });
  }

  /** At a point that only a twin explains: near the twin, or anything where the hypothesis spoils the point's net. */
  private learntComponents(condition: number, site: Site): Component[] | undefined {
    const { baseline, range, flow, machine } = this.weighing;
    const twin = baseline.twinAt(condition, site);
    if (twin === undefined) return undefined;
    const { net } = netOfPoint(machine, site.point);
    const spoils = (stage: Stage): boolean => {
      let nets = this.spoilt.get(stage);
      if (!nets) {
        nets = spoilt(flow, stage.outputs);
        this.spoilt.set(stage, nets);
      }
      return nets.has(net);
    };
    if (!this.alive.some((x) => x.stage && spoils(x.stage))) return undefined;
    const sigma = Math.hypot(learntSigma(twin), 0.01 * Math.abs(twin) + 0.01);
    return this.alive.map((x) => {
      const free = x.stage ? spoils(x.stage) : x.item === undefined;
      return { group: x.group, probability: x.probability, mean: twin, sigma: free ? range / 3 : sigma };
    });
  }

  /** What the foremost suspects would show, most probable first. */
  would(components: readonly Component[]): NextReading['would'] {
    const merged = new Map<string, { probability: number; mean: number; sigma: number; top: number }>();
    this.alive.forEach((x, i) => {
      const { mean, sigma } = components[i]!;
      const m = merged.get(x.name);
      if (!m) merged.set(x.name, { probability: x.probability, mean, sigma, top: x.probability });
      else {
        m.probability += x.probability;
        if (x.probability > m.top) Object.assign(m, { mean, sigma, top: x.probability });
      }
    });
    return [...merged]
      .map(([suspect, m]) => ({ suspect, probability: m.probability, mean: m.mean, sigma: m.sigma }))
      .sort((a, b) => b.probability - a.probability)
      .slice(0, 6);
  }
}

/** Hypotheses that are still alive, most probable first. */
function living(w: Weighing): Alive[] {
  const numbers = new Map<string, number>();
  const numberOf = (key: string): number => {
    let g = numbers.get(key);
    if (g === undefined) {
      g = numbers.size;
      numbers.set(key, g);
    }
    return g;
  };
  const list: { item: Case | undefined; stage?: Stage; probability: number; weighed: Weighed }[] = [
    { probability: w.sound, item: { faults: [], logPrior: 0 }, weighed: w.soundCase },
  ];
  const put = (item: Case, probability: number, weighed: Weighed): void => {
    if (probability > ALIVE_LEAST) list.push({ item, probability, weighed });
  };
  w.weighed.forEach((x, i) => {
    put(x.item, w.probabilities[i]!, x);
  });
  for (const { fault, probability } of w.unseen)
    put({ faults: [fault], logPrior: 0 }, probability, w.soundCase);
  for (const { stage, probability } of w.stages)
    list.push({ probability, item: { faults: [], logPrior: 0 }, stage, weighed: w.soundCase });
  steadily(
    list,
    (x) => Math.log(x.probability),
    (x) => x.item?.faults ?? [],
  );
  const kept = list.filter((x, i) => i < ALIVE && x.probability > ALIVE_LEAST);
  // What an unknown fault would read is anything within the range.
  if (w.unexplained > ALIVE_LEAST)
    kept.push({ item: undefined, probability: w.unexplained, weighed: w.soundCase });
  return kept.map((x) => {
    let name: string;
    let part: string;
    if (x.stage) {
      name = `${x.stage.name}:stage`;
      part = x.stage.name;
    } else if (!x.item) {
      name = 'none of these';
      part = 'unexplained';
    } else if (x.item.faults.length === 0) {
      name = 'sound';
      part = 'sound';
    } else {
      const faults = x.item.faults
        .filter((f) => f !== x.weighed.remark)
        .map((f) => w.table.faults[f]!.fault)
        .sort((a, b) => (a.part < b.part ? -1 : 1));
      name = faults.map((f) => `${f.part}:${f.mode}`).join(' + ');
      part = faults.map((f) => f.part).join(' + ');
    }
    return { ...x, name, group: numberOf(part) };
  });
}

interface SoundPrediction {
  readonly nominal: number;
  readonly row: Row;
  readonly offset: number;
  /** Variance of the reading on a unit that leaves the point alone, after the readings so far: under a case, under sound, and those known. */
  readonly after: (x: Weighed) => number;
  readonly usual: number;
  readonly own: Map<Weighed, number>;
}

/** A bin for what has no level. */
const NOWHERE = 1000;
