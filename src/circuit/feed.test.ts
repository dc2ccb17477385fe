import { describe, expect, it } from 'vitest';
import { feedVolts } from './feed.ts';
import { netlistOf } from './index.ts';
import { CircuitSolver } from './operating-point.ts';
import { sampleCondition, sampleMachine } from './sample-machine.ts';

describe('the rail that feeds a net', () => {
  it('is the one at the least resistance, whichever way is shorter in parts', () => {
    const ways = [
      { a: 0, b: 2, ohms: 1000 },
      { a: 1, b: 3, ohms: 10 },
      { a: 3, b: 4, ohms: 20 },
      { a: 4, b: 2, ohms: 30 },
    ];
    const sources = [
      { net: 0, volts: -80 },
      { net: 1, volts: -24 },
    ];
    expect([...feedVolts(6, sources, ways)]).toEqual([-80, -24, -24, -24, -24, Number.NaN]);
  });
});

describe('a lamp', () => {
  const RAILS = { '-80V': -80, '-24V': -24 };
  const rated = (...parts: readonly string[]): number =>
    netlistOf(sampleMachine(RAILS, parts)).conductances.find((c) => c.lamp)!.lamp!.rated;

  it('is rated at the rails that feed it, through a choke and the transistor that lights it', () => {
    expect(rated('L1 1 1=-24V 2=F', 'LP1 1.2k 1=C 2=F', 'Q1 GP e=0V b=B c=C', 'R1 10k 1=B 2=-80V')).toBe(24);
    expect(rated('LP1 1.2k 1=-80V 2=-24V')).toBe(56);
  });

  it('is rated at the highest rail where both its ends are fed from one, or one from none', () => {
    expect(rated('LP1 1.2k 1=X 2=Y', 'R1 1k 1=X 2=-24V', 'R2 1k 1=Y 2=-24V')).toBe(80);
    expect(rated('LP1 1.2k 1=X 2=-24V')).toBe(80);
  });

  it('has the stated resistance at that voltage', () => {
    const machine = sampleMachine(RAILS, ['LP1 1.2k 1=X 2=-24V', 'R1 0.001 1=X 2=0V']);
    const netlist = netlistOf(machine);
    const { volts } = new CircuitSolver(netlist).solve(machine.conditions[0]!);
    // The curve's rounding near 0 V costs it a hundredth here.
    expect(Math.abs(volts[netlist.netIndex.get('X')!]! / -0.001 / (24 / 1200) - 1)).toBeLessThan(0.01);
  });
});

describe('a drive', () => {
  const conditions = [
    sampleCondition('stiff', { IN: -6, KEY: 0 }),
    sampleCondition('soft', { IN: [-6, 1000] }),
    sampleCondition('other', { IN: -2 }),
  ];
  const machine = sampleMachine({ '-12V': -12 }, ['R1 1k 1=IN 2=0V', 'R2 1k 1=KEY 2=-12V'], conditions);
  const solver = new CircuitSolver(netlistOf(machine));
  const { parameters, netIndex } = solver.netlist;
  const drives = parameters.flatMap((p, k) => (p.kind === 'drive' ? [k] : []));

  it('has a spread for each level, a percent and 20 mV, and none at 0 V', () => {
    expect(drives.map((k) => parameters[k]!.owner)).toEqual(['IN', 'IN']);
    expect(parameters[drives[0]!]!.spread).toBeCloseTo(Math.hypot(0.06, 0.02), 12);
  });

  it('moves its net in the conditions of its level, by the resistance that it is fed through', () => {
    const deviations = new Float64Array(parameters.length);
    deviations[drives[0]!] = 2;
    solver.setParts(deviations, 25);
    const { spread } = parameters[drives[0]!]!;
    const read = conditions.map((c) => solver.solve(c).volts[netIndex.get('IN')!]!);
    expect(read[0]).toBeCloseTo(-6 + 2 * spread, 9);
    expect(read[1]).toBeCloseTo((-6 + 2 * spread) / 2, 6);
    expect(read[2]).toBe(-2);
    solver.setParts(undefined, 25);
  });
});
