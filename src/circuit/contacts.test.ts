import { describe, expect, it } from 'vitest';
import type { Condition, Machine } from '../machine/index.ts';
import { contactsOf } from './contacts.ts';
import { type Edit, netlistOf } from './index.ts';
import { CircuitSolver } from './operating-point.ts';
import { sampleCondition, sampleMachine } from './sample-machine.ts';

/** Boards by their parts lists; `*` lines go on every board. */
function boards(
  lists: Readonly<Record<string, readonly string[]>>,
  conditions?: readonly Condition[],
): Machine {
  const parts = Object.entries(lists).flatMap(([board, lines]) =>
    sampleMachine({}, lines).parts.map((p) => ({ ...p, board, name: `${board}/${p.ref}` })),
  );
  return { ...sampleMachine({ '-12V': -12 }, [], conditions), parts };
}

class Bench {
  readonly solver: CircuitSolver;
  readonly machine: Machine;
  constructor(machine: Machine) {
    this.machine = machine;
    this.solver = new CircuitSolver(netlistOf(machine));
  }
  /** The edit of an open contact. */
  open(pin: string): Edit {
    return { conductance: [{ element: this.solver.netlist.contactOf.get(pin)!, siemens: 0 }] };
  }
  /** Reader of points, pins or nets. */
  at(open?: string, condition = this.machine.conditions[0]!): (point: string) => number {
    const { volts, converged } = this.solver.solve(condition, open ? { edit: this.open(open) } : {});
    expect(converged).toBe(true);
    const { pinNets, netIndex } = this.solver.netlist;
    return (point) => volts[pinNets.get(point) ?? netIndex.get(point)!]!;
  }
}

/** A drives S through its collector's resistor, L loads it. */
const DRIVER = ['R1 1k 1=-12V 2=S', 'Q1 GP e=0V b=B c=S', 'R2 10k 1=B 2=0V', 'J1 1=S 2=-12V'];
const LOAD = ['R1 3k 1=S 2=0V', 'J1 1=S'];

describe('a net between two boards', () => {
  const bench = new Bench(boards({ L: LOAD, A: DRIVER }));

  it('is one as long as both contacts are good', () => {
    const at = bench.at();
    for (const point of ['S', 'A/R1.2', 'A/J1.1', 'L/R1.1', 'L/J1.1'])
      expect(at(point), point).toBeCloseTo(-9, 2);
  });

  it.each(['A/J1.1', 'L/J1.1'])('falls into two sides when %s opens, whichever it is', (pin) => {
    const at = bench.at(pin);
    expect(at('A/R1.2')).toBeCloseTo(-12, 1);
    expect(at('A/J1.1')).toBeCloseTo(-12, 1);
    expect(at('L/R1.1')).toBeCloseTo(0, 6);
    expect(at('L/J1.1')).toBeCloseTo(0, 6);
  });

  it('is reckoned on the nets that the contact moves, too', () => {
    const rest = bench.machine.conditions[0]!;
    const sound = bench.solver.solve(rest).volts;
    const edit = bench.open('L/J1.1');
    const whole = bench.solver.solve(rest, { edit });
    const near = bench.solver.solve(rest, { edit, start: sound, sound, accuracy: 'table' });
    expect(near.aid).toBe('none');
    near.volts.forEach((v, i) => {
      expect(v, bench.solver.netlist.nets[i]).toBeCloseTo(whole.volts[i]!, 3);
    });
  });

  it('reads by its name on the board that drives it', () => {
    expect(bench.at('L/J1.1')('S')).toBeCloseTo(-12, 1);
    const { namedNet, netIndex, pinNets } = bench.solver.netlist;
    expect(namedNet[pinNets.get('L/R1.1')!]).toBe(netIndex.get('S'));
  });

  it('does not part where two contacts of a board lie side by side, unless the other board has one', () => {
    const doubled = [...LOAD.slice(0, 1), 'J1 1=S 2=S'];
    expect([...netlistOf(boards({ A: DRIVER, L: doubled })).contactOf.keys()].sort()).toEqual([
      'A/J1.1',
      'A/J1.2',
    ]);
    const both = [...DRIVER.slice(0, 3), 'J1 1=S 2=S 3=-12V'];
    expect([...netlistOf(boards({ A: both, L: doubled })).contactOf.keys()]).toEqual(['A/J1.3']);
  });
});

describe('a net between three boards', () => {
  const bench = new Bench(boards({ A: DRIVER, L: LOAD, M: LOAD }));

  it('loses the board whose contact opens, and the others stay joined', () => {
    const sound = bench.at();
    expect(sound('S')).toBeCloseTo(-7.2, 2);
    const atL = bench.at('L/J1.1');
    expect([atL('A/R1.2'), atL('M/R1.1')].map((v) => v.toFixed(1))).toEqual(['-9.0', '-9.0']);
    expect(atL('L/R1.1')).toBeCloseTo(0, 6);
    const atA = bench.at('A/J1.1');
    expect(atA('A/R1.2')).toBeCloseTo(-12, 1);
    expect([atA('L/R1.1'), atA('M/R1.1')].map((v) => Math.abs(v).toFixed(6))).toEqual([
      '0.000000',
      '0.000000',
    ]);
  });
});

describe('a net on one board', () => {
  it('is cut off from the rail that feeds it', () => {
    const at = new Bench(boards({ A: DRIVER, L: LOAD })).at('A/J1.2');
    expect(at('-12V')).toBe(-12);
    expect(at('A/R1.1')).toBeCloseTo(0, 2);
  });

  it('is cut off from a drive, stiff or through a resistance', () => {
    const lists = { A: ['R1 1k 1=IN 2=X', 'R2 1k 1=X 2=0V', 'J1 1=IN'] };
    for (const drive of [-6, [-6, 10]] as const) {
      const condition = sampleCondition('driven', { IN: drive });
      const bench = new Bench(boards(lists, [condition]));
      expect(bench.at(undefined)('A/R2.1')).toBeCloseTo(-3, 1);
      const at = bench.at('A/J1.1');
      expect(at('A/R2.1')).toBeCloseTo(0, 6);
      expect(at('A/R1.1')).toBeCloseTo(0, 6);
      expect(at('IN')).toBeCloseTo(-6, 6);
    }
  });

  it('that nothing outside feeds has no contact that could part it', () => {
    expect(contactsOf(boards({ A: ['R1 1k 1=X 2=0V', 'R2 1k 1=X 2=-12V', 'J1 1=X'] })).contacts).toEqual([]);
  });

  it('is cut off from a board that is not traced, and from a part without a model', () => {
    const lists = { A: ['R1 1k 1=X 2=0V', 'R2 1k 1=X 2=-12V', 'J1 1=X'], U: ['J1 1=X'] };
    expect([...netlistOf(boards(lists)).contactOf.keys()]).toEqual(['A/J1.1']);
    const coil = { A: ['R1 1k 1=X 2=0V', 'R2 1k 1=X 2=-12V', 'X1 p=X q=0V'] };
    expect([...netlistOf(boards(coil)).contactOf.keys()]).toEqual(['A/X1.p']);
  });
});

it('the reference is not parted', () => {
  const lists = { A: ['R1 1k 1=0V 2=-12V', 'J1 1=0V'], B: ['R1 1k 1=0V 2=-12V', 'J1 1=0V'] };
  expect(contactsOf(boards(lists)).contacts.flatMap((c) => c.pins)).toEqual([]);
});
