import { CircuitSolver, netlistOf, transient } from '../src/circuit/index.ts';
import type { Machine, Rail } from '../src/machine/index.ts';
import { type RunningSetting, runningConditionOf } from './machine/index.ts';

/** The waveforms of a unit's nets while it runs. */
export interface Waveforms {
  /** Seconds, rising. */
  readonly instants: Float64Array;
  /** Volts at the instants; undefined for a net that is on none of the boards that are in. */
  readonly of: (net: string) => Float64Array | undefined;
}

/** Steps may err by so much, volts. */
const TOLERANCE = 2e-3;
const THIN = 1e-3;

/**
 * What a unit does in a running setting: the boards that are in, and nothing else, on the supplies and lines that are clipped on.
 * By itself, not by way of the program's own following of states.
 *
 * @throws Error  when the unit cannot be followed to the end
 */
export function waveformsOf(unit: Machine, setting: RunningSetting, celsius: number): Waveforms {
  const parts = unit.parts.filter(({ board }) => setting.boards.includes(board));
  const nets = new Set(parts.flatMap(({ pins }) => pins.map(({ net }) => net)));
  const { drives, hints, watch } = runningConditionOf(setting);
  const fed = drives.filter(({ net }) => nets.has(net));
  // What stands still and gives any current is a rail of what is left of the machine.
  const rails = [
    ...unit.rails,
    ...fed
      .filter(({ wave, ohms }) => wave === undefined && ohms === 0)
      .map(({ net, volts }): Rail => ({ net, volts, tolerance: 1 })),
  ];
  const solver = new CircuitSolver(netlistOf({ ...unit, parts, rails, conditions: [] }));
  const { netIndex } = solver.netlist;
  solver.setParts(undefined, celsius);
  const probed = [...nets];
  const run = transient(solver, {
    drives: fed
      .filter(({ net }) => !rails.some((rail) => rail.net === net))
      .map(({ net, volts, ohms, wave }) => {
        if (wave?.kind === 'capture') throw new Error(`a capture drives ${net}`);
        return { net, ohms, wave: wave ?? { kind: 'constant' as const, volts } };
      }),
    released: hints.filter(({ net }) => nets.has(net)),
    from: 0,
    to: watch!.to,
    probes: probed.map((net) => netIndex.get(net)!),
    tolerance: TOLERANCE,
    thin: THIN,
  });
  if (!run.converged) throw new Error(`${setting.name}: ${run.why} at ${run.end.at} s`);
  const volts = new Map(probed.map((net, i) => [net, run.volts[i]!]));
  return { instants: run.instants, of: (net) => volts.get(net) };
}
