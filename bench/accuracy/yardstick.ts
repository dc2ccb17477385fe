/**
 * The exact posterior of the true physics: what could be known at best. Every part, way of failing and severity
 * is solved in the true physics at nominal parameters and linearised in all of them; readings then weigh the
 * hypotheses by the joint Gaussian, under the very prior that the faults are planted by. It does not know the
 * program. Slow to set up (a few minutes a board), so its tables are kept in `bench/out`.
 */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { deserialize, serialize } from 'node:v8';
import type { Reading } from '../../src/machine/model.ts';
import { visibility } from './faults.ts';
import { type Fault, network, type OperatingPoint, Solver, sensitivities } from './physics/index.ts';
import type { Answer, Suspect } from './program.ts';
import { seedOf } from './random.ts';
import type { Twin } from './score.ts';
import type { Bench, Trial } from './trial.ts';
import { readingError, SLIP_RATE } from './units.ts';

/**
 * What neighbouring severities of one fault share, rows being condition x (net nodes, then the pin that an open
 * joint sets apart). The slopes of a row stand in `index` and `value` from `start[row]`, in volts for one standard
 * deviation of each parameter; `cold` and `hot` are the changes from a room of 22 °C to one of 14 and 30 °C.
 */
interface Block {
  readonly cold: Float32Array;
  readonly hot: Float32Array;
  readonly start: Int32Array;
  readonly index: Uint16Array;
  readonly value: Float32Array;
}

/** One hypothesis: a fault within a cell of severities; `grade` is a row's slope for one deviation within the cell. */
interface Hypothesis {
  readonly kind: number;
  readonly severity: number;
  readonly prior: number;
  readonly volts: Float32Array;
  readonly grade: Float32Array;
  readonly block: Block;
}

interface Tables {
  readonly sound: Hypothesis;
  readonly list: readonly Hypothesis[];
}

const ROOMS = [14, 22, 30] as const;
const METER_GAIN = 0.005;
/** Slopes smaller than this a standard deviation are left out, volts. */
const LEAST_SLOPE = 1e-4;
/** Severities share their slopes while no point moves by more than this, volts. */
const COARSE = 1;
/** A stretch of severities is solved at so many steps, a power of two, and cut to single steps where it bends. */
const STEPS = 16;
const VERSION = 5;

export interface Posterior extends Answer {
  /** The reading of most expected information, if any brings at least a hundredth of a bit. */
  readonly next: () => { condition: string; point: string } | undefined;
}

export class Yardstick {
  readonly #bench: Bench;
  readonly #tables: Tables;
  /** Row of a point without an open joint: its net's place among the nets. */
  readonly #place = new Map<string, number>();
  readonly #perCondition: number;
  readonly #twins = new WeakMap<Trial, Belief>();

  constructor(bench: Bench, tables: Tables, places: ReadonlyMap<string, number>) {
    this.#bench = bench;
    this.#tables = tables;
    this.#place = new Map(places);
    this.#perCondition = new Set(places.values()).size + 1;
  }

  get hypotheses(): number {
    return this.#tables.list.length;
  }

  /** Ranked suspects of a trial's faulty unit from the readings taken of it. */
  posterior(trial: Trial, twin: Twin, taken: readonly Reading[]): Posterior {
    const { machine } = this.#bench.board;
    const belief = this.#belief(trial, twin, taken);
    const ambient = taken[0]?.ambient ?? machine.ambient;
    const range = rangeOf(this.#bench);
    const data = taken.map((reading) => ({
      condition: machine.conditions.findIndex((c) => c.name === reading.condition),
      point: reading.point,
      value: reading.value,
    }));
    let states = this.#tables.list.map((hypothesis) => new State(hypothesis, belief, ambient));
    let best = 0;
    // Reading by reading, so that those left far behind on the same readings can be dropped.
    for (const { condition, point, value } of data) {
      for (const state of states) {
        const row = this.#rowOf(state.hypothesis, condition, point);
        state.take(row, value, readingError(machine, value), range);
      }
      best = states.reduce((most, s) => Math.max(most, s.evidence), Number.NEGATIVE_INFINITY);
      states = states.filter((s) => s.evidence > best - 30);
    }
    const weights = states.map((s) => Math.exp(s.evidence - best));
    const total = weights.reduce((a, b) => a + b, 0);
    const sums = new Map<string, Suspect>();
    const alive: { state: State; probability: number; part: string }[] = [];
    states.forEach((state, k) => {
      const { part, mode } = this.#bench.kinds[state.hypothesis.kind]!;
      const probability = weights[k]! / total;
      const key = `${part}:${mode}`;
      const before = sums.get(key)?.probability ?? 0;
      sums.set(key, { parts: [part], modes: [mode], probability: before + probability });
      if (probability > 2e-4) alive.push({ state, probability, part });
    });
    const suspects = byPart([...sums.values()]);
    return {
      suspects,
      sound: 0,
      unexplained: 0,
      drawing: [],
      group: suspects.filter((s) => s.probability > 0.03).map((s) => `${s.parts[0]}:${s.modes[0]}`),
      next: () => this.#next(alive, taken),
    };
  }

  #rowOf(hypothesis: Hypothesis, condition: number, point: string): number {
    const { part, mode } = this.#bench.kinds[hypothesis.kind]!;
    const apart = mode.startsWith('open-joint:') && point === jointPin({ part, mode });
    return condition * this.#perCondition + (apart ? this.#perCondition - 1 : this.#place.get(point)!);
  }

  #next(
    alive: readonly { state: State; probability: number; part: string }[],
    taken: readonly Reading[],
  ): { condition: string; point: string } | undefined {
    const { machine } = this.#bench.board;
    const done = new Set(taken.map((r) => `${r.condition}\n${r.point}`));
    const joints = new Set(
      alive
        .filter((a) => a.probability > 0.004)
        .map((a) => this.#bench.kinds[a.state.hypothesis.kind]!)
        .filter((k) => k.mode.startsWith('open-joint:'))
        .map(jointPin),
    );
    const parts = [...new Set(alive.map((a) => a.part))];
    const group = Int32Array.from(alive, (a) => parts.indexOf(a.part));
    const probability = Float64Array.from(alive, (a) => a.probability);
    let best: { bits: number; condition: string; point: string } | undefined;
    machine.conditions.forEach((condition, c) => {
      const nets = new Set<number>();
      for (const { point } of machine.points) {
        const isPin = point.includes('/');
        // A pin reads as its net unless its own joint is open: look at nets first, at pins that may be open only.
        const place = this.#place.get(point)!;
        if (!(isPin && joints.has(point))) {
          if (nets.has(place)) continue;
          nets.add(place);
        }
        if (done.has(`${condition.name}\n${point}`)) continue;
        const mean = new Float64Array(alive.length);
        const sigma = new Float64Array(alive.length);
        alive.forEach(({ state }, k) => {
          const row = this.#rowOf(state.hypothesis, c, point);
          mean[k] = state.mean(row);
          sigma[k] = Math.sqrt(state.variance(row) + readingError(machine, mean[k]!) ** 2);
        });
        const bits = information(probability, group, mean, sigma, parts.length);
        if (best === undefined || bits > best.bits) best = { bits, condition: condition.name, point };
      }
    });
    return best !== undefined && best.bits > 0.01 ? best : undefined;
  }

  /** What the healthy unit's readings say of the faulty one's parameters. */
  #belief(trial: Trial, twin: Twin, taken: readonly Reading[]): Belief {
    const size = this.#bench.table.parameters.length + 2;
    if (twin === 'none') return new Belief(size);
    const known = this.#twins.get(trial);
    if (twin === 'all' && known !== undefined) return known;
    const wanted = new Set(taken.map((r) => `${r.condition}\n${r.point}`));
    const readings =
      twin === 'all'
        ? trial.healthyReadings
        : trial.healthyReadings.filter((r) => wanted.has(`${r.condition}\n${r.point}`));
    const belief = this.#conditioned(readings, size);
    if (twin === 'all') this.#twins.set(trial, belief);
    return belief;
  }

  #conditioned(readings: readonly Reading[], size: number): Belief {
    const { machine } = this.#bench.board;
    const { parameters } = this.#bench.table;
    const { sound } = this.#tables;
    const { block } = sound;
    const ambient = readings[0]?.ambient ?? machine.ambient;
    // Readings of one net, at its pins too, are averaged without the one that slipped.
    const byRow = new Map<number, number[]>();
    for (const reading of readings) {
      const condition = machine.conditions.findIndex((c) => c.name === reading.condition);
      const row = condition * this.#perCondition + this.#place.get(reading.point)!;
      byRow.set(row, [...(byRow.get(row) ?? []), reading.value]);
    }
    const rows = [...byRow.keys()];
    const n = rows.length;
    const plain = new State(sound, new Belief(size), ambient);
    const z = new Float64Array(n);
    const noise = new Float64Array(n);
    rows.forEach((row, k) => {
      const values = byRow.get(row)!.sort((a, b) => a - b);
      const middle = values[values.length >> 1]!;
      const error = readingError(machine, middle);
      const near = values.filter((v) => Math.abs(v - middle) < 6 * error);
      z[k] = near.reduce((a, b) => a + b, 0) / near.length - plain.mean(row);
      noise[k] = error ** 2 / near.length;
    });
    // C = S S' + noise, in standardised parameters; the meter's gain is the healthy unit's own (its share is nothing).
    const dense = rows.map((row) => {
      const s = new Float64Array(size);
      for (let p = block.start[row]!; p < block.start[row + 1]!; p++) s[block.index[p]!] = block.value[p]!;
      s[size - 2] = METER_GAIN * sound.volts[row]!;
      return s;
    });
    const c = Array.from({ length: n }, () => new Float64Array(n));
    for (let a = 0; a < n; a++)
      for (let b = 0; b <= a; b++) {
        let sum = a === b ? noise[a]! : 0;
        const x = dense[a]!;
        const y = dense[b]!;
        for (let k = 0; k < size; k++) sum += x[k]! * y[k]!;
        c[a]![b] = sum;
      }
    const inverse = inverseOf(c);
    const weights = new Float64Array(n);
    const weigh = () => {
      for (let a = 0; a < n; a++) {
        let sum = 0;
        for (let b = 0; b < n; b++) sum += inverse[a]![b]! * z[b]!;
        weights[a] = sum;
      }
    };
    // A lone reading that the others speak against is taken for a slip and replaced by what they foretell.
    for (let round = 0; round < 5; round++) {
      weigh();
      let worst = -1;
      let most = 4.5;
      for (let a = 0; a < n; a++) {
        const standard = Math.abs(weights[a]!) / Math.sqrt(inverse[a]![a]!);
        if (standard > most) {
          most = standard;
          worst = a;
        }
      }
      if (worst < 0) break;
      z[worst] = z[worst]! - weights[worst]! / inverse[worst]![worst]!;
    }
    weigh();
    const shareOf = (k: number) => {
      const p = parameters[k];
      if (p === undefined) return 0;
      const whole = p.shared ** 2 + p.unit ** 2;
      return whole === 0 ? 0 : p.shared ** 2 / whole;
    };
    const share = Float64Array.from({ length: size }, (_, k) => shareOf(k));
    const belief = new Belief(size);
    for (let a = 0; a < n; a++)
      for (let k = 0; k < size; k++)
        belief.mean[k] = belief.mean[k]! + share[k]! * dense[a]![k]! * weights[a]!;
    // P = I - B C^-1 B' with B = share S'.
    const half = Array.from({ length: size }, () => new Float64Array(n));
    for (let k = 0; k < size; k++) {
      if (share[k] === 0) continue;
      for (let a = 0; a < n; a++) {
        const s = share[k]! * dense[a]![k]!;
        if (s === 0) continue;
        const line = inverse[a]!;
        const into = half[k]!;
        for (let b = 0; b < n; b++) into[b] = into[b]! + s * line[b]!;
      }
    }
    const covariance = new Float64Array(size * size);
    for (let k = 0; k < size; k++)
      for (let l = 0; l < size; l++) {
        let sum = k === l ? 1 : 0;
        if (share[k]! > 0 && share[l]! > 0) {
          const x = half[k]!;
          for (let b = 0; b < n; b++) sum -= x[b]! * share[l]! * dense[b]![l]!;
        }
        covariance[k * size + l] = sum;
      }
    belief.covariance = covariance;
    return belief;
  }
}

/** Mean and covariance of the standardised parameters; without a covariance, the identity. */
class Belief {
  readonly size: number;
  readonly mean: Float64Array;
  covariance: Float64Array | undefined;
  constructor(size: number) {
    this.size = size;
    this.mean = new Float64Array(size);
  }
}

/** One hypothesis with the readings taken so far. */
class State {
  readonly hypothesis: Hypothesis;
  evidence: number;
  readonly #belief: Belief;
  readonly #room: readonly [number, number];
  /** Per reading taken: its row's belief column and what it said. */
  readonly #taken: { column: Float64Array; unit: Float64Array; shift: number }[] = [];

  constructor(hypothesis: Hypothesis, belief: Belief, ambient: number) {
    this.hypothesis = hypothesis;
    this.evidence = Math.log(hypothesis.prior);
    this.#belief = belief;
    // Quadratic through the three rooms.
    const t = (ambient - ROOMS[1]) / (ROOMS[2] - ROOMS[1]);
    this.#room = [(t * (t - 1)) / 2, (t * (t + 1)) / 2];
  }

  /** Belief covariance times a row's slopes; the meter's gain and the severity are the last two parameters. */
  #column(row: number): Float64Array {
    const { block, volts, grade } = this.hypothesis;
    const { start, index, value } = block;
    const { size, covariance } = this.#belief;
    const column = new Float64Array(size);
    for (let p = start[row]!; p < start[row + 1]!; p++) {
      const k = index[p]!;
      const s = value[p]!;
      if (covariance === undefined) column[k] = column[k]! + s;
      else for (let l = 0; l < size; l++) column[l] = column[l]! + s * covariance[k * size + l]!;
    }
    column[size - 2] = METER_GAIN * volts[row]!;
    column[size - 1] = grade[row]!;
    return column;
  }

  #times(row: number, column: Float64Array): number {
    const { block, volts, grade } = this.hypothesis;
    const { start, index, value } = block;
    const { size } = this.#belief;
    let sum = METER_GAIN * volts[row]! * column[size - 2]! + grade[row]! * column[size - 1]!;
    for (let p = start[row]!; p < start[row + 1]!; p++) sum += value[p]! * column[index[p]!]!;
    return sum;
  }

  mean(row: number): number {
    const { block, volts } = this.hypothesis;
    const [cold, hot] = this.#room;
    let sum =
      volts[row]! + cold * block.cold[row]! + hot * block.hot[row]! + this.#times(row, this.#belief.mean);
    for (const { unit, shift } of this.#taken) sum += this.#times(row, unit) * shift;
    return sum;
  }

  variance(row: number): number {
    let sum = this.#times(row, this.#column(row));
    for (const { unit } of this.#taken) sum -= this.#times(row, unit) ** 2;
    return Math.max(sum, 0);
  }

  /** Takes one reading: its evidence, and what it says of the parameters unless it looks like a slip. */
  take(row: number, value: number, error: number, range: number): void {
    const m = this.mean(row);
    if (!Number.isFinite(m)) {
      this.evidence -= Math.log(range);
      return;
    }
    const column = this.#column(row);
    for (const { unit } of this.#taken) {
      const c = this.#times(row, unit);
      for (let k = 0; k < column.length; k++) column[k] = column[k]! - c * unit[k]!;
    }
    const variance = Math.max(this.#times(row, column), 0) + error ** 2;
    const off = value - m;
    const normal =
      ((1 - SLIP_RATE) * Math.exp((-0.5 * off * off) / variance)) / Math.sqrt(2 * Math.PI * variance);
    const slip = SLIP_RATE / range;
    this.evidence += Math.log(normal + slip);
    if (normal < slip) return;
    const sigma = Math.sqrt(variance);
    for (let k = 0; k < column.length; k++) column[k] = column[k]! / sigma;
    this.#taken.push({ column, unit: column, shift: off / sigma });
  }
}

/** Ranked by part, most probable first, each part's modes in order. */
function byPart(list: readonly Suspect[]): Suspect[] {
  const sums = new Map<string, number>();
  for (const s of list) sums.set(s.parts[0]!, (sums.get(s.parts[0]!) ?? 0) + s.probability);
  return [...list].sort(
    (a, b) => sums.get(b.parts[0]!)! - sums.get(a.parts[0]!)! || b.probability - a.probability,
  );
}

function rangeOf(bench: Bench): number {
  const volts = [0, ...bench.board.machine.rails.map((r) => r.volts)];
  return Math.max(...volts) - Math.min(...volts);
}

/** Expected bits that a reading brings on which part it is: sum over components of p E log p(y|part)/p(y). */
function information(
  probability: Float64Array,
  group: Int32Array,
  mean: Float64Array,
  sigma: Float64Array,
  groups: number,
): number {
  // Five-point Gauss-Hermite rule of the standard normal (Abramowitz & Stegun, table 25.10, rescaled; from memory).
  const nodes = [-2.85697, -1.35563, 0, 1.35563, 2.85697];
  const weights = [0.0112574, 0.2220759, 0.5333333, 0.2220759, 0.0112574];
  const n = mean.length;
  const own = new Float64Array(groups);
  for (let k = 0; k < n; k++) own[group[k]!] = own[group[k]!]! + probability[k]!;
  let whole = 0;
  for (let k = 0; k < n; k++) if (Number.isFinite(mean[k]!)) whole += probability[k]!;
  let sum = 0;
  for (let k = 0; k < n; k++) {
    const m = mean[k]!;
    if (!Number.isFinite(m) || probability[k]! < 1e-3) continue;
    for (let q = 0; q < 5; q++) {
      const y = m + nodes[q]! * sigma[k]!;
      let all = 0;
      let same = 0;
      for (let j = 0; j < n; j++) {
        const d = (y - mean[j]!) / sigma[j]!;
        if (!(d * d < 40)) continue;
        const density = (probability[j]! * Math.exp(-0.5 * d * d)) / sigma[j]!;
        all += density;
        if (group[j] === group[k]) same += density;
      }
      sum += probability[k]! * weights[q]! * Math.log2(same / own[group[k]!]! / (all / whole));
    }
  }
  return sum;
}

/** Inverse of a symmetric positive definite matrix given by its lower triangle. */
function inverseOf(lower: Float64Array[]): Float64Array[] {
  const n = lower.length;
  const l = lower.map((row) => row.slice());
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let sum = l[i]![j]!;
      const a = l[i]!;
      const b = l[j]!;
      for (let k = 0; k < j; k++) sum -= a[k]! * b[k]!;
      if (i === j) {
        if (!(sum > 0)) throw new RangeError('covariance of the healthy readings is not positive');
        a[i] = Math.sqrt(sum);
      } else a[j] = sum / b[j]!;
    }
  const inverse = Array.from({ length: n }, () => new Float64Array(n));
  const column = new Float64Array(n);
  for (let c = 0; c < n; c++) {
    column.fill(0);
    for (let i = c; i < n; i++) {
      let sum = i === c ? 1 : 0;
      for (let k = c; k < i; k++) sum -= l[i]![k]! * column[k]!;
      column[i] = sum / l[i]![i]!;
    }
    for (let i = n - 1; i >= 0; i--) {
      let sum = column[i]!;
      for (let k = i + 1; k < n; k++) sum -= l[k]![i]! * column[k]!;
      column[i] = sum / l[i]![i]!;
    }
    for (let i = 0; i < n; i++) inverse[i]![c] = column[i]!;
  }
  return inverse;
}

/** Where the trials keep their tables between runs. */
export const YARDSTICK_FOLDER = fileURLToPath(new URL('../out/', import.meta.url));

const jointPin = ({ part, mode }: { part: string; mode: string }) =>
  `${part}.${mode.slice('open-joint:'.length)}`;

/** Solves every hypothesis of a board, or takes the tables kept in `folder` from before; without one, keeps none. */
export function yardstickOf(
  bench: Bench,
  folder?: string,
  onProgress?: (done: number, total: number) => void,
): Yardstick {
  const { machine } = bench.board;
  const { table } = bench;
  const size = table.parameters.length;
  const circuit = network(machine, table);
  // Places of the nets, shared by the points that read them.
  const places = new Map<string, number>();
  const placeOfNode = new Map<number, number>();
  const representative: string[] = [];
  for (const { point } of machine.points) {
    const node = circuit.nodeOfPoint(point);
    if (!placeOfNode.has(node)) {
      placeOfNode.set(node, placeOfNode.size);
      const pinned = machine.parts.flatMap((p) => p.pins.map((q) => [`${p.name}.${q.pin}`, q.net] as const));
      representative.push(pinned.find(([pin]) => pin === point)?.[1] ?? point);
    }
    places.set(point, placeOfNode.get(node)!);
  }
  const perCondition = placeOfNode.size + 1;
  const rows = perCondition * machine.conditions.length;

  const key = seedOf(JSON.stringify([VERSION, machine, [...machine.types], table.parameters, bench.kinds]));
  const file =
    folder === undefined ? undefined : join(folder, `yardstick-${bench.board.name}-${key.toString(16)}.bin`);
  if (file !== undefined && existsSync(file))
    return new Yardstick(bench, deserialize(readFileSync(file)) as Tables, places);

  const theta = Float64Array.from(table.parameters, (p) => p.mean);
  const deviation = Float64Array.from(table.parameters, (p) => Math.hypot(p.shared, p.unit));

  /** A fault's circuit, to be solved at one severity after another, in one room or another. */
  const bed = (fault: Fault | undefined) => {
    const own = network(machine, table, fault ? [fault] : []);
    const solver = new Solver(own);
    const nodes = representative.map((net) => own.nodeOfNet(net));
    if (fault?.mode.startsWith('open-joint:')) nodes.push(own.nodeOfPoint(jointPin(fault)));
    return {
      /** Volts of all rows, NaN where there is no rest; sought from earlier states where these are given. */
      solved(ambient: number, starts?: readonly (OperatingPoint | undefined)[]) {
        own.set(theta, ambient);
        const volts = new Float32Array(rows).fill(Number.NaN);
        const states = machine.conditions.map((condition, c) => {
          const state = solver.operatingPoint(condition, theta, starts?.[c]?.volts);
          if (state !== undefined)
            volts.set(solver.metered(state, condition, theta, nodes), c * perCondition);
          return state;
        });
        return { volts, states };
      },
      /** Slopes and room changes around states solved at 22 °C. */
      block(volts: Float32Array, states: readonly (OperatingPoint | undefined)[]): Block {
        // Where a room has no rest or another state, the middle one stands for it.
        const change = (ambient: number) =>
          this.solved(ambient, states).volts.map((v, row) => {
            const d = v - volts[row]!;
            return Math.abs(d) < 3 ? d : 0;
          });
        const [cold, hot] = [change(ROOMS[0]), change(ROOMS[2])];
        own.set(theta, ROOMS[1]);
        const start = new Int32Array(rows + 1);
        const index: number[] = [];
        const value: number[] = [];
        machine.conditions.forEach((condition, c) => {
          const state = states[c];
          const slopes =
            state === undefined ? undefined : sensitivities(solver, state, condition, theta, ROOMS[1], nodes);
          for (let k = 0; k < perCondition; k++) {
            if (slopes !== undefined && k < nodes.length)
              for (let j = 0; j < size; j++) {
                const s = slopes[k * size + j]! * deviation[j]!;
                if (Math.abs(s) <= LEAST_SLOPE) continue;
                index.push(j);
                value.push(s);
              }
            start[c * perCondition + k + 1] = index.length;
          }
        });
        return { cold, hot, start, index: Uint16Array.from(index), value: Float32Array.from(value) };
      },
    };
  };
  const still = new Float32Array(rows);
  const soundBed = bed(undefined);
  const soundAt = soundBed.solved(ROOMS[1]);
  const sound: Hypothesis = {
    kind: -1,
    severity: 0,
    prior: 1,
    volts: soundAt.volts,
    grade: still,
    block: soundBed.block(soundAt.volts, soundAt.states),
  };
  const layered = (volts: Float32Array) =>
    machine.conditions.map((_, c) =>
      Float64Array.from(machine.points, (p) => volts[c * perCondition + places.get(p.point)!]!),
    );
  const before = layered(sound.volts);
  const apart = (a: Float32Array, b: Float32Array) => {
    let most = 0;
    for (let row = 0; row < rows; row++) {
      const d = Math.abs(a[row]! - b[row]!);
      if (d > most) most = d;
    }
    return most;
  };
  /** Whether a step's middle lies off the line between its ends by more than a reading's error somewhere. */
  const bends = (a: Float32Array, middle: Float32Array, b: Float32Array) => {
    for (let row = 0; row < rows; row++) {
      const off = Math.abs(middle[row]! - (a[row]! + b[row]!) / 2);
      if (off > readingError(machine, middle[row]!)) return true;
    }
    return false;
  };

  const list: Hypothesis[] = [];
  bench.kinds.forEach((kind, number) => {
    onProgress?.(number, bench.kinds.length);
    const pin = kind.mode.startsWith('open-joint:') ? jointPin(kind) : undefined;
    const pinPlace = machine.points.findIndex((p) => p.point === pin);
    /** Only what can be seen is planted: near the limit, the more so the more it shows. */
    const chanceSeen = (volts: Float32Array) => {
      let seen = visibility(before, layered(volts), bench.spreads);
      if (pinPlace >= 0)
        machine.conditions.forEach((_, c) => {
          const moved = volts[c * perCondition + perCondition - 1]! - before[c]![pinPlace]!;
          if (Number.isFinite(moved)) seen = Math.max(seen, Math.abs(moved) / bench.spreads[c]![pinPlace]!);
        });
      return Math.max(0, Math.min(1, (seen - 3) / 2));
    };
    for (const stretch of kind.severities) {
      const fault: Fault = { part: kind.part, mode: kind.mode, severity: stretch.low };
      const own = bed(fault);
      if (stretch.low === stretch.high) {
        const { volts, states } = own.solved(ROOMS[1]);
        const prior = kind.prior * stretch.share * chanceSeen(volts);
        if (prior > 0)
          list.push({
            kind: number,
            severity: 1,
            prior,
            volts,
            grade: still,
            block: own.block(volts, states),
          });
        continue;
      }
      const severityAt = (step: number) =>
        stretch.even
          ? stretch.low + ((stretch.high - stretch.low) * step) / STEPS
          : stretch.low * (stretch.high / stretch.low) ** (step / STEPS);
      // From the mild end, so that a held state is kept for as long as the fault lets it be.
      const mildFirst = kind.mode === 'high' || kind.mode === 'open';
      const steps = Array.from({ length: STEPS + 1 }, (_, k) => (mildFirst ? k : STEPS - k));
      const at = new Map<number, ReturnType<typeof own.solved>>();
      let last: readonly (OperatingPoint | undefined)[] | undefined;
      for (const step of steps) {
        fault.severity = severityAt(step);
        const found = own.solved(ROOMS[1], last);
        at.set(step, found);
        last = found.states;
      }
      const cells: [number, number][] = [];
      const cut = (low: number, high: number): void => {
        const middle = (low + high) / 2;
        const volts = (step: number) => at.get(step)!.volts;
        if (high - low >= 2 && bends(volts(low), volts(middle), volts(high))) {
          cut(low, middle);
          cut(middle, high);
        } else if (high - low > STEPS / 2 && bends(volts(low), volts((low + middle) / 2), volts(middle))) {
          cut(low, middle);
          cut(middle, high);
        } else cells.push([low, high]);
      };
      cut(0, STEPS);
      let block: { of: Float32Array; block: Block } | undefined;
      for (const [low, high] of cells) {
        const [a, b] = [at.get(low)!, at.get(high)!];
        // The middle of a single step is the mean of its ends: it was cut until it does not bend.
        const middle = at.get((low + high) / 2);
        const volts = middle?.volts ?? a.volts.map((v, row) => (v + b.volts[row]!) / 2);
        const seen = chanceSeen(volts);
        if (seen === 0) continue;
        if (block === undefined || apart(block.of, volts) > COARSE) {
          const nearest = middle ?? a;
          fault.severity = severityAt(middle === undefined ? low : (low + high) / 2);
          block = { of: volts, block: own.block(nearest.volts, nearest.states) };
        }
        list.push({
          kind: number,
          severity: severityAt((low + high) / 2),
          prior: (kind.prior * stretch.share * seen * (high - low)) / STEPS,
          volts,
          // Evenly spread over the cell: its standard deviation is its width over the root of 12.
          grade: a.volts.map((v, row) => {
            const d = (b.volts[row]! - v) / Math.sqrt(12);
            return Number.isFinite(d) ? d : 0;
          }),
          block: block.block,
        });
      }
    }
  });
  const tables: Tables = { sound, list };
  if (folder !== undefined && file !== undefined) {
    mkdirSync(folder, { recursive: true });
    writeFileSync(file, serialize(tables));
  }
  return new Yardstick(bench, tables, places);
}
