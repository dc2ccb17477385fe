/**
 * Sensitivities by the adjoint against central differences of full solves, and the uncertainty of a divider worked
 * by the law of propagation.
 *
 * @source diagnosis_examples.md section 8: JCGM 100:2008 (GUM), clause 5.1.2; numbers computed there
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { CircuitSolver, type Edit, netlistOf, type SeverityElement } from '../../src/circuit/index.ts';
import { sampleCondition, sampleMachine } from '../../src/circuit/sample-machine.ts';
import { type Fault, faultHypotheses } from '../../src/faults/index.ts';
import type { Condition, Machine } from '../../src/machine/index.ts';
import { anyNetwork, logicBoard } from './circuit-networks.ts';

const STEP = 0.005;

/** The edit with its severity moved by `deviation` spreads. */
function graded(edit: Edit, grade: SeverityElement, deviation: number): Edit {
  const factor = Math.exp(deviation * grade.spread);
  switch (grade.kind) {
    case 'bridge':
      return { ...edit, bridge: edit.bridge!.map((b) => ({ ...b, siemens: b.siemens * factor })) };
    case 'gain':
      return { ...edit, gain: edit.gain!.map((g) => ({ ...g, factor: g.factor * factor })) };
    case 'conductance':
      return { ...edit, conductance: edit.conductance!.map((c) => ({ ...c, siemens: c.siemens * factor })) };
  }
}

/** Parameters and grades whose sensitivities were compared, by kind. */
function compared(machine: Machine, celsius: number, faultStep: number): Set<string> {
  const done = new Set<string>();
  const solver = new CircuitSolver(netlistOf(machine));
  const { parameters, nets } = solver.netlist;
  const condition = machine.conditions[0]!;
  const faults = faultHypotheses(solver.netlist)
    .flatMap((h) => h.faults)
    .filter((_, i) => i % faultStep === machine.parts.length % faultStep);
  for (const fault of [undefined, ...faults] as (Fault | undefined)[]) {
    const edit = fault?.edit ?? {};
    const name = fault ? `${fault.part} ${fault.mode} ${fault.severity}` : 'sound';
    solver.setParts(undefined, celsius);
    const point = solver.solve(condition, { edit });
    if (!point.converged || !point.stable) continue;
    const wanted = nets.map((_, i) => i).filter((i) => Number.isFinite(point.volts[i]!));
    const found = solver.sensitivities(condition, point.volts, wanted, edit, fault?.grade);
    const difference = (at: (side: number) => Float64Array): ((net: number) => number) => {
      const [up, down] = [at(STEP), at(-STEP)];
      return (net) => (up[net]! - down[net]!) / (2 * STEP);
    };
    const check = (what: string, slope: (net: number) => number, adjoint: (w: number) => number): void => {
      wanted.forEach((net, w) => {
        const expected = slope(net);
        if (Math.abs(adjoint(w) - expected) > 2e-4 + 5e-3 * Math.abs(expected))
          expect.fail(`${what} at ${nets[net]}, ${name}: adjoint ${adjoint(w)}, difference ${expected}`);
      });
    };
    parameters.forEach((p, k) => {
      const deviations = new Float64Array(parameters.length);
      const slope = difference((side) => {
        deviations[k] = side;
        solver.setParts(deviations, celsius);
        return solver.solve(condition, { edit, start: point.volts }).volts;
      });
      check(`${p.kind} of ${p.owner}`, slope, (w) => found.byParameter[w * parameters.length + k]!);
      done.add(p.kind);
    });
    if (fault?.grade) {
      const { grade } = fault;
      solver.setParts(undefined, celsius);
      const slope = difference(
        (side) => solver.solve(condition, { edit: graded(edit, grade, side), start: point.volts }).volts,
      );
      check('grade', slope, (w) => found.byGrade[w]!);
      done.add(`grade: ${grade.kind}`);
    }
  }
  return done;
}

describe('sensitivities', () => {
  test('by every kind of parameter and of severity are those of full solves, sound and under faults', () => {
    const done = new Set<string>();
    for (const machine of fc.sample(logicBoard(5), { seed: 1969, numRuns: 5 }))
      for (const kind of compared(machine, 30, 23)) done.add(kind);
    for (const machine of fc.sample(anyNetwork(16), { seed: 1969, numRuns: 16 }))
      for (const kind of compared(machine, 15, 17)) done.add(kind);
    expect([...done].sort()).toEqual([
      'celsius',
      'drive',
      'gain',
      'grade: bridge',
      'grade: conductance',
      'grade: gain',
      'leakage',
      'ohms',
      'rail',
      'saturation',
      'setting',
      'zener',
    ]);
  });

  test('by a rail that the condition drives at another voltage are nothing', () => {
    const machine = sampleMachine(
      { '-12V': -12 },
      ['R1 1k 1=-12V 2=A', 'R2 1k 1=A 2=0V'],
      [sampleCondition('rail down', { '-12V': -1 })],
    );
    const solver = new CircuitSolver(netlistOf(machine));
    const condition = machine.conditions[0]!;
    const point = solver.solve(condition);
    const net = solver.netlist.netIndex.get('A')!;
    const rail = solver.netlist.parameters.findIndex((p) => p.kind === 'rail');
    expect(point.volts[net]).toBeCloseTo(-0.5, 6);
    expect(solver.sensitivities(condition, point.volts, [net]).byParameter[rail]).toBe(0);
  });

  test('the source resistance is what a small probe current finds', () => {
    for (const machine of fc.sample(logicBoard(6), { seed: 7, numRuns: 6 })) {
      const solver = new CircuitSolver(netlistOf(machine));
      const condition = machine.conditions[0]!;
      const point = solver.solve(condition);
      const unknown = solver.structure(condition).unknown;
      const wanted = [...point.volts.keys()].filter((i) => unknown[i]! >= 0);
      const { ohms } = solver.sensitivities(condition, point.volts, wanted);
      wanted.forEach((net, w) => {
        // A millivolt or so, from a source of ten thousand times the resistance.
        const series = 1e4 * ohms[w]!;
        const probed: Condition = {
          ...condition,
          drives: [
            ...condition.drives,
            { net: solver.netlist.nets[net]!, volts: point.volts[net]! + 5, ohms: series },
          ],
        };
        const moved = solver.solve(probed, { start: point.volts }).volts[net]! - point.volts[net]!;
        const found = (moved * series) / (5 - moved);
        expect(Math.abs(found / ohms[w]! - 1), solver.netlist.nets[net]).toBeLessThan(0.02);
      });
    }
  });
});

test('the uncertainty of a divider is that of the worked example of the GUM law', () => {
  // -12 V within 5 %, 10 kohm and 4.7 kohm within 10 %, all rectangular.
  const machine = sampleMachine({ '-12V': -12 }, ['R1 10k 1=-12V 2=X', 'R2 4.7k 1=X 2=0V']);
  const solver = new CircuitSolver(netlistOf(machine));
  const condition = machine.conditions[0]!;
  const point = solver.solve(condition);
  const net = solver.netlist.netIndex.get('X')!;
  const { byParameter } = solver.sensitivities(condition, point.volts, [net]);
  expect(point.volts[net]).toBeCloseTo(-3.836735, 6);
  const standard: Record<string, number> = {
    '-12V': 0.6 / Math.sqrt(3),
    'B/R1': 0.1 / Math.sqrt(3),
    'B/R2': 0.1 / Math.sqrt(3),
  };
  const contribution = (owner: string): number => {
    const k = solver.netlist.parameters.findIndex((p) => p.owner === owner);
    return Math.abs((byParameter[k]! / solver.netlist.parameters[k]!.spread) * standard[owner]!);
  };
  expect(contribution('-12V')).toBeCloseTo(0.110757, 6);
  expect(contribution('B/R1')).toBeCloseTo(0.15069, 6);
  expect(contribution('B/R2')).toBeCloseTo(0.15069, 6);
  expect(Math.hypot(...Object.keys(standard).map(contribution))).toBeCloseTo(0.240171, 6);
});
