/** The waveforms of a running condition as they are expected: of a sound unit with the band that such units keep within, and under a fault. */
import { type CircuitSolver, storageOf } from '../../circuit/index.ts';
import type { Condition } from '../../machine/index.ts';
import type { Fault } from '../fault.ts';
import { type Course, courseLike, soundCourse } from './follow.ts';
import { DRAWS, drawnDeviations } from './table.ts';

export interface ExpectedWave {
  /** Net of the netlist. */
  readonly net: number;
  /** Seconds, rising, and volts there; straight in between. */
  readonly instants: Float64Array;
  readonly volts: Float64Array;
  /** Of sound units at the sound wave's own instants: nine in ten are between `low` and `high`. */
  readonly sound: {
    readonly instants: Float64Array;
    readonly volts: Float64Array;
    readonly low: Float64Array;
    readonly high: Float64Array;
  };
}

export interface ExpectedWaves {
  /** Seconds; one turn of what repeats, else what is watched. */
  readonly from: number;
  readonly to: number;
  readonly repeats: boolean;
  readonly waves: readonly ExpectedWave[];
}

/** Of the drawn units the lowest and the highest are left out of the band. */
const OUTSIDE = 1;

/** @returns undefined when the circuit, sound or under the fault, cannot be followed. @param ambient  °C */
export function expectedWaves(
  solver: CircuitSolver,
  condition: Condition,
  nets: readonly number[],
  ambient: number,
  fault?: Fault,
): ExpectedWaves | undefined {
  const { netlist } = solver;
  solver.setParts(undefined, ambient);
  const sound = soundCourse(solver, condition);
  if (sound === undefined) return undefined;
  const course = fault ? courseLike(solver, condition, sound, { edit: fault.edit }) : sound;
  if (course === undefined) return undefined;
  const drawn: Course[] = [];
  for (let draw = 0; draw < DRAWS; draw++) {
    const storageDeviations = new Float64Array(storageOf(netlist).parameters.length);
    solver.setParts(drawnDeviations(netlist, draw, storageDeviations), ambient);
    const one = courseLike(solver, condition, sound, { storageDeviations });
    if (one !== undefined) drawn.push(one);
  }
  solver.setParts(undefined, ambient);
  const { from, to, repeats } = sound.span;
  const size = ({ instants }: Course): number => instants.findLastIndex((t) => t <= to + 1e-15) + 1;
  const [own, base] = [size(course), size(sound)];
  const waves = nets.map((net): ExpectedWave => {
    const instants = sound.instants.slice(0, base);
    const shown = drawn.map((one) => sampled(one.instants, one.volts[net]!, instants));
    const low = new Float64Array(base);
    const high = new Float64Array(base);
    for (let i = 0; i < base; i++) {
      const volts = shown.map((v) => v[i]!).sort((a, b) => a - b);
      low[i] = Math.min(volts[OUTSIDE] ?? Number.NaN, sound.volts[net]![i]!);
      high[i] = Math.max(volts.at(-1 - OUTSIDE) ?? Number.NaN, sound.volts[net]![i]!);
    }
    return {
      net,
      instants: course.instants.slice(0, own),
      volts: course.volts[net]!.slice(0, own),
      sound: { instants, volts: sound.volts[net]!.slice(0, base), low, high },
    };
  });
  return { from, to, repeats, waves };
}

/** A waveform of straight lines at other instants, which rise. */
function sampled(instants: Float64Array, volts: Float64Array, at: Float64Array): Float64Array {
  let j = 0;
  return at.map((t) => {
    while (j + 2 < instants.length && instants[j + 1]! < t) j++;
    const step = instants[j + 1]! - instants[j]!;
    const share = step > 0 ? Math.max(0, Math.min(1, (t - instants[j]!) / step)) : 0;
    return volts[j]! + share * ((volts[j + 1] ?? volts[j]!) - volts[j]!);
  });
}
