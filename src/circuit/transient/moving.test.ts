import { describe, expect, it } from 'vitest';
import type { DriveWave } from '../../machine/index.ts';
import { netlistOf } from '../netlist.ts';
import { CircuitSolver } from '../operating-point.ts';
import { sampleMachine } from '../sample-machine.ts';
import { movingNets, stirs } from './moving.ts';
import { transient } from './transient.ts';

// Two inverters that share nothing but a rail and LINK, and a third that hangs on the second.
const PARTS = [
  'R1 6.8k 1=IN 2=B1',
  'Q1 GP e=0V b=B1 c=OUT1',
  'R2 3.3k 1=OUT1 2=-12V',
  'R3 10k 1=OUT1 2=LINK',
  'R4 6.8k 1=LINK 2=B2',
  'Q2 GP e=0V b=B2 c=OUT2',
  'R5 3.3k 1=OUT2 2=-12V',
  'C1 10n 1=OUT2 2=TAIL',
  'R6 10k 1=TAIL 2=0V',
];
const netlist = netlistOf(sampleMachine({ '-12V': -12 }, PARTS));
const at = (net: string): number => netlist.netIndex.get(net)!;
const pulses: DriveWave = {
  ...{ kind: 'pulses', low: -6, high: 0, delay: 1e-5, width: 2e-5, period: 1e-4 },
  ...{ edge: 'linear', rise: 1e-6, fall: 1e-6 },
};

function moved(
  feeds: readonly (readonly [net: string, stiff: boolean, moves: boolean])[],
  released: readonly string[] = [],
): string[] {
  const found = movingNets(
    netlist,
    feeds.map(([net, stiff, moves]) => ({ net: at(net), stiff, moves })),
    released.map(at),
  );
  return netlist.nets.filter((_, i) => found[i] === 1 || found[i] === 2).sort();
}

describe('what can move', () => {
  it('is all that elements join to a net that moves, up to nets whose volts are stated', () => {
    const all = ['B1', 'B2', 'IN', 'LINK', 'OUT1', 'OUT2', 'TAIL'];
    expect(moved([['IN', true, true]])).toEqual(all);
    expect(
      moved([
        ['IN', true, true],
        ['LINK', true, false],
      ]),
    ).toEqual(['B1', 'IN', 'OUT1']);
  });

  it('is not parted by a line that is held through a resistance', () => {
    expect(
      moved([
        ['IN', true, true],
        ['LINK', false, false],
      ]),
    ).toContain('TAIL');
  });

  it('is not the board whose output a stiff wave takes the place of', () => {
    const line = (board: string, lines: readonly string[]) =>
      sampleMachine({ '-12V': -12 }, lines).parts.map((p) => ({ ...p, board, name: `${board}/${p.ref}` }));
    const out = ['R1 6.8k 1=IN 2=B1', 'Q1 GP e=0V b=B1 c=LINE', 'R2 3.3k 1=LINE 2=-12V', 'J1 1=LINE'];
    const into = ['R1 6.8k 1=LINE 2=B2', 'Q1 GP e=0V b=B2 c=LAST', 'R2 3.3k 1=LAST 2=-12V', 'J1 1=LINE'];
    const drives = [{ net: 'LINE', volts: -6, ohms: 0 }];
    const two = netlistOf({
      ...sampleMachine({ '-12V': -12 }, []),
      parts: [...line('OUT', out), ...line('INTO', into)],
      conditions: [{ name: 'fed', drives, hints: [] }],
    });
    const fed = (stiff: boolean) => {
      const found = movingNets(two, [{ net: two.netIndex.get('LINE')!, stiff, moves: true }], []);
      return two.nets.filter((_, i) => found[i] === 1 || found[i] === 2).sort();
    };
    expect(fed(true)).toEqual(['B2', 'LAST', 'LINE', 'LINE:INTO']);
    expect(fed(false)).toContain('B1');
  });

  it('is nothing where every drive stands still, and what hangs on a net that is let go', () => {
    expect(moved([['IN', true, false]])).toEqual([]);
    expect(moved([['LINK', true, false]], ['TAIL'])).toEqual(['B2', 'OUT2', 'TAIL']);
  });
});

describe('an edit', () => {
  it('stirs what moves where one of its elements lies at a net that moves', () => {
    const feeds = [
      { net: at('IN'), stiff: true, moves: true },
      { net: at('LINK'), stiff: true, moves: false },
    ];
    const moving = movingNets(netlist, feeds, []);
    const resistor = (ref: string) => netlist.elementsOf.get(`B/${ref}`)!.conductances[0]!;
    const open = (ref: string) => ({ conductance: [{ element: resistor(ref), siemens: 0 }] });
    expect(['R1', 'R2', 'R3', 'R4', 'R5', 'C1'].map((ref) => stirs(netlist, open(ref), moving))).toEqual([
      ...[true, true, true],
      ...[false, false, false],
    ]);
    const gain = (transistor: number) => ({ gain: [{ transistor, factor: 0.1 }] });
    expect([0, 1].map((q) => stirs(netlist, gain(q), moving))).toEqual([true, false]);
    const stored = { stored: [{ kind: 'transistor' as const, element: 1, factor: 5 }] };
    expect(stirs(netlist, stored, moving)).toBe(false);
    expect(stirs(netlist, { bridge: [{ a: at('B1'), b: at('0V'), siemens: 1 }] }, moving)).toBe(true);
  });
});

describe('a waveform', () => {
  it('is the same whether what stands still is followed or not', () => {
    const solver = new CircuitSolver(netlist);
    const nets = ['OUT1', 'LINK', 'OUT2', 'TAIL'];
    const run = (link: DriveWave) =>
      transient(solver, {
        drives: [
          { net: 'IN', wave: pulses },
          { net: 'LINK', wave: link },
        ],
        from: 0,
        to: 1e-4,
        probes: nets.map(at),
      });
    const held = run({ kind: 'constant', volts: -3 });
    // A wave that never moves is followed all the same.
    const followed = run({ kind: 'samples', instants: [0, 1], volts: [-3, -3] });
    expect(held.converged && followed.converged).toBe(true);
    for (const k of [1, 2, 3])
      for (const volts of held.volts[k]!) expect(volts).toBeCloseTo(followed.volts[k]![0]!, 3);
    const at20 = (r: typeof held) => r.volts[0]![r.instants.findIndex((t) => t >= 2e-5)]!;
    expect(at20(held)).toBeCloseTo(at20(followed), 1);
    expect(Math.max(...held.volts[0]!) - Math.min(...held.volts[0]!)).toBeGreaterThan(5);
  });

  it('of a circuit in which nothing moves is its operating point', () => {
    const solver = new CircuitSolver(netlist);
    const still = transient(solver, {
      drives: [{ net: 'IN', wave: { kind: 'constant', volts: -6 } }],
      from: 0,
      to: 1e-3,
      probes: [at('OUT1'), at('OUT2')],
    });
    expect(still.converged).toBe(true);
    const { volts } = solver.solve({
      name: '',
      drives: [{ net: 'IN', volts: -6, ohms: 0 }],
      hints: [],
    });
    for (const [i, net] of ['OUT1', 'OUT2'].entries())
      for (const v of still.volts[i]!) expect(v).toBeCloseTo(volts[at(net)]!, 6);
  });
});
