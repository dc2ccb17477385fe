/**
 * One thing that may be wrong with the unit: a fault at one severity, or two faults together. Sound is the case with none.
 */
import { type CircuitSolver, type Edit, joinedEdits, type SeverityElement } from '../circuit/index.ts';
import type { Fault } from '../faults/index.ts';
import type { FaultTable } from './table.ts';

export interface Case {
  /** Numbers of the faults in the table: none (sound), one, or two. */
  readonly faults: readonly number[];
  readonly logPrior: number;
  /** Net voltages of a double fault by condition, solved when first asked. */
  readonly solved?: SolvedPair;
}

/** By condition; undefined where no operating point was found. */
export type SolvedPair = Map<number, { volts: Float64Array; pins: Map<string, number> } | undefined>;

/** The fault's edit with its severity moved by `deviation` of its spread. */
function gradedEdit(fault: Fault, deviation: number): Edit {
  const { grade, edit } = fault;
  if (!grade || deviation === 0) return edit;
  const factor = Math.exp(deviation * grade.spread);
  switch (grade.kind) {
    case 'conductance':
      return {
        ...edit,
        conductance: edit.conductance!.map((c) =>
          c.element === grade.element ? { ...c, siemens: c.siemens * factor } : c,
        ),
      };
    case 'bridge':
      return {
        ...edit,
        bridge: edit.bridge!.map((b, i) => (i === grade.index ? { ...b, siemens: b.siemens * factor } : b)),
      };
    case 'gain':
      return {
        ...edit,
        gain: edit.gain!.map((g) =>
          g.transistor === grade.transistor ? { ...g, factor: g.factor * factor } : g,
        ),
      };
  }
}

/** What a graded fault's severity deviates from: siemens or a factor of the gain. NaN without grades. */
function strengthOf({ edit, grade }: Fault): number {
  switch (grade?.kind) {
    case 'conductance':
      return edit.conductance!.find((c) => c.element === grade.element)!.siemens;
    case 'bridge':
      return edit.bridge![grade.index]!.siemens;
    case 'gain':
      return edit.gain!.find((g) => g.transistor === grade.transistor)!.factor;
    default:
      return Number.NaN;
  }
}

/** Numbers of the other severities of a fault's mode in the table that lie on that side of it. */
export function severitiesBeyond(table: FaultTable, fault: number, side: number): readonly number[] {
  const { hypothesis, fault: own } = table.faults[fault]!;
  const strength = strengthOf(own);
  const beyond: number[] = [];
  for (const step of [-1, 1])
    for (let k = fault + step; table.faults[k]?.hypothesis === hypothesis; k += step)
      if ((strengthOf(table.faults[k]!.fault) - strength) * side > 0) beyond.push(k);
  return beyond;
}

/** The edit of a case; the deviation moves the severity of its first fault. */
export function editOf(table: FaultTable, item: Case, deviation: number): Edit | undefined {
  const [first, second] = item.faults;
  if (first === undefined) return undefined;
  const edit = gradedEdit(table.faults[first]!.fault, deviation);
  return second === undefined ? edit : joinedEdits(edit, table.faults[second]!.fault.edit);
}

/** The severity that the case's Gaussian may move: that of its first fault. */
export function gradeOf(table: FaultTable, item: Case): SeverityElement | undefined {
  return item.faults.length > 0 ? table.faults[item.faults[0]!]!.fault.grade : undefined;
}

/** All net voltages of a case in a condition, at nominal parts and the table's temperature; undefined without an operating point. */
export function caseVolts(
  table: FaultTable,
  solver: CircuitSolver,
  item: Case,
  condition: number,
): Float64Array | undefined {
  const sound = table.sound[condition]!;
  if (!sound.converged) return undefined;
  const [first, second] = item.faults;
  if (first === undefined) return sound.volts;
  if (second === undefined) {
    if (!table.known(first, condition)) return undefined;
    const volts = sound.volts.slice();
    table.moved(first, condition, (net, v) => {
      volts[net] = v;
    });
    return volts;
  }
  return solvedPair(table, solver, item, condition)?.volts;
}

/** Volts at a point under a case; NaN without an operating point. */
export function pointVolts(
  table: FaultTable,
  solver: CircuitSolver,
  item: Case,
  condition: number,
  site: { readonly point: string; readonly net: number; readonly pin: boolean },
): number {
  const [first, second] = item.faults;
  if (first === undefined) return table.sound[condition]!.volts[site.net]!;
  if (second === undefined) {
    if (!table.known(first, condition)) return Number.NaN;
    if (site.pin && table.faults[first]!.fault.pin?.point === site.point) return table.pin(first, condition);
    return table.volts(first, condition, site.net);
  }
  const solved = solvedPair(table, solver, item, condition);
  if (!solved) return Number.NaN;
  return solved.pins.get(site.point) ?? solved.volts[site.net]!;
}

function solvedPair(
  table: FaultTable,
  solver: CircuitSolver,
  item: Case,
  condition: number,
): { volts: Float64Array; pins: Map<string, number> } | undefined {
  const cache = item.solved!;
  if (cache.has(condition)) return cache.get(condition);
  const [first, second] = item.faults as [number, number];
  const moves = (fault: number): boolean => {
    let any = false;
    table.moved(fault, condition, () => {
      any = true;
    });
    return any || !table.known(fault, condition) || Number.isFinite(table.pin(fault, condition));
  };
  const a = table.faults[first]!.fault;
  const b = table.faults[second]!.fault;
  const start =
    caseVolts(table, solver, { faults: [first], logPrior: 0 }, condition) ?? table.sound[condition]!.volts;
  // Deviations of nothing, and not none: the solver then begins anew. Devices would else keep stamps of what was solved before, and
  // the answer would depend on it, if by less than the table's accuracy.
  solver.setParts(new Float64Array(table.netlist.parameters.length), table.ambient);
  const pins = new Map<string, number>();
  let volts: Float64Array | undefined;
  if (!moves(second)) volts = start;
  else {
    const point = solver.solve(table.conditions[condition]!, {
      edit: joinedEdits(a.edit, b.edit),
      start,
      stateLost: table.known(first, condition) && table.stateLost(first, condition),
      accuracy: 'table',
    });
    if (point.converged) volts = point.volts;
  }
  // The pin of a transistor's open joint: the other fault is taken as far away, which is exact unless both sit on one stage.
  for (const [fault, f] of [
    [first, a],
    [second, b],
  ] as const)
    if (f.pin && volts) {
      const own = table.pin(fault, condition);
      pins.set(f.pin.point, f.edit.open ? own : f.pin.volts(volts, 1e-7, [], table.ambient));
    }
  const result = volts ? { volts, pins } : undefined;
  cache.set(condition, result);
  return result;
}
