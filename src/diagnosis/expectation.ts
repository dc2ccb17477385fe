/**
 * What each point should read: on any sound unit, on this unit after all that the sound readings have taught, or under a fault.
 */
import { CircuitSolver, netlistOf } from '../circuit/index.ts';
import { type Fault, FIGURES, faultHypotheses, LEAST_SWING } from '../faults/index.ts';
import { isRunning, type Machine } from '../machine/index.ts';
import { Baseline, MODEL_SIGMA } from './baseline.ts';
import { movesAtAll, RunningReadings } from './running.ts';
import { isInVolts, runningData, usualSigma } from './running-datum.ts';
import { netOfPoint, type Site, sitesOf } from './site.ts';
import { soundWaves } from './sound-waves.ts';
import { rowTimes } from './sparse-gaussian.ts';
import { fedConditions, flowOf, learntSeconds, learntSigma } from './stage.ts';
import { FaultTable, pinVolts, soundPoints, tableAmbient } from './table.ts';

export interface Expectation {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  /** Volts, or seconds of a time; NaN where neither the circuit nor a sound unit says anything. */
  readonly value: number;
  /** Standard deviation of what a sound unit would read there, the meter's error included. */
  readonly sigma: number;
  /** The circuit computes nothing here: the value is that of a sound unit. */
  readonly learnt: boolean;
}

export interface ExpectationQuery {
  readonly condition?: string;
  readonly fault?: { readonly part: string; readonly mode: string };
  /** Room temperature, °C; default: the machine's. */
  readonly ambient?: number;
  /** Only states that stand still: those that run take seconds. */
  readonly atRest?: boolean;
}

export interface NoPoint {
  readonly condition: string;
  readonly worst: readonly { readonly net: string; readonly amperes: number }[];
}

/** Share of a fault's move by which severity and model may be off. */
const MOVE_SHARE = 0.08;

/**
 * Expected readings at every point. Under a graded fault the middle severity stands for the mode.
 *
 * @throws RangeError when the condition or the fault is not in the machine; the message names it
 */
export function expectations(
  machine: Machine,
  query: ExpectationQuery = {},
): { expectations: Expectation[]; noPoint: NoPoint[]; stateLost: string[] } {
  const netlist = netlistOf(machine);
  const solver = new CircuitSolver(netlist);
  const sites = sitesOf(machine, netlist);
  const conditions = fedConditions(machine, undefined).filter(
    (c) => query.condition === undefined || c.name === query.condition,
  );
  const standing = conditions.filter((c) => !isRunning(c));
  if (query.condition !== undefined && conditions.length === 0)
    throw new RangeError(`no such condition: ${query.condition}`);
  const { fault } = query;
  const hypothesis = fault
    ? faultHypotheses(netlist).find((h) => h.part === fault.part && h.mode === fault.mode)
    : undefined;
  if (fault && !hypothesis) throw new RangeError(`no such fault: ${fault.part}:${fault.mode}`);
  const chosen = hypothesis?.faults.reduce((best, f) => (f.share > best.share ? f : best));
  const ambient = query.ambient ?? machine.ambient;
  solver.setParts(undefined, ambient);
  const list: Expectation[] = [];
  const noPoint: NoPoint[] = [];
  const stateLost: string[] = [];
  const count = netlist.parameters.length;
  const { learnt } = flowOf(machine);
  const levels = soundLevelsRead(machine);
  for (const condition of standing) {
    const sound = solver.solve(condition);
    const point =
      chosen && sound.converged ? solver.solve(condition, { edit: chosen.edit, start: sound.volts }) : sound;
    if (!point.converged) {
      noPoint.push({ condition: condition.name, worst: point.worst });
      continue;
    }
    if (!point.stateHeld) stateLost.push(condition.name);
    const nets = [...new Set([...sites.values()].map((s) => s.net).filter((n) => n >= 0))];
    const s = solver.sensitivities(condition, point.volts, nets, chosen?.edit, chosen?.grade);
    const place = new Map(nets.map((n, i) => [n, i]));
    const pin = chosen?.pin
      ? { point: chosen.pin.point, volts: pinVolts(solver, condition, chosen, point) }
      : undefined;
    for (const site of sites.values()) {
      const learntNet = site.net >= 0 && learnt.has(netlist.nets[netlist.namedNet[site.net]!]!);
      if (site.net < 0 || learntNet || !Number.isFinite(point.volts[site.net]!)) {
        const level = levels.get(`${condition.name}\n${netOfPoint(machine, site.point).net}`);
        if (level !== undefined)
          list.push({
            condition: condition.name,
            point: site.point,
            quantity: 'V',
            value: level,
            sigma: learntSigma(level),
            learnt: true,
          });
        continue;
      }
      const k = place.get(site.net)!;
      const loading = 1e7 / (1e7 + s.ohms[k]!);
      const own = pin?.point === site.point;
      const value = own ? pin!.volts : point.volts[site.net]! * loading;
      let variance = (0.01 * Math.abs(value) + 0.01) ** 2 + MODEL_SIGMA ** 2;
      if (!own) {
        for (let p = 0; p < count; p++) variance += s.byParameter[k * count + p]! ** 2;
        variance += s.byGrade[k]! ** 2;
      }
      variance += (MOVE_SHARE * (value - sound.volts[site.net]!)) ** 2;
      list.push({
        condition: condition.name,
        point: site.point,
        quantity: 'V',
        value,
        sigma: Math.sqrt(variance),
        learnt: false,
      });
    }
  }
  if (standing.length < conditions.length && !query.atRest)
    list.push(...runningExpectations(machine, conditions.filter(isRunning), ambient, noPoint, chosen));
  return { expectations: list, noPoint, stateLost };
}

/** What is told of a point that does not move. */
const STILL = ['moves', 'average'];

/** Quantities of waveforms in conditions that run. */
function runningExpectations(
  whole: Machine,
  conditions: Machine['conditions'],
  ambient: number,
  noPoint: NoPoint[],
  chosen: Fault | undefined,
): Expectation[] {
  const names = new Set(conditions.map(({ name }) => name));
  let fault: number | undefined;
  const { machine, waves } = soundWaves(whole, names, ambient, (own) => {
    const faults = faultHypotheses(netlistOf(own)).flatMap((h) => h.faults);
    const at = faults.findIndex(
      ({ part, mode, severity }) =>
        part === chosen?.part && mode === chosen.mode && severity === chosen.severity,
    );
    fault = chosen && at;
    return { count: faults.length, fault: faults[at] };
  });
  const netlist = netlistOf(machine);
  const table = FaultTable.soundOnly(machine, machine.conditions, [], waves);
  const sites = sitesOf(machine, netlist);
  const { learnt } = flowOf(machine);
  const running = new RunningReadings(machine, table, '', (point) => sites.get(point), {
    ...{ volts: 0, unknownRate: 0 },
    learnt: (net) => learnt.has(net),
  });
  const list: Expectation[] = [];
  machine.conditions.forEach(({ name: condition, drives }, c) => {
    if (!waves.followed(c) || (fault !== undefined && !waves.known(fault, c))) {
      noPoint.push({ condition, worst: [] });
      return;
    }
    const clock = drives.find(({ wave }) => wave !== undefined)?.net;
    const shown = new Set<number>();
    for (const site of sites.values()) {
      if (shown.has(site.net) || learnt.has(netOfPoint(machine, site.point).net)) continue;
      shown.add(site.net);
      const delays = clock === undefined || clock === site.point ? [] : [`delay:${clock}`];
      const swing = running.at(c, site, 'Vpp', fault)?.mean ?? 0;
      const told = swing < LEAST_SWING ? STILL : ['moves', ...FIGURES, ...delays];
      for (const quantity of told) {
        const foretold = running.at(c, site, quantity, fault);
        if (foretold?.kind !== 'figure') continue;
        const { mean: value, sigma } = quantity === 'moves' ? movesAtAll(foretold) : foretold;
        const all = Math.hypot(sigma, usualSigma(quantity, value));
        list.push({ condition, point: site.point, quantity, value, sigma: all, learnt: false });
      }
    }
  });
  return [...list, ...learntRunning(machine, (net) => learnt.has(net) || !netlist.netIndex.has(net))];
}

/** What sound units show of the waveforms of points that the circuit does not compute. */
function learntRunning(machine: Machine, isLearnt: (net: string) => boolean): Expectation[] {
  const healthy = new Set(machine.units.filter((u) => u.health === 'healthy').map((u) => u.id));
  const states = new Set(machine.conditions.map(({ name }) => name));
  return machine.readings
    .filter(
      ({ unit, condition, point }) =>
        healthy.has(unit) && states.has(condition) && isLearnt(netOfPoint(machine, point).net),
    )
    .map(({ condition, point, quantity, value }) => ({
      ...{ condition, point, quantity, value, learnt: true },
      sigma: learntSpread(quantity, value),
    }));
}

function learntSpread(quantity: string, value: number): number {
  if (quantity === 'moves') return 0.1;
  return isInVolts(quantity) ? learntSigma(value) : learntSeconds(value);
}

/** Levels that sound units show, by condition and net. */
function soundLevelsRead(machine: Machine): Map<string, number> {
  const healthy = new Set(machine.units.filter((u) => u.health === 'healthy').map((u) => u.id));
  const levels = new Map<string, number>();
  for (const r of machine.readings)
    if (r.quantity === 'V' && healthy.has(r.unit))
      levels.set(`${r.condition}\n${netOfPoint(machine, r.point).net}`, r.value);
  return levels;
}

export interface Departure {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly value: number;
  readonly expected: number;
  readonly sigma: number;
  /** (value - expected) / sigma. */
  readonly z: number;
  /** What the sound units read there; undefined where none was read. */
  readonly twin?: number;
  /** A sound unit contradicts the drawing here; `expected` follows the sound unit. */
  readonly drawing?: boolean;
}

/**
 * The unit's readings against what a sound unit would show there, given all that sound units and the unit's own past have
 * taught; largest |z| first.
 *
 * @throws RangeError when the unit is not in the machine
 */
export function departures(machine: Machine, unit: string): Departure[] {
  if (!machine.units.some((u) => u.id === unit)) throw new RangeError(`no such unit: ${unit}`);
  const netlist = netlistOf(machine);
  const ambient = tableAmbient(machine);
  const conditions = fedConditions(machine, unit);
  const table = FaultTable.soundOnly(
    machine,
    conditions,
    soundPoints(new CircuitSolver(netlist), conditions, ambient),
  );
  const baseline = new Baseline(machine, table, unit);
  const list = runningDepartures(machine, unit, ambient, baseline);
  const flagged = new Set(baseline.drawing.map((d) => `${d.condition} ${d.net}`));
  for (const d of baseline.data) {
    const model = baseline.modelAt(d.condition, d.site.net);
    const expected = d.expected + rowTimes(d.row, baseline.gaussian.mean) + model.offset;
    const variance =
      rowTimes(d.row, baseline.gaussian.covariance(d.row)) + d.rest + model.variance + d.variance;
    list.push({
      ...departure(d.reading.condition, d.reading.point, d.value, expected, Math.sqrt(variance)),
      ...twinOf(baseline, d.condition, d.site.point),
      ...(flagged.has(`${d.condition} ${d.site.net}`) ? { drawing: true } : {}),
    });
  }
  for (const d of baseline.learntOnly) {
    const twin = baseline.twinAt(d.condition, d.site);
    if (twin === undefined) continue;
    const sigma = Math.hypot(learntSigma(twin), Math.sqrt(d.variance));
    list.push({ ...departure(d.reading.condition, d.reading.point, d.value, twin, sigma), twin });
  }
  return list.sort((a, b) => Math.abs(b.z) - Math.abs(a.z));
}

/** Likewise of waveforms; the sound circuit is followed only where there are readings of one. */
function runningDepartures(
  machine: Machine,
  unit: string,
  ambient: number,
  { sites }: Pick<Baseline, 'sites'>,
): Departure[] {
  const siteOf = (point: string): Site | undefined => sites.get(point);
  const read = new Set(runningData(machine, unit, siteOf).map(({ reading }) => reading.condition));
  if (read.size === 0) return [];
  const { machine: wanted, waves } = soundWaves(machine, read, ambient, () => ({
    count: 0,
    fault: undefined,
  }));
  const table = FaultTable.soundOnly(wanted, wanted.conditions, [], waves);
  const { learnt } = flowOf(machine);
  const running = new RunningReadings(wanted, table, unit, siteOf, {
    ...{ volts: 1, unknownRate: 0 },
    learnt: (net) => learnt.has(net),
  });
  const known = running
    .departures()
    .map(({ datum: { reading, quantity, value, twin }, expected: { mean, sigma } }) => ({
      ...departure(reading.condition, reading.point, value, mean, sigma, quantity),
      ...(twin && { twin: twin.value }),
    }));
  const others = [...running.others, ...running.aside].flatMap(
    ({ reading, quantity, value, variance, twin }): Departure[] => {
      if (twin === undefined) return [];
      const sigma = Math.hypot(learntSpread(quantity, twin.value), Math.sqrt(variance + twin.variance));
      const { condition, point } = reading;
      return [{ ...departure(condition, point, value, twin.value, sigma, quantity), twin: twin.value }];
    },
  );
  return [...known, ...others];
}

function departure(
  condition: string,
  point: string,
  value: number,
  expected: number,
  sigma: number,
  quantity = 'V',
): Departure {
  return { condition, point, quantity, value, expected, sigma, z: (value - expected) / sigma };
}

function twinOf(baseline: Baseline, condition: number, point: string): { twin?: number } {
  const list = baseline.twin.get(`${condition} ${point}`);
  if (!list || list.length === 0) return {};
  return { twin: list.reduce((sum, d) => sum + d.value, 0) / list.length };
}
