import { CircuitSolver, netlistOf } from '../circuit/index.ts';
import { type ExpectedWaves, expectedWaves, faultsOfMode, isFollowable } from '../faults/index.ts';
import { isRunning, type Machine, partNamed, pinNet, pointNet, suggestion } from '../machine/index.ts';
import { InputError } from '../records/index.ts';
import { chosenCondition, chosenFault, type FaultName } from './choice.ts';

export interface WaveQuery {
  readonly condition: string;
  /** `PART:MODE`. */
  readonly fault?: string | undefined;
  /** Nets or pins; without it all points whose net moves. */
  readonly points?: readonly string[] | undefined;
  /** Room, °C; the machine's without it. */
  readonly ambient?: number | undefined;
}

export interface PredictedWaves extends Omit<ExpectedWaves, 'waves'> {
  readonly condition: string;
  readonly fault?: FaultName;
  readonly severity?: string;
  readonly waves: readonly (ExpectedWaves['waves'][number] & { readonly point: string })[];
}

/** A net that swings by less stands still, volts. */
const STILL = 0.3;

/**
 * What an oscilloscope would show in a running state, of a sound unit and with a fault. Of a graded mode its most usual severity.
 *
 * @throws InputError  for a name that is not there, a state that does not run, a circuit that cannot be followed
 */
export function predictedWaves(machine: Machine, query: WaveQuery): PredictedWaves {
  const name = chosenCondition(machine, query.condition)!;
  const condition = machine.conditions.find((one) => one.name === name)!;
  const running = machine.conditions.filter(isRunning).map((one) => one.name);
  if (!isRunning(condition)) {
    const others = running.length === 0 ? 'none of the states does' : `these do: ${running.join(', ')}`;
    throw new InputError(
      'not-running',
      `nothing moves in "${name}"; ${others}. A drive moves by a wave in conditions.csv`,
    );
  }
  if (!isFollowable(condition))
    throw new InputError('no-capture', `"${name}" is driven by a capture that is not there`);
  const netlist = netlistOf(machine);
  const named = query.fault === undefined ? undefined : chosenFault(machine, query.fault);
  const faults = named ? faultsOfMode(netlist, partNamed(machine, named.part)!, named.mode) : [];
  const fault = faults.length === 0 ? undefined : faults.reduce((a, b) => (b.share > a.share ? b : a));
  const points =
    query.points ?? machine.points.map(({ point }) => point).filter((p) => pinNet(machine, p) === undefined);
  const places = points.flatMap((point) => {
    const net = netlist.pinNets.get(point) ?? netlist.netIndex.get(point);
    if (net !== undefined) return [{ point, net }];
    if (query.points === undefined) return [];
    const near = suggestion(point, netlist.netIndex.keys());
    const why =
      pointNet(machine, point) === undefined
        ? `there is no point "${point}"${near}`
        : `"${point}" is not computed`;
    throw new InputError('unknown-point', why);
  });
  const nets = places.map(({ net }) => net);
  const found = expectedWaves(
    new CircuitSolver(netlist),
    condition,
    nets,
    query.ambient ?? machine.ambient,
    fault,
  );
  if (found === undefined)
    throw new InputError(
      'no-waveform',
      `the circuit cannot be followed in "${name}"${named ? ' with this fault' : ''}`,
    );
  const { waves, ...span } = found;
  const all = waves.map((wave, i) => ({ ...wave, point: places[i]!.point }));
  const moving = all.filter(({ volts, sound }) => swing(volts) > STILL || swing(sound.volts) > STILL);
  return {
    ...span,
    condition: name,
    ...(named && { fault: named }),
    ...(fault && fault.severity !== '' && { severity: fault.severity }),
    waves: query.points === undefined ? moving : all,
  };
}

function swing(volts: Float64Array): number {
  let [low, high] = [Infinity, -Infinity];
  for (const v of volts) {
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  return high - low;
}
