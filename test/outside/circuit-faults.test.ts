/** Fault edits against circuits in which the fault is really there: a joint that joins nothing, a meter that is a resistor. */
import { describe, expect, test } from 'vitest';
import { CircuitSolver, type Netlist, netlistOf } from '../../src/circuit/index.ts';
import { sampleMachine } from '../../src/circuit/sample-machine.ts';
import { type Fault, faultHypotheses } from '../../src/faults/index.ts';
import type { Machine, Part } from '../../src/machine/index.ts';

/** Each kind of part between nets of low and high resistance. */
const RAILS = { '-12V': -12, '+6V': 6 };
const BOARD = sampleMachine(RAILS, [
  'R1 47k 1=-12V 2=B',
  'R2 10k 1=B 2=0V',
  'R3 3.3k 1=C 2=-12V',
  'R4 1k 1=E 2=0V',
  'Q1 GP e=E b=B c=C',
  'C1 47u 1=0V 2=E',
  'D1 GD a=C k=OUT',
  'D2 SD a=OUT k=F',
  'R5 100k 1=OUT 2=0V',
  'RV1 10k 0.3 1=0V w=F 2=-12V',
  'Z1 ZD 6.8 a=-12V k=Z',
  'R6 1k 1=Z 2=0V',
  'LP1 200 1=Z 2=G',
  'S1 closed 1=G 2=H',
  'R7 10k 1=H 2=0V',
  'L1 1 1=H 2=I',
  'R8 47k 1=I 2=0V',
  'F1 0.1 1=I 2=K',
  'R9 47k 1=K 2=-12V',
  'T1 10 20 1a=K 1b=M 2a=OUT 2b=P',
  'R10 100k 1=M 2=0V',
  'R11 100k 1=P 2=+6V',
  'Q2 SN e=P b=M c=+6V',
  'Q3 SNR e=0V b=F c=W',
  'D3 GL a=W k=F',
  'R12 22k 1=W 2=+6V',
  'D4 SD a=0V k=W',
]);

function withPart(machine: Machine, ref: string, change: (p: Part) => readonly Part[]): Machine {
  return { ...machine, parts: machine.parts.flatMap((p) => (p.ref === ref ? change(p) : [p])) };
}
/** A lamp is rated by the rails that feed it; with a bridge beside it it is still the same lamp. */
function sameLamps(changed: Netlist): Netlist {
  const { conductances } = solver.netlist;
  const lampOf = (part: string) => conductances.find((c) => c.part === part)!.lamp!;
  return {
    ...changed,
    conductances: changed.conductances.map((c) => (c.lamp ? { ...c, lamp: lampOf(c.part) } : c)),
  };
}
function solved(machine: Machine, celsius: number): { read: (net: string) => number } {
  const solver = new CircuitSolver(sameLamps(netlistOf(machine)));
  solver.setParts(undefined, celsius);
  const point = solver.solve(machine.conditions[0]!);
  expect(point.converged).toBe(true);
  return { read: (net) => point.volts[solver.netlist.netIndex.get(net)!]! };
}

const solver = new CircuitSolver(netlistOf(BOARD));
const { nets } = solver.netlist;
const boardNets = nets.filter((n) => !n.includes(':'));
const faults = faultHypotheses(solver.netlist).flatMap((h) => h.faults);
const named = (f: Fault): string => `${f.part} ${f.mode} ${f.severity}`;

describe.each([25, 45])('at %d °C', (celsius) => {
  test('an open joint reads with a meter of 10 megohms what its pin reads in a circuit that is really open there', () => {
    solver.setParts(undefined, celsius);
    const joints = faults.filter((f) => f.pin);
    expect(joints.length).toBe(BOARD.parts.flatMap((p) => p.pins).length);
    const condition = BOARD.conditions[0]!;
    for (const joint of joints) {
      const pin = joint.pin!;
      const point = solver.solve(condition, { edit: joint.edit });
      const metered = pin.metered ? solver.solve(condition, { edit: pin.metered(1e-7) }) : point;
      const read = pin.volts(metered.volts, 1e-7, metered.opened, celsius);
      const [ref, name] = pin.point.slice('B/'.length).split('.');
      const lifted = (meter: readonly Part[]): Machine =>
        withPart(BOARD, ref!, (p) => [
          { ...p, pins: p.pins.map((x) => (x.pin === name ? { ...x, net: 'LIFTED' } : x)) },
          ...meter,
        ]);
      const meter = sampleMachine({}, ['R99 10M 1=LIFTED 2=0V']).parts;
      const real = solved(lifted(meter), celsius).read('LIFTED');
      // The meter's current also loads the net at the part's other end, which is left out: 1 % at 100 kohm.
      expect(Math.abs(read - real), `${pin.point}: ${read} for ${real}`).toBeLessThan(
        2e-3 + 0.011 * Math.abs(real),
      );
      // All other nets read as if nobody touched the pin.
      const untouched = solved(lifted([]), celsius);
      for (const n of boardNets) {
        const volts = point.volts[solver.netlist.netIndex.get(n)!]!;
        expect(Math.abs(volts - untouched.read(n)), `${n} with ${pin.point} open`).toBeLessThan(1e-3);
      }
    }
  });

  test('every other fault reads as a circuit with that part taken out, bridged or changed', () => {
    solver.setParts(undefined, celsius);
    const extra = (p: Part, a: string, b: string, ohms: number): readonly Part[] => {
      const net = (pin: string): string => p.pins.find((x) => x.pin === pin)!.net;
      return [p, ...sampleMachine({}, [`R99 ${ohms} 1=${net(a)} 2=${net(b)}`]).parts];
    };
    let compared = 0;
    for (const fault of faults) {
      if (fault.pin) continue;
      const ref = fault.part.slice('B/'.length);
      const part = BOARD.parts.find((p) => p.ref === ref)!;
      const two = part.pins.length === 2 ? part.pins.map((p) => p.pin) : [];
      const ohms = fault.edit.bridge ? 1 / fault.edit.bridge[0]!.siemens : 0;
      let change: ((p: Part) => readonly Part[]) | undefined;
      if (fault.mode === 'open' && two.length === 2) change = () => [];
      else if (fault.mode === 'high' && part.kind === 'resistor')
        change = (p) => [{ ...p, value: p.value! * Number(fault.severity.slice(1)) }];
      else if (fault.mode === 'short' && part.kind === 'resistor') change = (p) => extra(p, '1', '2', 2);
      else if (fault.mode === 'short' || fault.mode === 'leaky')
        change = (p) => extra(p, two[0]!, two[1]!, ohms);
      else if (/^(short|leaky)-/.test(fault.mode))
        change = (p) => extra(p, fault.mode.at(-2)!, fault.mode.at(-1)!, ohms);
      else if (/^open-[bce]$/.test(fault.mode))
        change = (p) => [
          { ...p, pins: p.pins.map((x) => (x.pin === fault.mode.at(-1) ? { ...x, net: 'LIFTED' } : x)) },
        ];
      if (!change) continue;
      compared++;
      const real = solved(withPart(BOARD, ref, change), celsius);
      const point = solver.solve(BOARD.conditions[0]!, { edit: fault.edit });
      for (const n of boardNets) {
        const volts = point.volts[solver.netlist.netIndex.get(n)!]!;
        expect(
          Math.abs(volts - (Number.isFinite(real.read(n)) ? real.read(n) : 0)),
          `${n}, ${named(fault)}`,
        ).toBeLessThan(1e-3);
      }
    }
    expect(compared).toBeGreaterThan(150);
  });
});

/**
 * How far apart two neighbouring severities stand, at most, over all points: the sum over severities takes them
 * for a curve, so a gap of many volts is a reading that no severity explains.
 */
describe('neighbouring severities', () => {
  const gaps = (machine: Machine): Map<string, number> => {
    const own = new CircuitSolver(sameLamps(netlistOf(machine)));
    const worst = new Map<string, number>();
    for (const condition of machine.conditions)
      for (const h of faultHypotheses(own.netlist)) {
        if (!h.faults.some((f) => f.grade)) continue;
        const volts = h.faults.map((f) => own.solve(condition, { edit: f.edit }).volts);
        volts.slice(1).forEach((v, k) => {
          const gap = Math.max(...v.map((x, i) => Math.abs(x - volts[k]![i]!)));
          worst.set(h.mode, Math.max(worst.get(h.mode) ?? 0, gap));
        });
      }
    return worst;
  };
  test('of an amplifier stage are less than 2.5 V apart, of most modes less than 1.5 V', () => {
    const worst = gaps(
      sampleMachine(
        { '-12V': -12 },
        BOARD.parts.filter((p) => /^(R[1-4]|Q1|C1)$/.test(p.ref)),
      ),
    );
    expect(worst.size).toBeGreaterThan(6);
    for (const [mode, gap] of worst) expect(gap, mode).toBeLessThan(2.5);
    expect([...worst.values()].filter((gap) => gap > 1.5).length).toBeLessThanOrEqual(2);
  });
});
