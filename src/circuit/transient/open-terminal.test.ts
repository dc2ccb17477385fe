import { describe, expect, it } from 'vitest';
import type { DriveWave } from '../../machine/index.ts';
import { netlistOf } from '../netlist.ts';
import { CircuitSolver } from '../operating-point.ts';
import { sampleMachine } from '../sample-machine.ts';
import { transient } from './transient.ts';

const netlist = netlistOf(
  sampleMachine({ '-12V': -12 }, ['R1 6.8k 1=IN 2=B', 'Q1 GP e=0V b=B c=OUT', 'R2 2.2k 1=-12V 2=OUT']),
);
const wave: DriveWave = {
  ...{ kind: 'pulses', low: -6, high: 0, delay: 0, width: 1e-5, period: 5e-5, negative: true },
  ...{ edge: 'linear', rise: 3e-7, fall: 3e-7 },
};

describe('a transistor with an open terminal', () => {
  it.each([0, 1, 2] as const)('stands still where it is at rest, terminal %d', (terminal) => {
    const solver = new CircuitSolver(netlist);
    const edit = { open: [{ transistor: 0, terminal, siemens: 0 }] };
    // It moves after the end of what is looked at, so that nothing is left out for standing still.
    const late: DriveWave = { ...wave, negative: false, delay: 1 };
    const drives = [{ net: 'IN', wave: late }];
    const found = transient(solver, { drives, probes: [0, 1, 2, 3], from: 0, to: 1e-4, edit });
    expect(found.converged).toBe(true);
    expect(found.steps).toBeGreaterThan(0);
    for (const volts of found.volts)
      for (const v of volts) expect(Math.abs(v - volts[0]!)).toBeLessThan(1e-3);
  });
});

describe('a base that opens while its transistor is saturated', () => {
  it('leaves the collector where it is at rest without a base, however far that is', () => {
    const solver = new CircuitSolver(netlist);
    const out = netlist.netIndex.get('OUT')!;
    const task = { drives: [{ net: 'IN', wave }], probes: [out], from: 0 };
    const sound = transient(solver, { ...task, to: 5e-6 });
    expect(sound.volts[0]!.at(-1)).toBeGreaterThan(-0.2);
    const edit = { open: [{ transistor: 0, terminal: 0 as const, siemens: 0 }] };
    const open = transient(solver, { ...task, from: 5e-6, to: 1e-4, start: sound.end, edit });
    expect(open.converged).toBe(true);
    const rest = solver.solve({ name: '', drives: [{ net: 'IN', volts: 0, ohms: 0 }], hints: [] }, { edit });
    for (const volts of open.volts[0]!) expect(volts).toBeCloseTo(rest.volts[out]!, 2);
  });
});
