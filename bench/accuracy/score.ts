/** The kinds of trial, each run once for a trial number and scored. */
import type { Machine, Part, Reading } from '../../src/machine/model.ts';
import type { Fault } from './physics/index.ts';
import { type Answer, nextReading, type Suspect, suspects } from './program.ts';
import type { Chance } from './random.ts';
import { type Bench, indistinct, machineWith, symptom, type Trial, trialOf } from './trial.ts';
import type { Yardstick } from './yardstick.ts';

export const KINDS = ['all', 'twelve', 'walk', 'double', 'sound', 'wrong'] as const;
export type Kind = (typeof KINDS)[number];

/** With the healthy unit read throughout, only where the faulty one was, or not at all. */
export type Twin = 'all' | 'paired' | 'none';

/** A probability given to a part, and whether that part had failed. */
export type Claim = readonly [probability: number, right: boolean];

export interface Score {
  readonly board: string;
  readonly kind: Kind;
  readonly twin: Twin;
  readonly number: number;
  readonly planted: readonly string[];
  readonly right: boolean;
  /** The part named first with its probability, `sound` or `unexplained` when one of these is more probable. */
  readonly named: string;
  readonly probability: number;
  readonly claims: readonly Claim[];
  readonly invisible: number;
  readonly restless: number;
  /** Milliseconds the program took. */
  readonly milliseconds: number;
  /** The exact posterior on the same readings: whether the part is first. */
  readonly exactRight?: boolean;
  /** Of a walk: how it ended, readings beyond the symptom and minutes, and those of the exact posterior. */
  readonly walk?: Walk;
  readonly exactWalk?: Walk;
  /** Of a wrong folder: what was wrong, and whether the program found the drawing at odds. */
  readonly wrong?: { readonly what: string; readonly saysSo: boolean };
}

export interface Walk {
  readonly end: 'named' | 'group' | 'spent';
  readonly readings: number;
  readonly minutes: number;
  readonly right: boolean;
  /** Whether the planted part is in the group that the walk ended with. */
  readonly inGroup: boolean;
  readonly groupSize: number;
  readonly named: string;
  readonly probability: number;
}

/** Probability of a part at which a walk names it. */
const CONFIDENT = 0.9;
/** Readings after which a walk is given up. */
const MOST_READINGS = 25;
const TWELVE = 12;

const faultName = (f: Fault) =>
  `${f.part}:${f.mode}${f.severity === 1 ? '' : ` ${f.severity.toPrecision(3)}`}`;

/** Probability of each part over its modes; double faults count for both of theirs. */
function byPart(list: readonly Suspect[]): Map<string, number> {
  const sums = new Map<string, number>();
  for (const { parts, probability } of list)
    for (const part of new Set(parts)) sums.set(part, (sums.get(part) ?? 0) + probability);
  return sums;
}

function claimsOf(answer: Answer, planted: readonly Fault[]): Claim[] {
  const failed = new Set(planted.map((f) => f.part));
  const claims: Claim[] = [...byPart(answer.suspects)]
    .filter(([, p]) => p >= 0.05)
    .map(([part, p]) => [p, failed.has(part)]);
  return claims;
}

function foremost(answer: Answer): { named: string; probability: number } {
  const first = answer.suspects[0];
  const sums = byPart(answer.suspects);
  let best = {
    named: first?.parts.join(' + ') ?? 'nothing',
    probability: Math.min(
      1,
      ...(first?.parts ?? []).map((part) => sums.get(part)!),
      first === undefined ? 0 : 1,
    ),
  };
  if (answer.sound > best.probability) best = { named: 'sound', probability: answer.sound };
  if (answer.unexplained > best.probability) best = { named: 'unexplained', probability: answer.unexplained };
  return best;
}

/** Whether a part is the one planted, or one that no reading can tell from it. */
function standsFor(trial: Trial, part: string, fault: Fault): boolean {
  return part === fault.part || indistinct(trial, part, fault);
}

function firstIsRight(trial: Trial, list: readonly Suspect[]): boolean {
  const first = list[0];
  const fault = trial.planted[0]!;
  return first !== undefined && first.parts.length === 1 && standsFor(trial, first.parts[0]!, fault);
}

/** One of the two is in the first row, and both are among the first four parts listed. */
function bothRight(trial: Trial, list: readonly Suspect[]): boolean {
  const order: string[] = [];
  for (const { parts } of list) for (const part of parts) if (!order.includes(part)) order.push(part);
  const four = order.slice(0, 4);
  const rowOne = list[0]?.parts ?? [];
  const [a, b] = trial.planted as [Fault, Fault];
  const among = (parts: readonly string[], fault: Fault) =>
    parts.includes(fault.part) || parts.some((part) => standsFor(trial, part, fault));
  return (among(rowOne, a) || among(rowOne, b)) && among(four, a) && among(four, b);
}

function healthyShare(trial: Trial, twin: Twin, taken: readonly Reading[]): readonly Reading[] {
  if (twin === 'all') return trial.healthyReadings;
  if (twin === 'none') return [];
  return trial.healthyReadings.filter((r) =>
    taken.some((t) => t.condition === r.condition && t.point === r.point),
  );
}

function base(trial: Trial, kind: Kind, twin: Twin, answer: Answer, started: number) {
  return {
    board: trial.bench.board.name,
    kind,
    twin,
    number: trial.number,
    planted: trial.planted.map(faultName),
    ...foremost(answer),
    claims: claimsOf(answer, trial.planted),
    invisible: trial.invisible,
    restless: trial.restless,
    milliseconds: Math.round(performance.now() - started),
  };
}

function walked(
  trial: Trial,
  twin: Twin,
  first: Reading,
  ask: (machine: Machine) => { answer: Answer; next: () => { condition: string; point: string } | undefined },
): { walk: Walk; answer: Answer } {
  const { machine } = trial.bench.board;
  const taken: Reading[] = [first];
  let minutes = 0;
  for (;;) {
    const known = machineWith(machine, healthyShare(trial, twin, taken), taken);
    const { answer, next: wanted } = ask(known);
    const [named, probability] = [...byPart(answer.suspects)].reduce(
      (a, b) => (b[1] > a[1] ? b : a),
      ['nothing', 0],
    );
    const next = probability >= CONFIDENT ? undefined : wanted();
    const reading =
      next === undefined || taken.length > MOST_READINGS
        ? undefined
        : trial.faultyReadings.find(
            (r) => r.condition === next.condition && r.point === next.point && !taken.includes(r),
          );
    if (reading !== undefined) {
      taken.push(reading);
      minutes += machine.points.find((p) => p.point === reading.point)!.minutes;
      continue;
    }
    const fault = trial.planted[0]!;
    const group = new Set((answer.group ?? []).map((name) => name.replace(/:.*$/, '')));
    const end = probability >= CONFIDENT ? 'named' : next === undefined ? 'group' : 'spent';
    return {
      answer,
      walk: {
        end,
        readings: taken.length - 1,
        minutes,
        right: named !== 'nothing' && standsFor(trial, named, fault),
        inGroup: group.has(fault.part),
        groupSize: group.size,
        named,
        probability,
      },
    };
  }
}

/** A drawing with one thing wrong in it, near the planted fault half of the time. */
function wrongDrawing(trial: Trial, chance: Chance): { machine: Machine; what: string } {
  const { machine } = trial.bench.board;
  const replaced = (part: Part): Machine => ({
    ...machine,
    parts: machine.parts.map((p) => (p.name === part.name ? part : p)),
  });
  const way = chance.below(3);
  if (way === 0) {
    const part = chance.pick(machine.parts.filter((p) => p.kind === 'resistor'));
    const factor = chance.uniform() < 0.5 ? 0.5 : 1.5;
    return {
      machine: replaced({ ...part, value: part.value! * factor }),
      what: `value of ${part.name} x ${factor}`,
    };
  }
  if (way === 1) {
    const part = chance.pick(machine.parts.filter((p) => p.kind === 'resistor' || p.kind === 'diode'));
    const k = chance.below(part.pins.length);
    const here = part.pins[k]!.net;
    const other = part.pins[1 - k]!.net;
    const nets = [
      ...new Set(
        machine.parts.filter((p) => p.board === part.board).flatMap((p) => p.pins.map((q) => q.net)),
      ),
    ];
    const net = chance.pick(nets.filter((n) => n !== here && n !== other));
    const pins = part.pins.map((p, i) => (i === k ? { ...p, net } : p));
    return {
      machine: replaced({ ...part, pins }),
      what: `${part.name}.${part.pins[k]!.pin} drawn to ${net} for ${here}`,
    };
  }
  const part = chance.pick(machine.parts.filter((p) => p.kind === 'transistor' || p.kind === 'diode'));
  const own = machine.types.get(part.type)!;
  // Another germanium for silicon, or one of the other polarity: what is easily misread on a worn can.
  const type = `${part.type}?`;
  const changed =
    own.kind === 'diode'
      ? {
          ...own,
          type,
          material: own.material === 'ge' ? ('si' as const) : ('ge' as const),
          vj: own.material === 'ge' ? 0.68 : 0.34,
        }
      : chance.uniform() < 0.5
        ? { ...own, type, polarity: own.polarity === 'pnp' ? ('npn' as const) : ('pnp' as const) }
        : {
            ...own,
            type,
            material: own.material === 'ge' ? ('si' as const) : ('ge' as const),
            vj: own.material === 'ge' ? own.vj + 0.42 : own.vj - 0.42,
            icbo: own.material === 'ge' ? own.icbo / 200 : own.icbo * 200,
          };
  return {
    machine: { ...replaced({ ...part, type }), types: new Map([...machine.types, [type, changed]]) },
    what: `type of ${part.name} taken for ${changed.polarity ?? ''} ${changed.material}`.replace('  ', ' '),
  };
}

/** Runs one trial of a kind; with a yardstick, twelve readings and walks are judged by the exact posterior too. */
export function score(bench: Bench, kind: Kind, twin: Twin, number: number, yardstick?: Yardstick): Score {
  const { machine } = bench.board;
  const unit = machine.units[1]!.id;
  const trial = trialOf(bench, number, kind === 'double' ? 2 : kind === 'sound' ? 0 : 1);
  const random = trial.chance;
  const started = performance.now();
  switch (kind) {
    case 'all':
    case 'double':
    case 'sound': {
      const known = machineWith(
        machine,
        healthyShare(trial, twin, trial.faultyReadings),
        trial.faultyReadings,
      );
      const answer = suspects(known, unit);
      const shared = base(trial, kind, twin, answer, started);
      const right =
        kind === 'all'
          ? firstIsRight(trial, answer.suspects)
          : kind === 'double'
            ? bothRight(trial, answer.suspects)
            : shared.named === 'sound';
      return { ...shared, right };
    }
    case 'twelve': {
      const pool = [...trial.faultyReadings];
      const taken = Array.from({ length: TWELVE }, () => pool.splice(random.below(pool.length), 1)[0]!);
      const answer = suspects(machineWith(machine, healthyShare(trial, twin, taken), taken), unit);
      const shared = base(trial, kind, twin, answer, started);
      const exact = yardstick?.posterior(trial, twin, taken);
      return {
        ...shared,
        right: firstIsRight(trial, answer.suspects),
        ...(exact ? { exactRight: firstIsRight(trial, exact.suspects) } : {}),
      };
    }
    case 'walk': {
      const first = symptom(trial);
      const { walk, answer } = walked(trial, twin, first, (known) => {
        return { answer: suspects(known, unit), next: () => nextReading(known, unit) };
      });
      const shared = base(trial, kind, twin, answer, started);
      const exactWalk = yardstick
        ? walked(trial, twin, first, (known) => {
            const taken = known.readings.filter((r) => r.unit === unit);
            const found = yardstick.posterior(trial, twin, taken);
            return { answer: found, next: found.next };
          }).walk
        : undefined;
      return { ...shared, right: walk.right, walk, ...(exactWalk ? { exactWalk } : {}) };
    }
    case 'wrong': {
      const drawing = wrongDrawing(trial, random);
      const known = machineWith(
        drawing.machine,
        healthyShare(trial, twin, trial.faultyReadings),
        trial.faultyReadings,
      );
      const answer = suspects(known, unit);
      return {
        ...base(trial, kind, twin, answer, started),
        right: firstIsRight(trial, answer.suspects),
        wrong: { what: drawing.what, saysSo: answer.drawing.length > 0 },
      };
    }
  }
}
