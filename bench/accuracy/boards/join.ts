/**
 * Joins copies of trial boards into one machine of many boards: rails are shared, every other net gets the
 * copy's name, and where an output of one copy reads what the rig would feed to an input of the next, in every
 * condition, the rig is taken away and the two are wired together.
 */
import type { Condition, Drive, Hint, Machine, Part, Point, Rail } from '../../../src/machine/model.ts';
import { network, parameterTable, Solver } from '../physics/index.ts';
import { chance } from '../random.ts';
import type { Expected, TrialBoard } from './kit.ts';

interface Copy {
  readonly name: string;
  readonly board: TrialBoard;
  /** By joined condition: the index of the copy's own. */
  readonly conditions: readonly number[];
  readonly net: (net: string) => string;
}
interface Link {
  readonly output: string;
  readonly input: string;
}

const LEAST_LINKS = 2;

/** Volts of a board's outputs in each of its conditions, nominal. */
function levels(board: TrialBoard): Map<string, number[]> {
  const { machine } = board;
  const table = parameterTable(machine);
  const circuit = network(machine, table);
  const theta = Float64Array.from(table.parameters, (p) => p.mean);
  circuit.set(theta, machine.ambient);
  const solver = new Solver(circuit);
  const found = new Map<string, number[]>(board.outputs.map((net) => [net, []]));
  for (const condition of machine.conditions) {
    const point = solver.operatingPoint(condition, theta);
    for (const net of board.outputs)
      found.get(net)!.push(point === undefined ? Number.NaN : point.volts[circuit.nodeOfNet(net)]!);
  }
  return found;
}

/** Whether an output at `volts` can stand for a drive of `wanted` volts. */
function fits(volts: number, wanted: number): boolean {
  if (Math.abs(wanted) < 1) return Math.abs(volts) < 0.6;
  return volts * wanted > 0 && Math.abs(volts) > 0.75 * Math.abs(wanted) && Math.abs(volts) < 14;
}

function assembled(name: string, half: TrialBoard['half'], copies: readonly Copy[], links: readonly Link[]) {
  const parts: Part[] = [];
  const points: Point[] = [];
  const rails = new Map<string, Rail>();
  const types = new Map<string, Machine['types'] extends ReadonlyMap<string, infer T> ? T : never>();
  const wired = new Map(links.map((link) => [link.input, link.output]));
  const count = copies[0]!.conditions.length;
  const drives: Drive[][] = Array.from({ length: count }, () => []);
  const hints: Hint[][] = Array.from({ length: count }, () => []);
  const expected: Expected[] = [];
  const seen = new Set<string>();
  for (const copy of copies) {
    const { machine } = copy.board;
    const net = (own: string): string => {
      const joined = copy.net(own);
      return wired.get(joined) ?? joined;
    };
    for (const rail of machine.rails) if (!rails.has(rail.net)) rails.set(rail.net, rail);
    for (const [key, type] of machine.types) types.set(key, type);
    for (const part of machine.parts)
      parts.push({
        ...part,
        board: copy.name,
        name: `${copy.name}/${part.ref}`,
        pins: part.pins.map((p) => ({ pin: p.pin, net: net(p.net) })),
      });
    let pin = 0;
    for (const point of machine.points) {
      const isPin = point.point.includes('/');
      // Every third pin keeps a large machine's readings at some thousands.
      if (isPin && pin++ % 3 !== 0) continue;
      const where = isPin ? point.point.replace(/^[^/]*/, copy.name) : net(point.point);
      if (!seen.has(where)) points.push({ ...point, point: where });
      seen.add(where);
    }
    for (let k = 0; k < count; k++) {
      const condition = machine.conditions[copy.conditions[k]!]!;
      for (const drive of condition.drives)
        if (!wired.has(copy.net(drive.net))) drives[k]!.push({ ...drive, net: copy.net(drive.net) });
      for (const hint of condition.hints) hints[k]!.push({ ...hint, net: net(hint.net) });
      for (const e of copy.board.expected)
        if (e.condition === condition.name)
          expected.push({ ...e, condition: `state ${k + 1}`, net: net(e.net) });
    }
  }
  const conditions: Condition[] = drives.map((list, k) => ({
    name: `state ${k + 1}`,
    drives: list,
    hints: hints[k]!,
  }));
  const first = copies[0]!.board.machine;
  const machine: Machine = {
    ...first,
    name: `Trial machine ${name}`,
    summary: `${copies.length} boards, ${links.length} of their lines wired from board to board`,
    rails: [...rails.values()],
    types,
    parts,
    points,
    conditions,
  };
  const outputs = copies.flatMap((c) => c.board.outputs.map((net) => c.net(net)));
  const board: TrialBoard = { name, half, kind: 'many boards', machine, outputs, expected };
  return board;
}

function works(board: TrialBoard): boolean {
  const { machine } = board;
  const table = parameterTable(machine);
  const circuit = network(machine, table);
  const theta = Float64Array.from(table.parameters, (p) => p.mean);
  circuit.set(theta, machine.ambient);
  const solver = new Solver(circuit);
  return machine.conditions.every((condition) => {
    const point = solver.operatingPoint(condition, theta);
    return (
      point !== undefined &&
      board.expected.every((e) => {
        if (e.condition !== condition.name) return true;
        const v = point.volts[circuit.nodeOfNet(e.net)]!;
        return v >= e.low && v <= e.high;
      })
    );
  });
}

/** A machine of copies of `boards` in turn until it has at least `size` parts, in `states` conditions. */
export function joined(
  name: string,
  half: TrialBoard['half'],
  boards: readonly TrialBoard[],
  size: number,
  states: number,
): TrialBoard {
  const random = chance(`joined ${name}`);
  const copies: Copy[] = [];
  const links: Link[] = [];
  /** Outputs placed so far: their volts in each joined condition. */
  const placed = new Map<string, number[]>();
  let parts = 0;
  for (let k = 0; parts < size; k++) {
    const board = boards[k % boards.length]!;
    const label = `${board.name}${Math.floor(k / boards.length) + 1}`;
    const rails = new Set(['0V', ...board.machine.rails.map((r) => r.net)]);
    const net = (own: string) => (rails.has(own) ? own : `${label}:${own}`);
    const own = board.machine.conditions;
    const free = Array.from({ length: states }, (_, s) => (s + k) % own.length);
    let best: { copy: Copy; link?: Link } = { copy: { name: label, board, conditions: free, net } };
    for (let attempt = 0; attempt < 200 && placed.size > 0; attempt++) {
      const [output, volts] = random.pick([...placed]);
      const input = random.pick(own[0]!.drives.map((d) => d.net));
      if (links.some((l) => l.output === output)) continue;
      const choices = volts.map((v) =>
        own.flatMap((c, n) => (c.drives.some((d) => d.net === input && fits(v, d.volts)) ? [n] : [])),
      );
      if (choices.some((c) => c.length === 0)) continue;
      const copy = { name: label, board, conditions: choices.map((c) => random.pick(c)), net };
      const link = { output, input: net(input) };
      if (!works(assembled(name, half, [...copies, copy], [...links, link]))) continue;
      best = { copy, link };
      break;
    }
    copies.push(best.copy);
    if (best.link !== undefined) links.push(best.link);
    for (const [output, volts] of levels(board))
      placed.set(
        net(output),
        best.copy.conditions.map((c) => volts[c]!),
      );
    parts += board.machine.parts.length;
  }
  if (links.length < LEAST_LINKS) throw new RangeError(`${name}: only ${links.length} lines could be wired`);
  return assembled(name, half, copies, links);
}
