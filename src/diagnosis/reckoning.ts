/**
 * The answers a person gets: suspects with reasons, and the next reading.
 */
import { isFollowable } from '../faults/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import type { Case } from './hypothesis.ts';
import { type NextReading, nextReadings } from './reading-choice.ts';
import { type Foretold, movesAtAll } from './running.ts';
import { loopsOf, type Stage } from './stage.ts';
import type { FaultTable } from './table.ts';
import { type Weighed, Weighing } from './weighing.ts';

export interface Reason {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly value: number;
  /** NaN where a sound unit's waveform has no such quantity; likewise `fault`. */
  readonly sound: number;
  readonly soundSigma: number;
  readonly fault: number;
  readonly faultSigma: number;
  /** Natural log of p(reading | this fault) / p(reading | sound): positive speaks for it. */
  readonly weight: number;
}

export interface Suspect {
  readonly parts: readonly string[];
  readonly modes: readonly string[];
  readonly severity: string;
  readonly probability: number;
  /** Strongest first, for and against. */
  readonly reasons: readonly Reason[];
  /** Other suspects, `PART:MODE`, that no reading at a listed point can tell from this one. */
  readonly indistinct: readonly string[];
}

export interface Diagnosis {
  readonly unit: string;
  /** Most probable first; with `sound` and `unexplained` they add up to one. */
  readonly suspects: readonly Suspect[];
  readonly unexplained: number;
  readonly sound: number;
  /** Readings taken for slips of the probe under the leading suspect. */
  readonly setAside: readonly {
    readonly condition: string;
    readonly point: string;
    readonly value: number;
    readonly reason: string;
  }[];
  /** Where the sound units contradict the drawing. */
  readonly drawing: readonly {
    readonly part?: string;
    readonly points: readonly string[];
    readonly text: string;
  }[];
  /** Suspects that no further reading can part, when that is where it ends. */
  readonly group?: readonly string[];
  readonly notes: readonly string[];
}

/** Probability of a part from which on a walk of readings may end. */
export const CONFIDENT = 0.9;
/** A reading that brings less than this, in bits, parts nothing. */
const NOTHING_BITS = 0.02;
/** Share of a pair's probability that its lesser part is listed with. */
const REMARK_SHARE = 0.07;
/** A pair is named as a pair when its second part is at least so probable against the first. */
const SECOND_SHARE = 0.5;
/** A group of more is no answer. */
const GROUP_MOST = 12;
/** Readings that `next` gives without being asked for another number of them. */
const MOST_READINGS = 12;

export class Reckoning {
  readonly weighing: Weighing;
  private readonly machine: Machine;
  private readonly table: FaultTable;
  private readings: readonly NextReading[] | undefined;

  /** @param previous  of the same unit and table: what its readings share with these is not worked out again; see `withReadings` */
  constructor(machine: Machine, table: FaultTable, unit: string, previous?: Reckoning) {
    this.machine = machine;
    this.table = table;
    this.weighing = new Weighing(machine, table, unit, previous?.weighing);
  }

  /** The reckoning of the same unit when these are all the readings: the same as a new one, sooner where most are the same objects. */
  withReadings(readings: Machine['readings']): Reckoning {
    return new Reckoning({ ...this.machine, readings }, this.table, this.weighing.unit, this);
  }

  /** The reckoning with one reading more; a reading of the same point in the same state is superseded. */
  with(reading: Machine['readings'][number]): Reckoning {
    return this.withReadings([...this.machine.readings, reading]);
  }

  /** The reckoning without one of its readings. */
  without(reading: Machine['readings'][number]): Reckoning {
    return this.withReadings(this.machine.readings.filter((r) => r !== reading));
  }

  private names(item: Case, remark = false): { parts: string[]; modes: string[] } {
    const list = (remark ? item.faults.slice(0, 1) : item.faults).map((f) => this.table.faults[f]!.fault);
    list.sort((a, b) => (a.part < b.part ? -1 : 1));
    return { parts: list.map((f) => f.part), modes: list.map((f) => f.mode) };
  }

  /** Probability that each part has failed, alone or with another. */
  private partProbabilities(): Map<string, number> {
    const { weighed, probabilities } = this.weighing;
    const chance = new Map<string, number>();
    weighed.forEach((x, i) => {
      for (const f of x.item.faults) {
        const { part } = this.table.faults[f]!.fault;
        chance.set(part, (chance.get(part) ?? 0) + probabilities[i]!);
      }
    });
    return chance;
  }

  /** Suspects with their probabilities and reasons. */
  diagnosis(): Diagnosis {
    const w = this.weighing;
    const { table, machine } = this;
    const bySuspect = new Map<string, Ranked>();
    const add = (item: Case, probability: number, weighed: Weighed | undefined): void => {
      const { parts, modes } = this.names(item);
      const key = parts.map((p, i) => `${p}:${modes[i]}`).join(' + ');
      let s = bySuspect.get(key);
      if (!s) {
        s = { parts, modes, probability: 0, share: -1, fault: item.faults[0]! };
        bySuspect.set(key, s);
      }
      s.probability += probability;
      // What was weighed is asked first, whatever else of the same name has not been.
      if (probability > s.share && (weighed || !s.best)) {
        if (weighed) s.best = weighed;
        s.share = probability;
        s.fault = item.faults[0]!;
      }
    };
    const chance = this.partProbabilities();
    w.weighed.forEach((x, i) => {
      const p = w.probabilities[i]!;
      const [first, second] = x.item.faults;
      if (second === undefined) {
        add(x.item, p, x);
        return;
      }
      // Where the first part is agreed on and the second is anybody's, or merely off its value, the suspect is the first; the
      // other is named too, so that it is not overlooked.
      const [a, b] = [first!, second].map((f) => chance.get(table.faults[f]!.fault.part)!) as [
        number,
        number,
      ];
      const anybodys = b < SECOND_SHARE * a ? second : a < SECOND_SHARE * b ? first! : undefined;
      const lesser = x.remark ?? anybodys;
      if (lesser === undefined) {
        add(x.item, p, x);
        return;
      }
      const main = lesser === second ? first! : second;
      add({ faults: [main], logPrior: 0 }, p * (1 - REMARK_SHARE), x);
      add({ faults: [lesser], logPrior: 0 }, p * REMARK_SHARE, undefined);
    });
    for (const { fault, probability } of w.unseen)
      add({ faults: [fault], logPrior: 0 }, probability, undefined);
    for (const { stage, probability } of w.stages)
      bySuspect.set(`${stage.name}:stage`, {
        parts: [stage.name],
        modes: ['stage'],
        probability,
        share: -1,
        fault: -1,
        stage,
      });
    const ranked = [...bySuspect.values()].sort((a, b) => b.probability - a.probability);
    const names = ranked.map((s) => s.parts.map((p, i) => `${p}:${s.modes[i]}`).join(' + '));
    const suspects = ranked.map((s, rank): Suspect => {
      const severities = s.parts.map((part) => {
        const faults = s.best?.item.faults ?? (s.fault < 0 ? [] : [s.fault]);
        const f = faults.find((x) => table.faults[x]!.fault.part === part);
        return f === undefined ? '' : table.faults[f]!.fault.severity;
      });
      return {
        parts: s.parts,
        modes: s.modes,
        severity: severities.filter((x) => x !== '').join(', '),
        probability: s.probability,
        reasons: rank >= 12 ? [] : s.stage ? this.stageReasons(s.stage) : this.reasons(s.best, s.fault),
        indistinct: rank < 6 ? this.indistinct(ranked, names, rank) : [],
      };
    });
    const leader = w.weighed[0];
    const leading = leader && w.probabilities[0]! > w.sound ? leader : w.soundCase;
    const setAside = leading.setAside.map((i) => {
      const d = w.data[i]!;
      return {
        condition: d.reading.condition,
        point: d.reading.point,
        value: d.value,
        reason: 'fits neither the leading suspect nor a sound unit: likely a slip of the probe',
      };
    });
    const drawing: { part?: string; points: string[]; text: string }[] = w.baseline
      .drawnParts()
      .map(({ part, points, text }) => ({ part, points, text: `${text}: the drawing is the suspect` }));
    if (w.baseline.drawing.length > 0)
      drawing.push({
        points: [
          ...new Set(w.baseline.drawing.map((d) => `${machine.conditions[d.condition]!.name} ${d.point}`)),
        ],
        text: 'the sound unit reads otherwise than the drawing says here: the drawing is the suspect, and the sound unit is the measure',
      });
    const notes = [...w.baseline.notes];
    machine.conditions.forEach((c, i) => {
      const p = table.sound[i]!;
      if (isRunning(c)) {
        if (!isFollowable(c))
          notes.push(`state ${c.name} is driven by a capture that is not there: not computed`);
        else if (table.running?.followed(i) === false)
          notes.push(`the sound circuit cannot be followed in state ${c.name}: its readings are not weighed`);
        else if (table.running?.settled(i) === false)
          notes.push(
            `the sound circuit does not come to repeat in state ${c.name}: its last period stands for it`,
          );
      } else if (!p.converged)
        notes.push(
          `no operating point for condition ${c.name} (worst at ${p.worst.map((x) => x.net).join(', ')})`,
        );
      else if (!p.stateHeld)
        notes.push(`the sound circuit does not hold the state that the hints of ${c.name} name`);
    });
    const aside = w.running.aside.length;
    if (aside > 0)
      notes.push(
        `${aside === 1 ? 'one reading of a waveform is' : `${aside} readings of waveforms are`} not weighed: ` +
          (table.running === undefined
            ? 'the states that run are not computed yet'
            : 'what no drive moves is read in a state that stands still'),
      );
    if (w.baseline.learntOnly.length > 0)
      notes.push(
        w.baseline.learntOnly.length === 1
          ? 'one reading is at a point that the circuit does not compute'
          : `${w.baseline.learntOnly.length} readings are at points that the circuit does not compute`,
      );
    for (const loop of loopsOf(w.flow)) {
      const suspected = loop.filter((s) => (w.stages.find((x) => x.stage === s)?.probability ?? 0) > 0.05);
      if (suspected.length === 0) continue;
      const breaks = [...new Set(loop.map((s) => s.breaks).filter((b) => b !== ''))];
      notes.push(
        `a loop: everything in it looks bad (${loop.map((s) => s.name).join(', ')}); ` +
          (breaks.length > 0 ? `open or hold it first at ${breaks.join(' or ')}` : 'open or hold it first'),
      );
    }
    const group = this.group(ranked, names);
    return {
      unit: w.unit,
      suspects,
      unexplained: w.unexplained,
      sound: w.sound,
      setAside,
      drawing,
      ...(group ? { group } : {}),
      notes,
    };
  }

  /** Readings at a stage's own nets: its inputs and outputs beside what sound units show there. */
  private stageReasons(stage: Stage): Reason[] {
    const { learnt } = this.weighing;
    return learnt
      .filter((x) => stage.outputs.has(x.net) || stage.inputs.has(x.net))
      .map((x): Reason => {
        const out = stage.outputs.has(x.net);
        const { reading, value } = x;
        return {
          condition: reading.condition,
          point: reading.point,
          quantity: reading.quantity,
          value,
          sound: x.twin,
          soundSigma: x.sigma,
          fault: x.twin,
          faultSigma: out ? x.range / 3 : x.sigma,
          weight: out ? Math.log(0.4 * Math.exp(x.normal) + 0.6 / x.range) - x.normal : 0,
        };
      })
      .sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  }

  /** What speaks for and against a case; of one that no level that stands still has been weighed for, the running readings. */
  private reasons(best: Weighed | undefined, fault: number): Reason[] {
    const { data, soundCase, running } = this.weighing;
    const log = (r: number, s: number): number =>
      Math.log((0.998 * Math.exp((-0.5 * r * r) / (s * s))) / s + 0.002 / this.weighing.range);
    const standing =
      best === undefined
        ? []
        : data.map((d, i): Reason => {
            const value = d.value;
            return {
              condition: d.reading.condition,
              point: d.reading.point,
              quantity: d.reading.quantity,
              value,
              sound: soundCase.mean[i]!,
              soundSigma: soundCase.sigma[i]!,
              fault: best.mean[i]!,
              faultSigma: best.sigma[i]!,
              weight:
                log(value - best.mean[i]!, best.sigma[i]!) -
                log(value - soundCase.mean[i]!, soundCase.sigma[i]!),
            };
          });
    const moving = running
      .reasons(best?.item.faults ?? [fault])
      .map(({ datum: { reading, quantity, value }, sound, fault, weight }): Reason => {
        const shown = quantity === 'moves' ? movesAtAll : (x: Foretold) => x;
        return {
          ...{ condition: reading.condition, point: reading.point, quantity, value, weight },
          ...{ sound: shown(sound).mean, soundSigma: shown(sound).sigma },
          ...{ fault: shown(fault).mean, faultSigma: shown(fault).sigma },
        };
      });
    return [...standing, ...moving].sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  }

  /** Suspects among the foremost that read the same as number `rank` at every point in every condition. */
  private indistinct(
    ranked: readonly { fault: number; parts: readonly string[] }[],
    names: readonly string[],
    rank: number,
  ): string[] {
    const { grounds, sites } = this.weighing.baseline;
    const own = ranked[rank]!;
    if (own.parts.length > 1 || own.fault < 0) return [];
    const list: string[] = [];
    for (let k = 0; k < Math.min(ranked.length, 40); k++) {
      if (k === rank || ranked[k]!.parts.length > 1 || ranked[k]!.fault < 0) continue;
      const other = ranked[k]!.fault;
      if (grounds.alike(own.fault, other, sites) && this.table.running?.alike(own.fault, other) !== false)
        list.push(names[k]!);
    }
    return list;
  }

  private group(ranked: readonly { probability: number }[], names: readonly string[]): string[] | undefined {
    if ((ranked[0]?.probability ?? 0) < 0.02) return undefined;
    const best = this.next(1)[0];
    if (best && best.bits > NOTHING_BITS) return undefined;
    const list: string[] = [];
    let sum = 0;
    for (let i = 0; i < ranked.length && sum < 0.95; i++) {
      list.push(names[i]!);
      sum += ranked[i]!.probability;
    }
    // Ways in which one part may have failed are for the iron to tell apart, not a group of suspects.
    const parts = new Set(list.map((name) => name.slice(0, name.lastIndexOf(':'))));
    return parts.size > 1 && list.length <= GROUP_MOST ? list : undefined;
  }

  /** Readings that would part the suspects best, most bits a minute first; empty when nothing is left to part. */
  next(limit = MOST_READINGS): readonly NextReading[] {
    this.readings ??= nextReadings(this.weighing, MOST_READINGS);
    return limit <= MOST_READINGS ? this.readings.slice(0, limit) : nextReadings(this.weighing, limit);
  }
}

interface Ranked {
  readonly parts: readonly string[];
  readonly modes: readonly string[];
  probability: number;
  best?: Weighed;
  share: number;
  fault: number;
  readonly stage?: Stage;
}
