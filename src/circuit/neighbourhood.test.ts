import { describe, expect, it } from 'vitest';
import { Assembly } from './assembly.ts';
import { type Edit, netlistOf } from './index.ts';
import { Neighbourhood } from './neighbourhood.ts';
import { CircuitSolver } from './operating-point.ts';
import { sampleCondition, sampleMachine } from './sample-machine.ts';
import { structureOf } from './structure.ts';
import { ElementValues } from './values.ts';

/** A chain of inverters with a lamp, and diodes to a common net. */
const machine = sampleMachine({ '-12V': -12, '+6V': 6 }, [
  ...[1, 2, 3, 4, 5, 6, 7, 8].flatMap((k) => [
    `R${k}a 8.2k 1=C${k - 1} 2=B${k}`,
    `R${k}b 47k 1=B${k} 2=+6V`,
    `R${k}c 1.5k 1=C${k} 2=-12V`,
    `Q${k} GP e=0V b=B${k} c=C${k}`,
    `D${k} GD a=C${k} k=G`,
  ]),
  'RG 10k 1=G 2=0V',
  'LP 200 1=C3 2=0V',
]);
const drive = sampleCondition('drive', { C0: -6 });

describe('a fault reckoned on the nets that it moves', () => {
  const netlist = netlistOf(machine);
  const solver = new CircuitSolver(netlist);
  const sound = solver.solve(drive).volts;
  const elements = (part: string) => netlist.elementsOf.get(`B/${part}`)!;
  const net = (name: string) => netlist.netIndex.get(name)!;
  const edits: Record<string, Edit> = {
    'a collector resistor open': { conductance: [{ element: elements('R2c').conductances[0]!, siemens: 0 }] },
    'a base resistor ten times as high': {
      conductance: [{ element: elements('R4a').conductances[0]!, siemens: 1 / 82e3 }],
    },
    'an open lamp': { conductance: [{ element: elements('LP').conductances[0]!, siemens: 0 }] },
    'a collector shorted to the emitter': { bridge: [{ a: net('C5'), b: net('0V'), siemens: 1 }] },
    'a diode cut': { cut: [elements('D1').junction] },
    'an open base': { open: [{ transistor: elements('Q3').transistor, terminal: 0, siemens: 0 }] },
    'an open collector': { open: [{ transistor: elements('Q3').transistor, terminal: 1, siemens: 0 }] },
    'an open emitter': { open: [{ transistor: elements('Q3').transistor, terminal: 2, siemens: 0 }] },
    'an open base with a meter on it': {
      open: [{ transistor: elements('Q3').transistor, terminal: 0, siemens: 1e-4 }],
    },
    'a gain gone low': { gain: [{ transistor: elements('Q6').transistor, factor: 0.05 }] },
  };

  const values = new ElementValues(netlist);
  const assembly = new Assembly(netlist, values, structureOf(netlist, [net('C0')], []));
  const near = new Neighbourhood(assembly, [{ net: net('C0'), volts: -6, siemens: 0, level: 0 }], sound);

  it.each(Object.entries(edits))('reads with %s what the whole network does', (_, edit) => {
    const fine = solver.solve(drive, { edit, start: sound });
    const restore = values.apply(edit);
    expect(near.solve(sound, { edit, lowest: -13, highest: 7, stale: 2e-3 }) && near.stable).toBe(true);
    restore();
    fine.volts.forEach((v, i) => {
      expect(Math.abs(v - near.volts[i]!), netlist.nets[i]).toBeLessThan(2e-3);
    });
  });

  it.each(Object.entries(edits).filter(([, e]) => e.open))(
    'gives the voltage inside an opened terminal: %s',
    (_, edit) => {
      const fine = solver.solve(drive, { edit, start: sound });
      const near = solver.solve(drive, { edit, start: sound, sound, accuracy: 'table' });
      expect(near.converged && near.aid === 'none').toBe(true);
      expect(near.opened.length).toBe(fine.opened.length);
      near.opened.forEach((v, i) => {
        expect(v).toBeCloseTo(fine.opened[i]!, 2);
      });
    },
  );

  it('follows the parts when they or the temperature change', () => {
    const edit = edits['an open base']!;
    const deviations = Float64Array.from(netlist.parameters, (_, i) => Math.sin(i));
    solver.setParts(deviations, 40);
    const start = solver.solve(drive).volts;
    const fine = solver.solve(drive, { edit, start });
    const near = solver.solve(drive, { edit, start, sound: start, accuracy: 'table' });
    solver.setParts(undefined, 25);
    fine.volts.forEach((v, i) => {
      expect(Math.abs(v - near.volts[i]!), netlist.nets[i]).toBeLessThan(3e-3);
    });
  });
});
