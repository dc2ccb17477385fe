/**
 * Operating points of three stages, sound and under every fault, against values computed by an independent route.
 *
 * data/stage_inverter.csv, stage_flip_flop.csv, stage_common_emitter.csv: node equations written by hand for each
 * circuit, solved by scipy's optimize.root (hybrid Powell) and then by Newton's method in 50-digit arithmetic (mpmath).
 * Circuits and parameters are invented; the values check arithmetic, not nature. Leakage rows depend on the law of the
 * leakage: they allow the spread between three laws that each row states.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { CircuitSolver, type Edit, netlistOf, type OperatingPoint } from '../../src/circuit/index.ts';
import { faultsOfMode } from '../../src/faults/index.ts';
import type { Condition, DeviceType, Machine, Part, PartKind } from '../../src/machine/index.ts';

const VT = 0.02569258;

function part(ref: string, kind: PartKind, value: number | undefined, pins: string, type = ''): Part {
  return {
    board: 'B',
    ref,
    name: `B/${ref}`,
    kind,
    type,
    ...(value === undefined ? {} : { value }),
    tolerance: 5,
    note: '',
    pins: pins.split(' ').map((p) => ({ pin: p.split('=')[0]!, net: p.split('=')[1]! })),
  };
}

function stage(
  rails: Record<string, number>,
  parts: Part[],
  conditions: Condition[],
  leakage: number,
): Machine {
  const is = 60e-9;
  const type: DeviceType = {
    type: 'T',
    kind: 'transistor',
    polarity: 'pnp',
    material: 'ge',
    vj: 0.3,
    ij: is * Math.expm1(0.3 / VT),
    hfeTyp: 60,
    icbo: leakage + (leakage > 0 ? is * (1 / 8 + 1 / 61) : 0),
    rs: 0,
    n: VT / 0.02569257912,
    source: 'invented for the check',
  };
  return {
    name: 'stage',
    summary: '',
    reference: '0V',
    ambient: 25,
    rails: Object.entries(rails).map(([net, volts]) => ({ net, volts, tolerance: 1 })),
    units: [],
    instruments: [],
    parts,
    types: new Map([['T', type]]),
    conditions,
    points: [],
    readings: [],
    flow: [],
  };
}

const inverter = (leak: number): Machine =>
  stage(
    { '-12V': -12, '+6V': 6 },
    [
      part('Q', 'transistor', undefined, 'e=0V b=B c=C', 'T'),
      part('RB', 'resistor', 27e3, '1=IN 2=B'),
      part('RBB', 'resistor', 120e3, '1=B 2=+6V'),
      part('RC', 'resistor', 2.2e3, '1=C 2=-12V'),
      part('RL', 'resistor', 22e3, '1=C 2=0V'),
    ],
    [-12, 0].map((volts) => ({ name: String(volts), drives: [{ net: 'IN', volts, ohms: 0 }], hints: [] })),
    leak,
  );

const flipFlop = (leak: number): Machine =>
  stage(
    { '-12V': -12, '+6V': 6 },
    [
      part('Q1', 'transistor', undefined, 'e=0V b=B1 c=C1', 'T'),
      part('Q2', 'transistor', undefined, 'e=0V b=B2 c=C2', 'T'),
      part('RC1', 'resistor', 2.2e3, '1=C1 2=-12V'),
      part('RC2', 'resistor', 2.2e3, '1=C2 2=-12V'),
      part('RX1', 'resistor', 15e3, '1=B1 2=C2'),
      part('RX2', 'resistor', 15e3, '1=B2 2=C1'),
      part('RK1', 'resistor', 100e3, '1=B1 2=+6V'),
      part('RK2', 'resistor', 100e3, '1=B2 2=+6V'),
    ],
    [
      { name: 'Q1 on', drives: [], hints: hints(0, -10.5) },
      { name: 'Q2 on', drives: [], hints: hints(-10.5, 0) },
    ],
    leak,
  );
function hints(c1: number, c2: number): Condition['hints'] {
  return [
    { net: 'C1', volts: c1 },
    { net: 'C2', volts: c2 },
  ];
}

const emitterStage = (leak: number): Machine =>
  stage(
    { '-9V': -9 },
    [
      part('Q', 'transistor', undefined, 'e=E b=B c=C', 'T'),
      part('R1', 'resistor', 47e3, '1=B 2=-9V'),
      part('R2', 'resistor', 10e3, '1=B 2=0V'),
      part('RC', 'resistor', 3.3e3, '1=C 2=-9V'),
      part('RE', 'resistor', 1e3, '1=E 2=0V'),
      part('CE', 'capacitor', 1e-7, '1=E 2=0V'),
    ],
    [{ name: 'rest', drives: [], hints: [] }],
    leak,
  );

/** The fault edits of the reference: its resistances are exact, ours are the middle of a grade, so they are set here. */
function referenceEdit(machine: Machine, solver: CircuitSolver, fault: string): Edit | undefined {
  const edit = faultEdit(machine, solver, fault);
  // The reference's capacitor carries nothing at DC; ours would leak through 10 Gohm.
  const ce = solver.netlist.elementsOf.get('B/CE')?.conductances[0];
  if (ce === undefined) return edit;
  return { ...edit, conductance: [...(edit?.conductance ?? []), { element: ce, siemens: 0 }] };
}

function faultEdit(machine: Machine, solver: CircuitSolver, fault: string): Edit | undefined {
  if (fault === 'sound') return undefined;
  const { netlist } = solver;
  const words = fault.split(' ');
  const named = words.length === 2;
  const q = machine.parts.find((p) => p.kind === 'transistor')!;
  const p = named ? machine.parts.find((x) => x.ref === words[0])! : q;
  const mode = named ? words[1]! : fault;
  const element = netlist.elementsOf.get(p.name)!.conductances[0]!;
  if (p.kind === 'resistor') {
    const g = netlist.conductances[element]!.siemens;
    return { conductance: [{ element, siemens: mode === 'open' ? 0 : mode === 'high' ? g / 2 : 1 }] };
  }
  if (mode === 'low-gain') return { gain: [{ transistor: 0, factor: 8 / 60 }] };
  const edit = faultsOfMode(netlist, p, mode)[0]!.edit;
  const siemens = mode.startsWith('short')
    ? 1
    : mode === 'leaky-bc'
      ? 1e-4
      : mode === 'leaky-ce'
        ? 1 / 2200
        : 1e-3;
  return edit.bridge ? { bridge: [{ ...edit.bridge[0]!, siemens }] } : edit;
}

function rows(file: string): Record<string, string>[] {
  const [head, ...lines] = readFileSync(new URL(`./data/${file}`, import.meta.url), 'utf8')
    .trim()
    .split('\n');
  const names = head!.split(',');
  return lines.map((line) => Object.fromEntries(line.split(',').map((cell, i) => [names[i]!, cell])));
}

interface Case {
  readonly title: string;
  readonly point: OperatingPoint;
  readonly expected: Record<string, number>;
  readonly allowed: number;
  readonly solver: CircuitSolver;
}

function cases(
  file: string,
  machineOf: (leak: number) => Machine,
  conditionOf: (row: Record<string, string>) => string,
): Case[] {
  const solvers = new Map<string, { machine: Machine; solver: CircuitSolver }>();
  return rows(file)
    .filter((row) => row.state !== 'unstable')
    .map((row) => {
      let found = solvers.get(row.leakage_a!);
      if (!found) {
        const machine = machineOf(Number(row.leakage_a));
        found = { machine, solver: new CircuitSolver(netlistOf(machine)) };
        solvers.set(row.leakage_a!, found);
      }
      const { machine, solver } = found;
      const condition = machine.conditions.find((c) => c.name === conditionOf(row))!;
      const edit = referenceEdit(machine, solver, row.fault!);
      const point = solver.solve(condition, edit ? { edit } : {});
      const expected: Record<string, number> = {};
      for (const [key, cell] of Object.entries(row))
        if (key.endsWith('_v') && key !== 'input_v' && !key.startsWith('leakage'))
          expected[key.slice(0, -2)] = Number(cell);
      return {
        title: `${row.fault}, leakage ${row.leakage_a} A, ${conditionOf(row)}`,
        point,
        expected,
        allowed: row.leakage_a === '0' ? 1e-6 : 1e-6 + 1.2 * Number(row.leakage_law_spread_v || 0),
        solver,
      };
    });
}

for (const [file, machineOf, conditionOf] of [
  ['stage_inverter.csv', inverter, (r: Record<string, string>) => r.input_v!],
  ['stage_common_emitter.csv', emitterStage, () => 'rest'],
  ['stage_flip_flop.csv', flipFlop, (r: Record<string, string>) => r.state!],
] as const) {
  describe(file, () => {
    test.each(cases(file, machineOf, conditionOf))('$title', ({ point, expected, allowed, solver }) => {
      expect(point.converged).toBe(true);
      expect(point.stable).toBe(true);
      for (const [net, volts] of Object.entries(expected))
        expect(Math.abs(point.volts[solver.netlist.netIndex.get(net)!]! - volts), net).toBeLessThanOrEqual(
          allowed,
        );
    });
  });
}

test('a state that a fault has destroyed is reported as not held', () => {
  const machine = flipFlop(0);
  const solver = new CircuitSolver(netlistOf(machine));
  const only = rows('stage_flip_flop.csv').filter((r) => r.leakage_a === '0' && r.stable_states === '1');
  expect(only.length).toBeGreaterThan(8);
  for (const row of only) {
    const edit = referenceEdit(machine, solver, row.fault!)!;
    const other = machine.conditions.find((c) => c.name !== row.state)!;
    const point = solver.solve(other, { edit });
    expect(point.converged, row.fault).toBe(true);
    expect(point.stateHeld, row.fault).toBe(false);
  }
});
