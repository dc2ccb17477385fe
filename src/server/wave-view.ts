import { type Machine, partNamed } from '../machine/index.ts';
import { cautionAt, modeWords, type PredictedWaves } from '../workbench/index.ts';
import type { WavesView } from './wave-views.ts';

/** A tenth of a millivolt is finer than any screen. */
const VOLTS = 1e-4;
/** Digits of an instant: a hundred-thousandth of what is watched, wherever it lies. */
const DIGITS = 10;

export function wavesView(machine: Machine, revision: number, found: PredictedWaves): WavesView {
  const { condition, fault, severity = '', from, to, repeats, waves } = found;
  const [first] = waves;
  const part = fault && partNamed(machine, fault.part);
  return {
    ...{ revision, state: condition, noAnswer: '', from, to, repeats },
    instants: first ? rounded(first.sound.instants) : [],
    faultInstants: first && fault ? rounded(first.instants) : [],
    fault: fault
      ? {
          key: `${fault.part}:${fault.mode}`,
          part: fault.part,
          words: [part?.type || part?.kind, modeWords(fault.mode, part?.kind)].filter(Boolean).join(', '),
          severity,
        }
      : null,
    waves: waves.map(({ point, volts, sound }) => ({
      point,
      caution: cautionAt(machine, point),
      volts: coarse(sound.volts),
      low: coarse(sound.low),
      high: coarse(sound.high),
      faultVolts: fault ? coarse(volts) : [],
    })),
  };
}

/** That there is none, and why. */
export function noWaves(revision: number, state: string, why: string): WavesView {
  return {
    ...{ revision, state, noAnswer: why, from: 0, to: 0, repeats: false },
    ...{ instants: [], faultInstants: [], fault: null, waves: [] },
  };
}

function coarse(volts: Float64Array): number[] {
  return Array.from(volts, (v) => Math.round(v / VOLTS) / Math.round(1 / VOLTS));
}

function rounded(instants: Float64Array): number[] {
  return Array.from(instants, (t) => Number(t.toPrecision(DIGITS)));
}
