/**
 * Kirchhoff's current law at every net of random circuits, against currents worked out from the parts list
 * (`circuit-balance.ts`).
 *
 * @source G. Kirchhoff, Annalen der Physik 140 (1845) 497-514 (from memory)
 */
import fc from 'fast-check';
import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { trialBoard } from '../../bench/accuracy/boards/index.ts';
import { CircuitSolver, netlistOf, type OperatingPoint } from '../../src/circuit/index.ts';
import { faultHypotheses } from '../../src/faults/index.ts';
import { imbalances, worstBalance } from './circuit-balance.ts';
import { anyNetwork, logicBoard } from './circuit-networks.ts';

const count = <T>(runs: number, arbitrary: fc.Arbitrary<T>): T[] =>
  fc.sample(arbitrary, { seed: 1845, numRuns: runs });

describe('random circuits of any topology', () => {
  test.each([
    { parts: 4, runs: 300, most: 0 },
    { parts: 25, runs: 150, most: 2 },
    { parts: 80, runs: 60, most: 3 },
  ])('of up to $parts parts balance at every net, or say where they do not', ({ parts, runs, most }) => {
    let without = 0;
    let aided = 0;
    fc.assert(
      fc.property(anyNetwork(parts), (machine) => {
        const solver = new CircuitSolver(netlistOf(machine));
        const condition = machine.conditions[0]!;
        const point = solver.solve(condition);
        if (point.aid !== 'none') aided++;
        if (!point.converged) {
          without++;
          expect(point.worst.length).toBeGreaterThan(0);
          for (const w of point.worst)
            expect(
              machine.parts.some((p) => p.pins.some((x) => x.net === w.net) || w.net === `${p.name}:c`),
            ).toBe(true);
          return;
        }
        expect(point.worst).toEqual([]);
        expect(worstBalance(imbalances(solver.netlist, condition, point)).ratio).toBeLessThan(1);
      }),
      { seed: 1845, numRuns: runs },
    );
    expect(without).toBeLessThanOrEqual(most);
    expect(aided).toBeLessThan(0.05 * runs);
  });

  test('balance with a fault planted at random, and at another temperature', () => {
    let without = 0;
    let solved = 0;
    for (const machine of count(45, anyNetwork(20))) {
      const solver = new CircuitSolver(netlistOf(machine));
      const condition = machine.conditions[0]!;
      const faults = faultHypotheses(solver.netlist).flatMap((h) => h.faults);
      faults.forEach(({ edit, part, mode }, i) => {
        if (i % 7 !== machine.parts.length % 7) return;
        const celsius = 5 + (i % 5) * 10;
        solver.setParts(undefined, celsius);
        const point = solver.solve(condition, { edit });
        solved++;
        if (!point.converged) {
          without++;
          return;
        }
        const worst = worstBalance(imbalances(solver.netlist, condition, point, edit, celsius));
        expect(worst.ratio, `${part} ${mode} at ${worst.net}`).toBeLessThan(1);
      });
    }
    expect(solved).toBeGreaterThan(700);
    expect(without).toBeLessThan(0.01 * solved);
  });
});

describe('logic boards', () => {
  const held = (solver: CircuitSolver, point: OperatingPoint): boolean => {
    expect(point.converged).toBe(true);
    expect(point.stable).toBe(true);
    const { machine } = solver.netlist;
    // The two halves of every pair stand apart.
    return machine.conditions[0]!.hints.every(({ net }) => {
      const partner = net.endsWith('n') ? net.slice(0, -1) : `${net}n`;
      const volts = (n: string): number => point.volts[solver.netlist.netIndex.get(n)!]!;
      return Math.abs(volts(net) - volts(partner)) > 1.5;
    });
  };

  test('always converge from a cold start, with every pair in its hinted state', () => {
    fc.assert(
      fc.property(logicBoard(40), (machine) => {
        const solver = new CircuitSolver(netlistOf(machine));
        const condition = machine.conditions[0]!;
        const point = solver.solve(condition);
        expect(held(solver, point)).toBe(true);
        expect(point.stateHeld).toBe(true);
        expect(worstBalance(imbalances(solver.netlist, condition, point)).ratio).toBeLessThan(1);
      }),
      { seed: 1845, numRuns: 60 },
    );
  });

  test('always converge from a cold start without hints, and no pair stays on its balance point', () => {
    let apart = 0;
    const boards = count(60, logicBoard(30));
    for (const machine of boards) {
      const solver = new CircuitSolver(netlistOf(machine));
      const condition = machine.conditions[1]!;
      const point = solver.solve(condition);
      if (held(solver, point)) apart++;
      expect(worstBalance(imbalances(solver.netlist, condition, point)).ratio).toBeLessThan(1);
    }
    expect(apart).toBe(boards.length);
  });

  test('with a fault read the same from a start at the sound point as from a cold start, where the state is held', () => {
    let solved = 0;
    let differ = 0;
    for (const machine of count(15, logicBoard(25))) {
      const solver = new CircuitSolver(netlistOf(machine));
      const condition = machine.conditions[0]!;
      const start = solver.solve(condition).volts;
      const faults = faultHypotheses(solver.netlist).flatMap((h) => h.faults);
      for (let i = machine.parts.length % 31; i < faults.length; i += 31) {
        const { edit, part, mode, severity } = faults[i]!;
        const name = `${part} ${mode} ${severity}`;
        const [warm, cold] = [solver.solve(condition, { edit, start }), solver.solve(condition, { edit })];
        solved++;
        for (const point of [warm, cold]) {
          expect(point.converged, name).toBe(true);
          expect(point.stable, name).toBe(true);
        }
        expect(worstBalance(imbalances(solver.netlist, condition, warm, edit)).ratio, name).toBeLessThan(1);
        const apart = Math.max(...warm.volts.map((v, k) => Math.abs(v - cold.volts[k]!)));
        if (apart > 1e-3) differ++;
        if (warm.stateHeld && cold.stateHeld) expect(apart, name).toBeLessThan(1e-3);
      }
    }
    expect(solved).toBeGreaterThan(400);
    // A fault that destroys a state may leave two others to fall into.
    expect(differ).toBeLessThan(0.01 * solved);
  });

  test('read in the accuracy of a fault table within 20 mV of the fine one, and mostly within a tenth of a millivolt', () => {
    const apart: number[] = [];
    for (const machine of count(8, logicBoard(15))) {
      const solver = new CircuitSolver(netlistOf(machine));
      const condition = machine.conditions[0]!;
      const start = solver.solve(condition).volts;
      const faults = faultHypotheses(solver.netlist).flatMap((h) => h.faults);
      for (let i = 0; i < faults.length; i += 23) {
        const { edit } = faults[i]!;
        const fine = solver.solve(condition, { edit, start });
        // On the whole network, and on the neighbourhood of the fault.
        for (const sound of [undefined, start]) {
          const quick = solver.solve(condition, { edit, start, accuracy: 'table', ...(sound && { sound }) });
          expect(quick.stateHeld).toBe(fine.stateHeld);
          apart.push(Math.max(...fine.volts.map((v, k) => Math.abs(v - quick.volts[k]!))));
        }
      }
    }
    apart.sort((a, b) => a - b);
    expect(apart.length).toBeGreaterThan(300);
    expect(apart.at(-1)).toBeLessThan(0.02);
    expect(apart[Math.floor(0.9 * apart.length)]).toBeLessThan(1e-4);
  });

  test('are found in states that a small disturbance dies away from', () => {
    // With equal capacitors from every net to ground the disturbance follows -J: no eigenvalue of J may be negative.
    for (const machine of count(25, logicBoard(6))) {
      const solver = new CircuitSolver(netlistOf(machine));
      for (const condition of machine.conditions) {
        const point = solver.solve(condition);
        const balance = (volts: Float64Array): Map<string, number> =>
          new Map(
            imbalances(solver.netlist, condition, { ...point, volts }).map(({ net, amperes }) => [
              net,
              amperes,
            ]),
          );
        const unknown = [...balance(point.volts).keys()];
        const jacobian = new Matrix(unknown.length, unknown.length);
        unknown.forEach((net, column) => {
          const [up, down] = [1e-6, -1e-6].map((step) => {
            const volts = point.volts.slice();
            volts[solver.netlist.netIndex.get(net)!]! += step;
            return balance(volts);
          });
          unknown.forEach((row, k) => {
            jacobian.set(k, column, (up!.get(row)! - down!.get(row)!) / 2e-6);
          });
        });
        const { realEigenvalues } = new EigenvalueDecomposition(jacobian);
        expect(Math.min(...realEigenvalues)).toBeGreaterThan(-1e-9);
      }
    }
  });
});

// Regulators, emitter-coupled logic, relay drivers, a counter: loops of high gain among them.
test.each(['PSU', 'REG', 'CML', 'RLY', 'CNT'])(
  'every fault of trial board %s has an operating point that holds, in the accuracy of a fault table',
  (name) => {
    const { machine } = trialBoard(name);
    const solver = new CircuitSolver(netlistOf(machine));
    const condition = machine.conditions[0]!;
    const start = solver.solve(condition).volts;
    for (const { edit, part, mode, severity } of faultHypotheses(solver.netlist).flatMap((h) => h.faults)) {
      for (const sound of [undefined, start]) {
        const point = solver.solve(condition, { edit, start, accuracy: 'table', ...(sound && { sound }) });
        expect(point.converged && point.stable, `${part} ${mode} ${severity}`).toBe(true);
      }
    }
  },
);
