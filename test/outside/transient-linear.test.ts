/**
 * Waveforms of linear circuits against their closed forms, and the worked examples of textbooks.
 *
 * @source textbook_examples.csv, rows by their id: Bell, Solid State Pulse Circuits (through a companion of worked
 * solutions; numbers recomputed); the closed forms are those of any book on circuits
 */
import { describe, expect, test } from 'vitest';
import {
  CircuitSolver,
  type DriveWave,
  netlistOf,
  type Transient,
  type TransientTask,
  transient,
} from '../../src/circuit/index.ts';
import { sampleMachine } from '../../src/circuit/sample-machine.ts';

/** The waveform of net OUT while IN is driven. */
function waveform(
  parts: readonly string[],
  wave: DriveWave,
  to: number,
  options: Partial<TransientTask> = {},
): Transient {
  const solver = new CircuitSolver(netlistOf(sampleMachine({}, parts)));
  const probes = [solver.netlist.netIndex.get('OUT')!];
  const result = transient(solver, { drives: [{ net: 'IN', wave }], from: 0, to, probes, ...options });
  expect(result.converged).toBe(true);
  return result;
}

/** Volts at an instant, straight between samples. */
function at({ instants, volts: [v] }: Transient, t: number): number {
  let i = 1;
  while (i < instants.length - 1 && instants[i]! < t) i++;
  const share = (t - instants[i - 1]!) / (instants[i]! - instants[i - 1]!);
  return v![i - 1]! + share * (v![i]! - v![i - 1]!);
}

function apart(result: Transient, form: (t: number) => number): number {
  return Math.max(...Array.from(result.instants, (t, i) => Math.abs(result.volts[0]![i]! - form(t))));
}

const linear = { edge: 'linear', rise: 0, fall: 0 } as const;
function step(low: number, high: number, delay = 0): DriveWave {
  return { kind: 'bits', bits: '01', bit: 1e-9, low, high, delay, ...linear };
}

describe('the response of linear circuits', () => {
  // All edges take a nanosecond; the closed forms are those of a step half way through it.
  const late = 1.5e-9;

  test('an RC takes a step as 1 - exp(-t/RC), to its tolerance at every instant', () => {
    for (const tolerance of [1e-2, 1e-3, 1e-4]) {
      const result = waveform(['R1 10k 1=IN 2=OUT', 'C1 1n 1=OUT 2=0V'], step(0, 5), 1e-4, { tolerance });
      expect(apart(result, (t) => 5 * -Math.expm1(-Math.max(0, t - late) / 1e-5))).toBeLessThan(
        8 * tolerance,
      );
    }
  });

  test('an RL takes a step as 1 - exp(-tR/L), with the resistance of the wire', () => {
    // 1 mH with 5 ohms of wire, 100 ohms across the output.
    const result = waveform(['L1 1m 1=IN 2=OUT', 'R1 100 1=OUT 2=0V'], step(0, 2), 1e-4);
    const tau = 1e-3 / 105;
    expect(apart(result, (t) => (2 * 100 * -Math.expm1(-Math.max(0, t - late) / tau)) / 105)).toBeLessThan(
      0.01,
    );
  });

  test('an RLC rings at its damped frequency and dies away as its damping says', () => {
    const [r, l, c] = [105, 1e-3, 1e-9];
    const result = waveform(['R1 100 1=IN 2=M', 'L1 1m 1=M 2=OUT', 'C1 1n 1=OUT 2=0V'], step(0, 1), 6e-5, {
      tolerance: 1e-4,
    });
    const damping = r / (2 * l);
    const omega = Math.sqrt(1 / (l * c) - damping ** 2);
    const form = (t: number): number => {
      const s = Math.max(0, t - late);
      return 1 - Math.exp(-damping * s) * (Math.cos(omega * s) + (damping / omega) * Math.sin(omega * s));
    };
    expect(apart(result, form)).toBeLessThan(0.02);
    expect(Math.max(...result.volts[0]!)).toBeCloseTo(1 + Math.exp((-damping * Math.PI) / omega), 2);
  });

  test('rc-1: a capacitor at -3 V towards 6 V is at 1.956 V after 8 ms', () => {
    const result = waveform(['R1 10k 1=IN 2=OUT', 'C1 1u 1=OUT 2=0V'], step(-3, 6), 8e-3);
    expect(Math.abs(result.volts[0]!.at(-1)! / 1.95604 - 1)).toBeLessThan(0.01);
  });

  test('rc-2: the 10 to 90 % rise of 39k and 500 pF is 42.85 us', () => {
    const result = waveform(['R1 39k 1=IN 2=OUT', 'C1 500p 1=OUT 2=0V'], step(0, 1), 2e-4, {
      tolerance: 1e-4,
    });
    const crossing = (level: number): number => {
      const v = result.volts[0]!;
      const i = v.findIndex((x) => x >= level);
      const share = (level - v[i - 1]!) / (v[i]! - v[i - 1]!);
      return result.instants[i - 1]! + share * (result.instants[i]! - result.instants[i - 1]!);
    };
    expect(Math.abs((crossing(0.9) - crossing(0.1)) / 42.8459e-6 - 1)).toBeLessThan(0.005);
  });

  test('rc-3: 20 V on for 4 ms, off for 4, on for 4, then 2 ms off leave 8.342 V on 3.3 ms', () => {
    const wave: DriveWave = {
      kind: 'pulses',
      low: 0,
      high: 20,
      delay: 0,
      width: 4e-3,
      period: 8e-3,
      ...linear,
    };
    const result = waveform(['R1 3.3k 1=IN 2=OUT', 'C1 1u 1=OUT 2=0V'], wave, 14e-3);
    expect(Math.abs(result.volts[0]!.at(-1)! / 8.34206 - 1)).toBeLessThan(0.005);
  });

  test('rc-5: 10k and 20 uF integrate 10 V for 1 ms to 49.9 mV', () => {
    const result = waveform(['R1 10k 1=IN 2=OUT', 'C1 20u 1=OUT 2=0V'], step(0, 10), 1e-3);
    expect(Math.abs(result.volts[0]!.at(-1)! / 49.8752e-3 - 1)).toBeLessThan(0.005);
    expect(at(result, 0.5e-3)).toBeCloseTo(25e-3, 3);
  });
});
