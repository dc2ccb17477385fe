/** The running table of the sound circuit, which takes its time, kept while the circuit is the same. */
import { CircuitSolver, netlistOf } from '../circuit/index.ts';
import { type Fault, type RunningShare, RunningTable, soundShare } from '../faults/index.ts';
import type { Machine } from '../machine/index.ts';

interface Kept {
  /** With the conditions that are asked for, and no others. */
  readonly machine: Machine;
  readonly solver: CircuitSolver;
  readonly share: RunningShare;
}

const kept = new WeakMap<Machine['parts'], Map<string, Kept>>();

/**
 * The running table of some of a machine's conditions, all of which run: sound, and under one fault.
 *
 * @param names  of the conditions
 * @param ambient  °C
 * @param fault  gives the fault, of how many, for the machine that the table is of
 */
export function soundWaves(
  machine: Machine,
  names: ReadonlySet<string>,
  ambient: number,
  fault: (machine: Machine) => { readonly count: number; readonly fault: Fault | undefined },
): { readonly machine: Machine; readonly waves: RunningTable } {
  const { machine: own, solver, share } = keptOf(machine, names, ambient);
  const asked = fault(own);
  solver.setParts(undefined, ambient);
  const waves = RunningTable.of(solver, ambient, asked.count, asked.fault, share);
  return { machine: { ...machine, conditions: own.conditions }, waves };
}

function keptOf(machine: Machine, names: ReadonlySet<string>, ambient: number): Kept {
  let known = kept.get(machine.parts);
  if (known === undefined) {
    known = new Map();
    kept.set(machine.parts, known);
  }
  const conditions = machine.conditions.filter(({ name }) => names.has(name));
  const key = JSON.stringify([ambient, conditions, machine.rails, machine.reference]);
  const found = known.get(key);
  if (found !== undefined && found.machine.types === machine.types) return found;
  const own = { ...machine, conditions };
  const solver = new CircuitSolver(netlistOf(own));
  const fresh = { machine: own, solver, share: soundShare(solver, ambient) };
  known.set(key, fresh);
  return fresh;
}
