/**
 * What all answers about one machine have in common, whatever was read: where the faults of the table are seen, sound levels, and how
 * both move with the parts. Kept with the table and worked out when first asked, so that the answer after a changed reading costs only
 * what that reading changes.
 *
 * All of it depends on what it is asked for and on nothing that was asked before.
 */
import { CircuitSolver, type OperatingPoint } from '../circuit/index.ts';
import { type Case, caseVolts, editOf, gradeOf, pointVolts, type SolvedPair } from './hypothesis.ts';
import type { Site } from './site.ts';
import { type Row, sparseRow } from './sparse-gaussian.ts';
import { type Flow, spoilt } from './stage.ts';
import type { FaultTable } from './table.ts';

/** A fault is seen at a place from here on, volts. */
const SEEN_VOLTS = 2e-3;
/** Two faults read alike at a place within so many volts and such a share of them. */
const ALIKE_VOLTS = 0.06;
const ALIKE_SHARE = 0.03;
/** Numbers that the sensitivities of cases may take before they are forgotten, about 8 bytes each. */
const MOST_NUMBERS = 12e6;
/** Solved pairs to keep. */
const MOST_PAIRS = 40_000;

/** The faults that are seen at a place, and by how many volts they move it; NaN without an operating point. */
export interface Reach {
  readonly faults: Int32Array;
  readonly moves: Float32Array;
}

/** How a net's voltage depends on the parts in some state of the circuit. */
export interface Slope {
  /** By parameter, volts for one spread. */
  readonly row: Row;
  /** Variance of the small sensitivities that the row leaves out, V². */
  readonly rest: number;
  /** Source resistance, ohms. */
  readonly ohms: number;
  /** Volts for one spread of the fault's severity. */
  readonly byGrade: number;
}

/** Where a case is linearised: deviations of the parts, and of the severity, from their nominal values. */
export interface Offset {
  readonly deviations: Float64Array;
  readonly grade: number;
  /** The same offset, the same key. */
  readonly key: string;
}

interface Linearised {
  /** Net voltages; undefined without an operating point. */
  readonly volts: Float64Array | undefined;
  readonly slopes: Map<number, Slope>;
}

const known = new WeakMap<FaultTable, Grounds>();

/** The one of a table; a table that goes takes it along. */
export function groundsOf(table: FaultTable): Grounds {
  let found = known.get(table);
  if (!found) {
    found = new Grounds(table);
    known.set(table, found);
  }
  return found;
}

export class Grounds {
  readonly solver: CircuitSolver;
  private readonly table: FaultTable;
  private readonly conditions: number;
  private seen: { starts: Int32Array; faults: Int32Array; volts: Float32Array } | undefined;
  private unsolved: Int32Array[] = [];
  private readonly pinFaults = new Map<string, number[]>();
  private readonly reaches = new Map<string, Reach>();
  private readonly alikes = new WeakMap<ReadonlyMap<string, Site>, Map<number, boolean>>();
  private readonly netsOf = new WeakMap<ReadonlyMap<string, Site>, Uint8Array>();
  private readonly spoiling = new Map<string, Uint8Array>();
  private readonly levels = new Map<string, readonly OperatingPoint[]>();
  private readonly sound = new Map<string, Slope>();
  private readonly cases = new Map<string, Linearised>();
  private numbers = 0;
  private readonly pairs = new Map<string, SolvedPair>();

  constructor(table: FaultTable) {
    this.table = table;
    this.conditions = table.conditions.length;
    this.solver = new CircuitSolver(table.netlist);
    this.levels.set(` ${table.ambient}`, table.sound);
  }

  /** The table turned over: for each condition and net the faults that move it. */
  private turned(): { starts: Int32Array; faults: Int32Array; volts: Float32Array } {
    if (this.seen) return this.seen;
    const { table, conditions } = this;
    const nets = table.netlist.nets.length;
    const starts = new Int32Array(conditions * nets + 1);
    const noPoint: number[][] = Array.from({ length: conditions }, () => []);
    table.faults.forEach(({ fault }, f) => {
      if (fault.pin) {
        const list = this.pinFaults.get(fault.pin.point);
        if (list) list.push(f);
        else this.pinFaults.set(fault.pin.point, [f]);
      }
      for (let c = 0; c < conditions; c++) {
        if (!table.known(f, c)) noPoint[c]!.push(f);
        table.moved(f, c, (net) => {
          starts[c * nets + net + 1]!++;
        });
      }
    });
    for (let i = 1; i < starts.length; i++) starts[i]! += starts[i - 1]!;
    const next = starts.slice(0, -1);
    const faults = new Int32Array(starts.at(-1)!);
    const volts = new Float32Array(faults.length);
    for (let f = 0; f < table.faults.length; f++)
      for (let c = 0; c < conditions; c++)
        table.moved(f, c, (net, v) => {
          const at = next[c * nets + net]!++;
          faults[at] = f;
          volts[at] = v;
        });
    this.unsolved = noPoint.map((list) => Int32Array.from(list));
    this.seen = { starts, faults, volts };
    return this.seen;
  }

  /** The faults that are seen at a place in a condition. */
  reach(condition: number, site: Site): Reach {
    const key = `${condition} ${site.pin ? site.point : site.net}`;
    let found = this.reaches.get(key);
    if (found) return found;
    const { starts, faults, volts } = this.turned();
    const { table } = this;
    const sound = table.sound[condition]!.volts[site.net]!;
    const cell = condition * table.netlist.nets.length + site.net;
    const pins = site.pin ? (this.pinFaults.get(site.point) ?? []) : [];
    const noPoint = this.unsolved[condition]!;
    const list: number[] = [];
    const moves: number[] = [];
    for (let i = starts[cell]!; i < starts[cell + 1]!; i++) {
      if (pins.includes(faults[i]!)) continue;
      const move = volts[i]! - sound;
      if (Math.abs(move) < SEEN_VOLTS) continue;
      list.push(faults[i]!);
      moves.push(move);
    }
    for (const f of pins) {
      if (!table.known(f, condition)) continue;
      const move = table.pin(f, condition) - sound;
      if (Math.abs(move) < SEEN_VOLTS) continue;
      list.push(f);
      moves.push(move);
    }
    for (const f of noPoint) {
      list.push(f);
      moves.push(Number.NaN);
    }
    found = { faults: Int32Array.from(list), moves: Float32Array.from(moves) };
    this.reaches.set(key, found);
    return found;
  }

  /**
   * Which faults (1) may make a net that the circuit does not compute read anything: it lies behind a stage whose input they
   * disturb, or on their part's own nets.
   */
  spoils(flow: Flow, condition: number, net: string): Uint8Array {
    const key = `${condition} ${net}\n${flow.inside}`;
    let found = this.spoiling.get(key);
    if (found) return found;
    const { table } = this;
    const { nets, namedNet, parts } = table.netlist;
    const sound = table.sound[condition]!.volts;
    found = Uint8Array.from(table.faults, ({ fault }, f) => {
      const bad = new Set<string>();
      for (const pin of parts.get(fault.part)!.pins) if (flow.learnt.has(pin.net)) bad.add(pin.net);
      table.moved(f, condition, (at, volts) => {
        if (Math.abs(volts - sound[at]!) > 0.3) bad.add(nets[namedNet[at]!]!);
      });
      return spoilt(flow, bad).has(net) ? 1 : 0;
    });
    this.spoiling.set(key, found);
    return found;
  }

  /** Whether two faults read the same at all sites in all conditions, as far as operating points were found. */
  alike(a: number, b: number, sites: ReadonlyMap<string, Site>): boolean {
    let answers = this.alikes.get(sites);
    if (!answers) {
      answers = new Map();
      this.alikes.set(sites, answers);
    }
    const key = Math.min(a, b) * this.table.faults.length + Math.max(a, b);
    let answer = answers.get(key);
    if (answer === undefined) {
      answer = this.readAlike(a, b, sites);
      answers.set(key, answer);
    }
    return answer;
  }

  private readAlike(a: number, b: number, sites: ReadonlyMap<string, Site>): boolean {
    const { table, solver } = this;
    const differ = (x: number, y: number): boolean =>
      Math.abs(x - y) > ALIKE_VOLTS + ALIKE_SHARE * Math.abs(x);
    let nets = this.netsOf.get(sites);
    if (!nets) {
      nets = new Uint8Array(table.netlist.nets.length);
      for (const { net } of sites.values()) if (net >= 0) nets[net] = 1;
      this.netsOf.set(sites, nets);
    }
    const pins = [a, b].flatMap((fault) => sites.get(table.faults[fault]!.fault.pin?.point ?? '') ?? []);
    for (let c = 0; c < this.conditions; c++) {
      if (!table.known(a, c) || !table.known(b, c)) continue;
      for (const [one, other] of [
        [a, b],
        [b, a],
      ] as const) {
        let alike = true;
        table.moved(one, c, (net, volts) => {
          if (nets[net] === 1 && differ(volts, table.volts(other, c, net))) alike = false;
        });
        if (!alike) return false;
      }
      for (const site of pins) {
        const [x, y] = [a, b].map((f) => pointVolts(table, solver, { faults: [f], logPrior: 0 }, c, site));
        if (differ(x!, y!)) return false;
      }
    }
    return true;
  }

  /** The table's room, or another rounded to half a degree: sound levels are kept for each. */
  room(ambient: number): number {
    return Math.abs(ambient - this.table.ambient) < 0.5 ? this.table.ambient : Math.round(2 * ambient) / 2;
  }

  /**
   * Operating points of the sound circuit in a room.
   *
   * @param feed  names the levels of uncomputed nets that `conditions` are fed with; empty for the table's own
   */
  soundPoints(
    ambient: number,
    feed: string,
    conditions: FaultTable['conditions'],
  ): readonly OperatingPoint[] {
    const room = this.room(ambient);
    const key = `${feed} ${room}`;
    let found = this.levels.get(key);
    if (!found) {
      this.solver.setParts(undefined, room);
      found = conditions.map((c, i) => {
        const start = this.table.sound[i]!;
        return this.solver.solve(c, start.converged ? { start: start.volts } : {});
      });
      this.levels.set(key, found);
    }
    return found;
  }

  /** Slopes of nets of the sound circuit in a room; of those that are not there yet all are worked out at once. */
  soundSlopes(
    ambient: number,
    feed: string,
    conditions: FaultTable['conditions'],
    condition: number,
    nets: readonly number[],
  ): readonly (Slope | undefined)[] {
    const prefix = `${feed} ${this.room(ambient)} ${condition}`;
    const wanted = nets.filter((net) => !this.sound.has(`${prefix} ${net}`));
    const point = this.soundPoints(ambient, feed, conditions)[condition]!;
    if (wanted.length > 0 && point.converged) {
      this.solver.setParts(undefined, this.room(ambient));
      const slopes = this.slopes(conditions[condition]!, point.volts, wanted);
      wanted.forEach((net, i) => {
        this.sound.set(`${prefix} ${net}`, slopes[i]!);
      });
    }
    return nets.map((net) => this.sound.get(`${prefix} ${net}`));
  }

  private slopes(
    condition: FaultTable['conditions'][number],
    volts: Float64Array,
    nets: readonly number[],
    item?: Case,
    grade = 0,
  ): Slope[] {
    const { table } = this;
    const s = this.solver.sensitivities(
      condition,
      volts,
      nets,
      item && editOf(table, item, grade),
      item && gradeOf(table, item),
    );
    const count = table.netlist.parameters.length;
    return nets.map((_, i) => ({
      ...sparseRow(s.byParameter, i * count, count, (p) => p),
      ohms: s.ohms[i]!,
      byGrade: s.byGrade[i]!,
    }));
  }

  /**
   * A case in a condition at nominal parts or at an offset from them: net voltages and the slopes of `nets`. Undefined without an
   * operating point.
   */
  linearised(
    item: Case,
    condition: number,
    nets: readonly number[],
    offset?: Offset,
  ): { readonly volts: Float64Array; readonly slopes: ReadonlyMap<number, Slope> } | undefined {
    const { table, solver } = this;
    const key = `${item.faults.join(' ')}|${condition}|${offset?.key ?? ''}`;
    let found = this.cases.get(key);
    if (!found) {
      let volts = caseVolts(table, solver, item, condition);
      if (volts && offset) {
        const edit = editOf(table, item, offset.grade);
        solver.setParts(offset.deviations, table.ambient);
        const point = solver.solve(table.conditions[condition]!, {
          ...(edit ? { edit } : {}),
          start: volts,
          accuracy: 'table',
        });
        volts = point.converged ? point.volts : undefined;
      }
      found = { volts, slopes: new Map() };
      this.cases.set(key, found);
      this.count(table.netlist.nets.length);
    }
    const { volts, slopes } = found;
    if (!volts) return undefined;
    const wanted = nets.filter((net) => !slopes.has(net));
    if (wanted.length > 0) {
      solver.setParts(offset?.deviations, table.ambient);
      const made = this.slopes(table.conditions[condition]!, volts, wanted, item, offset?.grade ?? 0);
      wanted.forEach((net, i) => {
        slopes.set(net, made[i]!);
        this.count(2 * made[i]!.row.indices.length + 8);
      });
    }
    solver.setParts(undefined, table.ambient);
    return { volts, slopes };
  }

  private count(numbers: number): void {
    this.numbers += numbers;
    if (this.numbers < MOST_NUMBERS) return;
    this.cases.clear();
    this.numbers = 0;
  }

  /** Where the solutions of two faults together are kept. */
  solvedPair(faults: readonly number[]): SolvedPair {
    const key = faults.join(' ');
    let found = this.pairs.get(key);
    if (!found) {
      if (this.pairs.size >= MOST_PAIRS) this.pairs.clear();
      found = new Map();
      this.pairs.set(key, found);
    }
    return found;
  }
}
