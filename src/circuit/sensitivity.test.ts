import { describe, expect, it } from 'vitest';
import { type Edit, netlistOf } from './index.ts';
import { CircuitSolver } from './operating-point.ts';
import { sampleCondition, sampleMachine } from './sample-machine.ts';

describe('sensitivities where the pivots on the diagonal fail', () => {
  // A milliohm is a thousand siemens: beside them the least conductance to the reference is lost in rounding.
  const machine = sampleMachine({ '-12V': -12 }, [
    'R1 1m 1=X 2=Y',
    'R2 1m 1=X 2=0V',
    'R3 1k 1=Y 2=0V',
    'R4 1k 1=Y 2=-12V',
    'R5 1k 1=Y 2=Z',
    'R6 1k 1=Z 2=0V',
  ]);
  const solver = new CircuitSolver(netlistOf(machine));
  const { netIndex, elementsOf } = solver.netlist;
  const rest = machine.conditions[0]!;
  const wanted = ['X', 'Y', 'Z'].map((net) => netIndex.get(net)!);
  const set = (...conductances: readonly (readonly [part: string, siemens: number])[]): Edit => ({
    conductance: conductances.map(([part, siemens]) => ({
      element: elementsOf.get(`B/${part}`)!.conductances[0]!,
      siemens,
    })),
  });

  it('come from a factorisation with pivoting', () => {
    // R2 takes away at X just what R1 brings: the diagonal entry is zero, the matrix is regular.
    const edit = set(['R2', -1000]);
    const { volts } = solver.solve(rest, { edit });
    const { ohms } = solver.sensitivities(rest, volts, wanted, edit);
    // Row X says that Y is at 0 V; X brings by R1 what R4, R3 and R5 take from Y.
    expect(volts[wanted[1]!]).toBeCloseTo(0, 9);
    expect(volts[wanted[0]!]).toBeCloseTo(12e-6, 12);
    // An ampere into Y leaves it at 0 V; into Z it meets R5 and R6 side by side.
    expect(ohms[1]).toBeCloseTo(0, 9);
    expect(ohms[2]).toBeCloseTo(500, 6);
  });

  it('are no numbers at a singular point', () => {
    const edit = set(['R2', 0], ['R3', 0], ['R4', 0], ['R5', 0]);
    const volts = new Float64Array(solver.netlist.nets.length);
    const { ohms, byParameter, byGrade } = solver.sensitivities(rest, volts, wanted, edit);
    expect([...ohms, ...byParameter, ...byGrade].every(Number.isNaN)).toBe(true);
  });
});

describe('a transistor with two open terminals', () => {
  const machine = sampleMachine({ '-12V': -12 }, [
    'R1 10k 1=IN 2=B',
    'R2 2.2k 1=C 2=-12V',
    'R3 470 1=E 2=0V',
    'Q1 GP e=E b=B c=C',
    'R4 10k 1=C 2=B2',
    'R5 2.2k 1=C2 2=-12V',
    'Q2 GP e=0V b=B2 c=C2',
  ]);
  const solver = new CircuitSolver(netlistOf(machine));
  const { netlist } = solver;
  const drive = sampleCondition('drive', { IN: -6 });
  const net = (name: string) => netlist.netIndex.get(name)!;
  const transistor = netlist.elementsOf.get('B/Q1')!.transistor;
  const open = (...terminals: readonly number[]): Edit => ({
    open: terminals.map((terminal) => ({ transistor, terminal, siemens: 0 })),
  });
  const sound = solver.solve(drive).volts;
  const PAIRS = [
    [0, 1],
    [1, 2],
    [2, 0],
    [1, 0],
  ] as const;
  /** The same board without the transistor. */
  const without = new CircuitSolver(
    netlistOf({ ...machine, parts: machine.parts.filter((p) => p.ref !== 'Q1') }),
  );
  const bare = without.solve(drive);

  it.each(PAIRS)('%i and %i carries nothing, by either way to solve it', (one, two) => {
    const edit = open(one, two);
    const whole = solver.solve(drive, { edit });
    const near = solver.solve(drive, { edit, start: sound, sound, accuracy: 'table' });
    for (const point of [whole, near]) {
      expect(point.converged && point.stable).toBe(true);
      for (const name of ['B', 'C', 'E', 'C2'])
        expect(point.volts[net(name)], name).toBeCloseTo(bare.volts[without.netlist.netIndex.get(name)!]!, 2);
    }
    expect(whole.volts[net('B')]).toBeCloseTo(-6, 6);
  });

  it('has both at the voltage of the terminal that is left', () => {
    const point = solver.solve(drive, { edit: open(0, 2) });
    expect(point.opened).toEqual([point.volts[net('C')], point.volts[net('C')]]);
  });

  it('moves with none of its own parameters, and the rest as without it', () => {
    const edit = open(0, 1);
    const { volts } = solver.solve(drive, { edit });
    const { byParameter } = solver.sensitivities(drive, volts, [net('C2')], edit);
    const plain = without.sensitivities(drive, bare.volts, [without.netlist.netIndex.get('C2')!]);
    netlist.parameters.forEach((p, k) => {
      const same = without.netlist.parameters.findIndex((q) => q.kind === p.kind && q.owner === p.owner);
      expect(byParameter[k], `${p.kind} of ${p.owner}`).toBeCloseTo(
        same < 0 ? 0 : plain.byParameter[same]!,
        6,
      );
    });
  });

  it('is whole again when the edit is taken back', () => {
    solver.solve(drive, { edit: open(0, 1) });
    expect(solver.solve(drive).volts[net('C')]).toBeCloseTo(sound[net('C')]!, 6);
  });
});
