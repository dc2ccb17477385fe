/**
 * The clock board of the demo machine, running: what it does sound, and under every tenth of its faults there is a waveform that
 * ends where it should. That a circuit under a fault still obeys Kirchhoff is the reference.
 */
import { describe, expect, test } from 'vitest';
import { tideGauge } from '../../demo/machine/index.ts';
import { CircuitSolver, netlistOf, type Transient, transient } from '../../src/circuit/index.ts';
import { faultHypotheses } from '../../src/faults/index.ts';

const whole = tideGauge();
const board = {
  ...whole,
  parts: whole.parts.filter((p) => p.board === 'CLK'),
  rails: [
    ['-12V', -12],
    ['-6V', -6],
    ['+6V', 6],
  ].map(([net, volts]) => ({ net: String(net), volts: Number(volts), tolerance: 5 })),
};
const solver = new CircuitSolver(netlistOf(board));
const NETS = ['OSC', 'CK', 'PH', 'P1', 'K1'];
const task = {
  drives: [],
  released: [{ net: 'OSC', volts: -6 }],
  from: 0,
  probes: NETS.map((n) => solver.netlist.netIndex.get(n)!),
  thin: 0.05,
};

/** How often a net goes from below -5 V to above -1 V. */
function rises({ volts }: Transient, net: string): number {
  let count = 0;
  let low = false;
  for (const v of volts[NETS.indexOf(net)]!) {
    if (v < -5) low = true;
    else if (v > -1 && low) {
      count++;
      low = false;
    }
  }
  return count;
}

describe('a running clock board', () => {
  test('swings at some 300 c/s, halves that for its phases, and halves again', () => {
    const sound = transient(solver, { ...task, to: 40e-3 });
    expect(sound.converged).toBe(true);
    expect(rises(sound, 'CK')).toBeGreaterThanOrEqual(12);
    expect(rises(sound, 'CK')).toBeLessThanOrEqual(14);
    expect(Math.abs(rises(sound, 'PH') - rises(sound, 'CK') / 2)).toBeLessThanOrEqual(1);
    expect(Math.abs(rises(sound, 'K1') - rises(sound, 'CK') / 4)).toBeLessThanOrEqual(1);
  });

  test('has a waveform under its faults', () => {
    const faults = faultHypotheses(solver.netlist).flatMap((h) => h.faults);
    expect(faults.length).toBeGreaterThan(1000);
    const lost = faults
      .filter((_, i) => i % 16 === 0)
      .map((f) => ({ f, result: transient(solver, { ...task, to: 2e-3, edit: f.edit }) }))
      .filter(({ result }) => !result.converged || result.end.at !== 2e-3)
      .map(({ f, result }) => `${f.part} ${f.mode} ${f.severity}: ${result.why} at ${result.end.at}`);
    expect(lost).toEqual([]);
  }, 60_000);

  test('stands still with a broken coupling of its oscillator', () => {
    const open = faultHypotheses(solver.netlist).find((h) => h.part === 'CLK/C1' && h.mode === 'open')!;
    const dead = transient(solver, { ...task, to: 20e-3, edit: open.faults[0]!.edit });
    expect(dead.converged).toBe(true);
    expect(rises(dead, 'CK')).toBeLessThanOrEqual(2);
  });
});
