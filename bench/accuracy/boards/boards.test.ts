import { describe, expect, it } from 'vitest';
import { network, parameterTable, Solver } from '../physics/index.ts';
import { chance } from '../random.ts';
import { unitPair, works } from '../units.ts';
import { BOARD_NAMES, trialBoard } from './index.ts';

const names = [...BOARD_NAMES.tuning, ...BOARD_NAMES.test];
const singles = names.filter((name) => !name.startsWith('MANY'));

describe.each(names)('trial board %s', (name) => {
  const board = trialBoard(name);
  const { machine } = board;

  it('has a size, conditions and points of the kind asked for', () => {
    const size = machine.parts.length;
    if (name.startsWith('MANY')) expect(size).toBeGreaterThanOrEqual(300);
    else {
      expect(size).toBeGreaterThanOrEqual(50);
      expect(size).toBeLessThanOrEqual(130);
    }
    expect(machine.conditions.length).toBeGreaterThanOrEqual(3);
    expect(machine.conditions.length).toBeLessThanOrEqual(10);
    expect(new Set(machine.parts.map((p) => p.name)).size).toBe(size);
    expect(new Set(machine.points.map((p) => p.point)).size).toBe(machine.points.length);
    for (const net of board.outputs) expect(machine.points.some((p) => p.point === net)).toBe(true);
  });

  it('leaves no net with a single pin, unless it is fed or shown from outside', () => {
    const pins = new Map<string, number>();
    for (const part of machine.parts)
      for (const { net } of part.pins) pins.set(net, (pins.get(net) ?? 0) + 1);
    const outside = new Set([
      machine.reference,
      ...machine.rails.map((r) => r.net),
      ...machine.conditions.flatMap((c) => c.drives.map((d) => d.net)),
      ...board.outputs,
    ]);
    for (const [net, count] of pins) if (!outside.has(net)) expect(count, net).toBeGreaterThan(1);
  });

  it('holds every hinted and expected level in its nominal unit, at rest in every condition', () => {
    const table = parameterTable(machine);
    const circuit = network(machine, table);
    const theta = Float64Array.from(table.parameters, (p) => p.mean);
    circuit.set(theta, machine.ambient);
    const solver = new Solver(circuit);
    for (const condition of machine.conditions) {
      const point = solver.operatingPoint(condition, theta)!;
      expect(point.stable).toBe(true);
      expect(point.imbalance).toBeLessThanOrEqual(1);
      for (const e of board.expected.filter((x) => x.condition === condition.name)) {
        const volts = point.volts[circuit.nodeOfNet(e.net)]!;
        expect(volts, `${e.condition} ${e.net}`).toBeGreaterThanOrEqual(e.low);
        expect(volts, `${e.condition} ${e.net}`).toBeLessThanOrEqual(e.high);
      }
    }
  });
});

describe('drawn units', () => {
  it.each(singles)('of %s work in at least nine of ten draws, in rooms of 14 to 32 °C', (name) => {
    const board = trialBoard(name);
    const table = parameterTable(board.machine);
    const source = chance(`test ${name}`);
    let working = 0;
    for (let k = 0; k < 10; k++)
      for (const unit of unitPair(table, source)) if (works(board, table, unit)) working++;
    expect(working).toBeGreaterThanOrEqual(18);
  });
});
