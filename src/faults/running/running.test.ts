import { describe, expect, it } from 'vitest';
import { CircuitSolver, netlistOf } from '../../circuit/index.ts';
import type { Machine } from '../../machine/index.ts';
import { readMachine } from '../../machine/index.ts';
import { isMeasured, measurement } from '../../waveform/index.ts';
import { FIGURES, figureOf, nearFigures, ROW, sameFigures, writeFigures } from './figures.ts';
import { courseLike, soundCourse } from './follow.ts';
import { spanOf } from './span.ts';

function machineOf(parts: string, conditions: string, states = ''): Machine {
  const rails = [
    { net: '-12V', volts: -12 },
    { net: '+6V', volts: 6 },
  ];
  const files: Record<string, string> = {
    'machine.json': JSON.stringify({ format: 1, name: 'm', reference: '0V', rails }),
    'parts.csv': `board,ref,kind,type,value,pins\n${parts}`,
    'conditions.csv': `condition,net,role,volts,ohms,wave\n${conditions}`,
    ...(states === '' ? {} : { 'states.csv': `condition,watch\n${states}` }),
  };
  const { machine, findings } = readMachine(
    new Map(Object.entries(files).map(([name, text]) => [name, new TextEncoder().encode(text)])),
  );
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return machine!;
}

const RC = 'A,R1,resistor,,10k,1=IN 2=OUT\nA,C1,capacitor,,1n,1=OUT 2=0V\n';

describe('the stretch of a running state', () => {
  const span = (conditions: string, states = ''): ReturnType<typeof spanOf> =>
    spanOf(machineOf(RC, conditions, states).conditions[0]!);

  it('is one common period of drives that repeat, from where all have begun', () => {
    const bits = 'a,OUT,drive,,1k,bits 0110 bit=75u low=-6 high=0 repeat';
    const found = span(`a,IN,drive,,,pulses low=-6 high=0 width=20u period=100u delay=350u\n${bits}`);
    expect(found.repeats).toBe(true);
    expect(found.from).toBeCloseTo(600e-6, 12);
    expect(found.to).toBeCloseTo(900e-6, 12);
  });

  it('is some turns of the slowest drive where drives repeat and never together', () => {
    const other = 'a,OUT,drive,,1k,pulses low=-6 high=0 width=2m period=13.337m delay=1m';
    expect(span(`a,IN,drive,,,pulses low=-6 high=0 width=2m period=10m\n${other}`)).toEqual({
      from: 1e-3,
      to: expect.closeTo(1e-3 + 4 * 13.337e-3, 12),
      repeats: false,
    });
  });

  it('is from 0 until after the last edge where a drive ends', () => {
    const found = span('a,IN,drive,,,samples 0:0 1m:0 1.1m:-6 3.1m:-6 3.2m:0');
    expect(found).toEqual({ from: 0, to: 3.2e-3 + 5 * 2e-3, repeats: false });
  });

  it('is what is watched, where that is said', () => {
    expect(span('a,IN,drive,,,pulses low=-6 high=0 width=20u period=100u', 'a,1m..2m')).toEqual({
      from: 1e-3,
      to: 2e-3,
      repeats: false,
    });
  });
});

describe('the figures of a waveform', () => {
  /** Trapezoids between -6 and 0, one a period. */
  const corners = (turns: number, width: number): [Float64Array, Float64Array] => {
    const [t, v]: number[][] = [[], []];
    for (let k = 0; k < turns; k++) {
      const at = k * 100e-6;
      t!.push(at, at + 10e-6, at + 14e-6, at + 10e-6 + width, at + 18e-6 + width);
      v!.push(-6, -6, 0, 0, -6);
    }
    t!.push(turns * 100e-6);
    v!.push(-6);
    return [Float64Array.from(t!), Float64Array.from(v!)];
  };
  const figures = (instants: Float64Array, volts: Float64Array): Record<string, number> => {
    const row = new Float32Array(ROW);
    writeFigures(instants, volts, row, 0);
    return Object.fromEntries(FIGURES.map((name, i) => [name, row[i]!]));
  };

  it('are those of its corners', () => {
    const found = figures(...corners(3, 30e-6));
    expect(found.high).toBeCloseTo(0, 2);
    expect(found.low).toBeCloseTo(-6, 2);
    expect(found.Vpp).toBeCloseTo(6, 6);
    // High for 26 us, and on the way for 4 and 8.
    expect(found.average).toBeCloseTo(-6 + (6 * (26 + 6)) / 100, 4);
    expect(found.period! * 1e6).toBeCloseTo(100, 2);
    expect(found.width! * 1e6).toBeCloseTo(32, 1);
    expect(found.rise! * 1e6).toBeCloseTo(3.2, 1);
    expect(found.fall! * 1e6).toBeCloseTo(6.4, 1);
  });

  it('are those that the measurement of a capture gives of the same waveform, evenly sampled', () => {
    const [instants, volts] = corners(4, 30e-6);
    const own = figures(instants, volts);
    const values = new Float32Array(8001);
    for (let i = 0, k = 0; i < values.length; i++) {
      const t = Math.min(i * 5e-8, instants.at(-1)!);
      while (k + 2 < instants.length && instants[k + 1]! < t) k++;
      const share = (t - instants[k]!) / (instants[k + 1]! - instants[k]!);
      values[i] = volts[k]! + share * (volts[k + 1]! - volts[k]!);
    }
    const m = measurement({ name: '', unit: 'V', timebase: { start: 0, step: 5e-8 }, values });
    const theirs = {
      ...{ high: m.levels.high, low: m.levels.low, average: m.average, Vpp: m.peakToPeak },
      ...{ width: m.pulseDuration, period: m.period, rise: m.rise.duration, fall: m.fall.duration },
    };
    for (const [name, estimate] of Object.entries(theirs)) {
      const value = isMeasured(estimate) ? estimate.value : Number.NaN;
      expect(Math.abs(own[name]! - value), name).toBeLessThan(
        0.01 * Math.abs(value) +
          0.01 * (name.length > 6 ? 1 : 0) +
          (['high', 'low'].includes(name) ? 0.02 : 0),
      );
    }
  });

  it('are none but a level of what does not move', () => {
    const found = figures(Float64Array.of(0, 1, 3), Float64Array.of(-6, -6.01, -6));
    expect([found.high, found.low, found.width, found.rise]).toEqual([
      expect.closeTo(-6.005, 5),
      expect.closeTo(-6.005, 5),
      Number.NaN,
      Number.NaN,
    ]);
  });

  it('have a delay from each edge of another waveform to the next one here', () => {
    const rows = [0, 3e-6].map((later) => {
      const [instants, volts] = corners(3, 30e-6);
      const row = new Float32Array(ROW);
      writeFigures(
        instants.map((t) => t + later),
        volts,
        row,
        0,
      );
      return row;
    });
    expect(figureOf('delay:A', rows[1]!, rows[0]!) * 1e6).toBeCloseTo(3, 2);
    // What comes before follows only with its next edge: three times before it is high for 32 us, twice before it is low for 68.
    expect(figureOf('delay:A', rows[0]!, rows[1]!) * 1e6).toBeCloseTo((3 * (32 - 3) + 2 * (68 - 3)) / 5, 1);
    expect(figureOf('Hz', rows[0]!)).toBeCloseTo(10_000, 0);
    expect(sameFigures(rows[0]!, rows[1]!)).toBe(false);
    expect(nearFigures(rows[0]!, rows[1]!)).toBe(true);
  });
});

describe('a running state followed', () => {
  it('comes to the state that repeats with the drives, whole pulses in view', () => {
    const machine = machineOf(RC, 'a,IN,drive,,,pulses low=-6 high=0 width=30u period=100u delay=40u');
    const solver = new CircuitSolver(netlistOf(machine));
    const course = soundCourse(solver, machine.conditions[0]!)!;
    expect(course.settled).toBe(true);
    const row = new Float32Array(ROW);
    writeFigures(course.instants, course.volts[solver.netlist.netIndex.get('OUT')!]!, row, 0);
    // Both its edges are late by some ln 2 of the 10 us of the RC.
    expect(Math.abs(figureOf('width', row) * 1e6 - 30)).toBeLessThan(1);
    expect(figureOf('period', row) * 1e6).toBeCloseTo(100, 2);
    expect(figureOf('average', row)).toBeCloseTo(-6 + 0.3 * 6, 1);
  });

  it('of a divider is as long as it takes to come back to where it began', () => {
    const side = (own: string, other: string): string =>
      [
        `A,Q${own},transistor,2N1305,,e=0V b=b${own} c=${own}`,
        `A,Rs${own},resistor,,6k8,1=${other} 2=b${own}`,
        `A,Cs${own},capacitor,,220p,1=${other} 2=b${own}`,
        `A,Rb${own},resistor,,47k,1=b${own} 2=+6V`,
        `A,Rl${own},resistor,,3k3,1=${own} 2=-12V`,
        `A,Ct${own},capacitor,,1n,1=t${own} 2=CK`,
        `A,Rt${own},resistor,,22k,1=t${own} 2=${own}`,
        `A,Dt${own},diode,GE-DIODE,,a=t${own} k=b${own}\n`,
      ].join('\n');
    const machine = machineOf(
      side('P', 'N') + side('N', 'P'),
      'a,CK,drive,,470,pulses low=-6 high=0 width=50u period=100u edge=1u\na,P,hint,-6,,',
    );
    const solver = new CircuitSolver(netlistOf(machine));
    const [condition] = machine.conditions;
    const course = soundCourse(solver, condition!)!;
    expect(course.span.to - course.span.from).toBeCloseTo(200e-6, 12);
    const row = new Float32Array(ROW);
    const at = solver.netlist.netIndex.get('P')!;
    writeFigures(course.instants, course.volts[at]!, row, 0);
    expect(figureOf('period', row) * 1e6).toBeCloseTo(200, 1);
    // Again from there with the same parts it is the same, but for the noise of the steps.
    const again = courseLike(solver, condition!, course, {})!;
    const other = new Float32Array(ROW);
    writeFigures(again.instants, again.volts[at]!, other, 0);
    expect(sameFigures(row, other)).toBe(true);
  });

  it('begins where its drive rests before time 0', () => {
    const machine = machineOf(RC, 'a,IN,drive,-6,,0', 'a,50u');
    const solver = new CircuitSolver(netlistOf(machine));
    const course = soundCourse(solver, machine.conditions[0]!)!;
    const out = course.volts[solver.netlist.netIndex.get('OUT')!]!;
    expect(out[0]).toBeCloseTo(-6, 2);
    expect(out.at(-1)).toBeCloseTo(-6 * Math.exp(-5), 1);
  });
});
