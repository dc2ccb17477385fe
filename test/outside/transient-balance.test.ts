/**
 * What no waveform may break: charge and energy are conserved, currents balance, finer steps change nothing, a transformer
 * transforms; on random networks. And the state that repeats, against the textbook and against waiting.
 *
 * @source textbook_examples.csv, row rc-4: Bell, Solid State Pulse Circuits, Example 2-9 (through a companion of worked
 * solutions; number recomputed); the laws are Kirchhoff's and Faraday's
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  CircuitSolver,
  type DriveWave,
  netlistOf,
  type PeriodicState,
  periodicState,
  storageOf,
  type Transient,
  type TransientTask,
  transient,
  WINDING_COUPLING,
} from '../../src/circuit/index.ts';
import { sampleMachine } from '../../src/circuit/sample-machine.ts';

const pulse: DriveWave = {
  kind: 'pulses',
  low: 0,
  high: 5,
  delay: 1e-5,
  width: 2e-4,
  period: 5e-4,
  edge: 'linear',
  rise: 1e-5,
  fall: 2e-5,
};

function solverOf(parts: readonly string[], rails: Readonly<Record<string, number>> = {}): CircuitSolver {
  return new CircuitSolver(netlistOf(sampleMachine(rails, parts)));
}
function wavesOf(solver: CircuitSolver, nets: readonly string[], task: Partial<TransientTask>): Transient {
  const probes = nets.map((n) => solver.netlist.netIndex.get(n)!);
  const result = transient(solver, {
    drives: [{ net: 'IN', wave: pulse }],
    from: 0,
    to: 4e-4,
    probes,
    ...task,
  });
  expect(result.converged).toBe(true);
  return result;
}

/** Resistors and capacitors between IN, 0V and four nets; a chain of resistors joins all. */
const NETS = ['IN', 'N1', 'N2', 'N3', 'N4', '0V'];
const network = fc
  .array(
    fc.record({
      capacitor: fc.boolean(),
      a: fc.integer({ min: 0, max: 5 }),
      b: fc.integer({ min: 0, max: 5 }),
      size: fc.integer({ min: 1, max: 99 }),
    }),
    { minLength: 3, maxLength: 12 },
  )
  .map((list) => [
    ...[1, 2, 3, 4, 5].map((i) => `R${i} ${i}k 1=${NETS[i - 1]} 2=${NETS[i]}`),
    ...list
      .filter(({ a, b }) => a !== b)
      .map(({ capacitor, a, b, size }, i) =>
        capacitor
          ? `C${i + 1} ${size}n 1=${NETS[a]} 2=${NETS[b]}`
          : `R${i + 10} ${size}k 1=${NETS[a]} 2=${NETS[b]}`,
      ),
  ]);

describe('in any network of resistors and capacitors', () => {
  test('what the source gives is what resistors turn to heat and capacitors keep', () => {
    fc.assert(
      fc.property(network, (parts) => {
        const solver = solverOf(parts);
        const { instants, volts } = wavesOf(solver, NETS, { tolerance: 1e-4, longestStep: 2e-6 });
        const { netlist } = solver;
        const at = (net: number): number => NETS.indexOf(netlist.nets[net]!);
        const v = (net: number, i: number): number => volts[at(net)]![i]!;
        const { capacitances } = storageOf(netlist);
        let heat = 0;
        let given = 0;
        const steps = instants.length - 1;
        const source = netlist.netIndex.get('IN')!;
        for (let i = 0; i < steps; i++) {
          const dt = instants[i + 1]! - instants[i]!;
          let out = 0;
          for (const { a, b, siemens } of netlist.conductances) {
            const d0 = v(a, i) - v(b, i);
            const d1 = v(a, i + 1) - v(b, i + 1);
            heat += (siemens * dt * (d0 * d0 + d0 * d1 + d1 * d1)) / 3;
            if (a === source) out += (siemens * dt * (d0 + d1)) / 2;
            if (b === source) out -= (siemens * dt * (d0 + d1)) / 2;
          }
          for (const { a, b, farads } of capacitances) {
            const moved = farads * (v(a, i + 1) - v(b, i + 1) - v(a, i) + v(b, i));
            if (a === source) out += moved;
            if (b === source) out -= moved;
          }
          given += (out * (v(source, i) + v(source, i + 1))) / 2;
        }
        const kept = capacitances.reduce(
          (sum, c) => sum + (c.farads * (v(c.a, steps) - v(c.b, steps)) ** 2) / 2,
          0,
        );
        expect(Math.abs(given - heat - kept)).toBeLessThan(0.01 * (heat + kept));
      }),
      { numRuns: 40 },
    );
  });

  test('the charge that runs into a net over all its parts is none', () => {
    fc.assert(
      fc.property(network, fc.constantFrom(1e-2, 1e-3), (parts, tolerance) => {
        const solver = solverOf(parts);
        const { instants, volts } = wavesOf(solver, NETS, { tolerance });
        const { netlist } = solver;
        const { capacitances } = storageOf(netlist);
        for (const name of ['N1', 'N2', 'N3', 'N4']) {
          const net = netlist.netIndex.get(name)!;
          const sign = (e: { a: number; b: number }): number => (e.a === net ? 1 : e.b === net ? -1 : 0);
          const d = (e: { a: number; b: number }, i: number): number =>
            volts[NETS.indexOf(netlist.nets[e.a]!)]![i]! - volts[NETS.indexOf(netlist.nets[e.b]!)]![i]!;
          let moved = 0;
          let size = 0;
          for (let i = 1; i < instants.length; i++) {
            const dt = instants[i]! - instants[i - 1]!;
            // Steps of a trapezoid conduct the mean of their ends but for those out of a corner, which conduct their end.
            for (const c of netlist.conductances) {
              const part = (sign(c) * c.siemens * dt * (d(c, i) + d(c, i - 1))) / 2;
              moved += part;
              size += Math.abs(part);
            }
          }
          const last = instants.length - 1;
          for (const c of capacitances) {
            moved += sign(c) * c.farads * (d(c, last) - d(c, 0));
            size += Math.abs(sign(c) * c.farads * (d(c, last) - d(c, 0)));
          }
          expect(Math.abs(moved)).toBeLessThan(10 * tolerance * size + 1e-15);
        }
      }),
      { numRuns: 40 },
    );
  });

  test('nets that only capacitors join to the rest keep their charge', () => {
    const parts = [
      'C1 10n 1=IN 2=P',
      'R1 10k 1=P 2=Q',
      'C2 22n 1=Q 2=0V',
      'C3 4.7n 1=P 2=0V',
      'C4 1n 1=Q 2=IN',
    ];
    const solver = solverOf(parts);
    const { instants, volts } = wavesOf(solver, ['IN', 'P', 'Q'], { to: 4e-3 });
    instants.forEach((_, i) => {
      const [input, p, q] = volts.map((v) => v[i]!) as [number, number, number];
      const charge = 10e-9 * (p - input) + 22e-9 * q + 4.7e-9 * p + 1e-9 * (q - input);
      // The capacitors leak 1e-10 S each.
      expect(Math.abs(charge)).toBeLessThan(4e-10 * 5 * 4e-3 + 1e-15);
    });
  });

  test('finer steps give the same', () => {
    fc.assert(
      fc.property(network, (parts) => {
        const solver = solverOf(parts);
        const end = (tolerance: number): readonly Float64Array[] =>
          wavesOf(solver, ['N1', 'N2', 'N3', 'N4'], { tolerance }).volts;
        const [coarse, fine] = [end(2e-3), end(5e-5)];
        for (let p = 0; p < 4; p++)
          expect(Math.abs(coarse[p]!.at(-1)! - fine[p]!.at(-1)!)).toBeLessThan(0.01);
      }),
      { numRuns: 40 },
    );
  });

  test('a run that goes on from where one ended is one run', () => {
    const parts = ['R1 1k 1=IN 2=N1', 'L1 10m 1=N1 2=N2', 'C1 10n 1=N2 2=0V', 'R2 10k 1=N2 2=0V'];
    const solver = solverOf(parts);
    const task = { tolerance: 1e-4 };
    const whole = wavesOf(solver, ['N2'], task);
    const first = wavesOf(solver, ['N2'], { ...task, to: 1.3e-4 });
    const second = wavesOf(solver, ['N2'], { ...task, from: 1.3e-4, start: first.end });
    expect(second.volts[0]!.at(-1)).toBeCloseTo(whole.volts[0]!.at(-1)!, 2);
    expect(second.end.windings[0]).toBeCloseTo(whole.end.windings[0]!, 5);
  });
});

describe('a drive', () => {
  test('may be a rail: switching on', () => {
    const solver = solverOf(['R1 1k 1=-12V 2=OUT', 'C1 1u 1=0V 2=OUT'], { '-12V': -12 });
    const on: DriveWave = { kind: 'samples', instants: [0, 1e-3], volts: [0, -12] };
    const { volts, instants } = wavesOf(solver, ['OUT', '-12V'], {
      drives: [{ net: '-12V', wave: on }],
      to: 6e-3,
    });
    // A ramp of 1 ms into 1 ms: -12 (u - 1 + exp(-u)) up to its end.
    const i = instants.findIndex((t) => t >= 1e-3);
    expect(volts[0]![0]).toBeCloseTo(0, 6);
    expect(instants[i]).toBe(1e-3);
    expect(volts[0]![i]).toBeCloseTo(-12 * Math.exp(-1), 1);
    expect(volts[0]!.at(-1)).toBeCloseTo(-12 + 12 * (Math.E - 1) * Math.exp(-6), 1);
  });

  test('and another whose edges fall together but for rounding are taken in one', () => {
    const solver = solverOf(['R1 1k 1=IN 2=OUT', 'R2 1k 1=IN2 2=OUT', 'C1 1n 1=OUT 2=0V']);
    const one: DriveWave = {
      ...pulse,
      delay: 0.1,
      width: 0.1,
      period: 0.3,
      rise: 0.01,
      fall: 0.01,
    } as DriveWave;
    const two: DriveWave = {
      kind: 'bits',
      bits: '100',
      bit: 0.1,
      low: 0,
      high: 5,
      delay: 0.1,
      repeat: true,
      edge: 'linear',
      rise: 0.01,
      fall: 0.01,
    };
    const drives = [
      { net: 'IN', wave: one },
      { net: 'IN2', wave: two },
    ];
    const result = wavesOf(solver, ['OUT'], { drives, to: 3 });
    expect(Math.max(...result.volts[0]!)).toBeCloseTo(5, 2);
    expect(result.steps).toBeLessThan(2000);
    // Nothing is nearer than a picosecond.
    const nearest = result.instants.reduce(
      (least, t, i) => (i > 0 ? Math.min(least, t - result.instants[i - 1]!) : least),
      1,
    );
    expect(nearest).toBeGreaterThan(1e-12);
  });

  test('through a resistance divides with the load, and thinned tells the same', () => {
    const solver = solverOf(['R1 1k 1=IN 2=0V', 'C1 1n 1=IN 2=0V']);
    const drives = [{ net: 'IN', wave: pulse, ohms: 1000 }];
    const all = wavesOf(solver, ['IN'], { drives });
    expect(Math.max(...all.volts[0]!)).toBeCloseTo(2.5, 2);
    const thin = wavesOf(solver, ['IN'], { drives, thin: 0.02 });
    expect(thin.instants.length).toBeLessThan(all.instants.length / 3);
    expect(Math.max(...thin.volts[0]!)).toBeCloseTo(2.5, 1);
  });
});

describe('deviations of the storage', () => {
  test('move what they name by their spread, and nothing else', () => {
    const solver = solverOf(['R1 10k 1=IN 2=OUT', 'C1 10n 1=OUT 2=0V', 'C2 1n 1=IN 2=0V']);
    const { parameters } = storageOf(solver.netlist);
    expect(parameters.map((p) => `${p.owner} ${p.kind}`)).toEqual(['B/C1 farads', 'B/C2 farads']);
    const end = (deviations: readonly number[]): number =>
      wavesOf(solver, ['OUT'], { to: 1.1e-4, storageDeviations: Float64Array.from(deviations) }).volts[0]!.at(
        -1,
      )!;
    expect(end([0, 3])).toBe(end([0, 0]));
    // One of a tolerance of 10 %: six hundredths more.
    const tau = 1e-4 * Math.exp(0.06);
    const rise = (t: number): number => 5 * (1 - (tau / 1e-5) * Math.expm1(1e-5 / tau) * Math.exp(-t / tau));
    expect(end([1, 0])).toBeCloseTo(rise(1e-4), 2);
  });
});

describe('a transformer', () => {
  test('turns voltages by the root of its windings’ ohms and their coupling, with the same side first', () => {
    // 10 and 40 ohms: twice the turns.
    const solver = solverOf(['R1 100 1=IN 2=P', 'T1 10 40 1a=P 1b=0V 2a=S 2b=0V', 'R2 100k 1=S 2=0V']);
    const { instants, volts } = wavesOf(solver, ['P', 'S'], { to: 1e-4, tolerance: 1e-4 });
    const i = instants.findIndex((t) => t > 5e-5);
    expect(volts[1]![i]! / volts[0]![i]!).toBeGreaterThan(2 * WINDING_COUPLING * 0.95);
    expect(volts[1]![i]! / volts[0]![i]!).toBeLessThan(2 * 1.12);
  });

  test('with an open winding passes nothing on, with a shorted one hardly anything', () => {
    const solver = solverOf(['R1 100 1=IN 2=P', 'T1 10 40 1a=P 1b=0V 2a=S 2b=0V', 'R2 100k 1=S 2=0V']);
    const most = (edit: TransientTask['edit']): number => {
      const { volts } = wavesOf(solver, ['S'], edit ? { edit, to: 1e-4 } : { to: 1e-4 });
      return Math.max(...volts[0]!.map(Math.abs));
    };
    const [first] = solver.netlist.elementsOf.get('B/T1')!.conductances;
    const [p, ground] = [solver.netlist.netIndex.get('P')!, solver.netlist.reference];
    expect(most(undefined)).toBeGreaterThan(1);
    expect(most({ conductance: [{ element: first!, siemens: 0 }] })).toBeLessThan(1e-3);
    expect(most({ bridge: [{ a: p, b: ground, siemens: 1 }] })).toBeLessThan(0.2);
  });
});

describe('the state that repeats', () => {
  const square = (low: number, high: number, period: number): DriveWave => ({
    kind: 'pulses',
    low,
    high,
    delay: 0,
    width: period / 2,
    period,
    edge: 'linear',
    rise: 0,
    fall: 0,
  });
  function repeating(
    solver: CircuitSolver,
    wave: DriveWave,
    period: number,
    waitOnly: boolean,
  ): PeriodicState {
    const probes = [solver.netlist.netIndex.get('OUT')!];
    return periodicState(solver, { drives: [{ net: 'IN', wave }], from: 0, period, probes, waitOnly });
  }

  test('rc-4: of 3.3 ms under a symmetrical 20 V square wave of 4 ms each swings from 4.59 to 15.41 V', () => {
    const solver = solverOf(['R1 3.3k 1=IN 2=OUT', 'C1 1u 1=OUT 2=0V']);
    const { found, waveform } = repeating(solver, square(0, 20, 8e-3), 8e-3, false);
    expect(found).toBe(true);
    expect(Math.abs(Math.max(...waveform.volts[0]!) / 15.4135 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(Math.min(...waveform.volts[0]!) / (20 - 15.4135) - 1)).toBeLessThan(2e-3);
  });

  test('of a slow coupling is found in far fewer periods than waiting takes, and is the same', () => {
    // 10 uF into 10k: a hundred periods of a millisecond.
    const parts = ['C1 10u 1=IN 2=OUT', 'R1 10k 1=OUT 2=0V', 'R2 4.7k 1=OUT 2=X', 'C2 22u 1=X 2=0V'];
    const quick = repeating(solverOf(parts), square(0, 5, 1e-3), 1e-3, false);
    const waited = repeating(solverOf(parts), square(0, 5, 1e-3), 1e-3, true);
    expect(quick.found).toBe(true);
    expect(quick.by).toBe('extrapolation');
    expect(quick.periods).toBeLessThan(25);
    expect(waited.periods).toBeGreaterThan(3 * quick.periods);
    expect(waited.by).toBe('waiting');
    // A coupled square wave has no mean.
    const [low, high] = [Math.min(...quick.waveform.volts[0]!), Math.max(...quick.waveform.volts[0]!)];
    expect(Math.abs(low + high)).toBeLessThan(0.03);
    expect(high - low).toBeCloseTo(5, 1);
  });

  test('under a fault is reached from the sound one, however far it lies', () => {
    const parts = [
      'C1 100n 1=IN 2=G',
      'R1 47k 1=G 2=-12V',
      'R2 10k 1=G 2=0V',
      'Q1 GP e=E b=G c=OUT',
      'R3 1k 1=E 2=0V',
      'C2 10u 1=0V 2=E',
      'R4 3.3k 1=OUT 2=-12V',
      'C3 1u 1=OUT 2=X',
      'R5 10k 1=X 2=0V',
    ];
    const solver = solverOf(parts, { '-12V': -12 });
    const wave = { ...square(-0.05, 0.05, 1e-3), rise: 1e-5, fall: 1e-5 } as DriveWave;
    const probes = [solver.netlist.netIndex.get('OUT')!];
    const task = { drives: [{ net: 'IN', wave }], from: 0, period: 1e-3, probes, tolerance: 5e-4 };
    const sound = periodicState(solver, task);
    expect(sound.found).toBe(true);
    for (const [ref, siemens] of [
      ['B/R1', 0],
      ['B/R4', 1 / 33e3],
      ['B/C2', 0],
      ['B/R5', 1],
    ] as const) {
      const element = solver.netlist.elementsOf.get(ref)!.conductances[0]!;
      const edit = { conductance: [{ element, siemens }] };
      const warm = periodicState(solver, { ...task, edit, start: sound.waveform.end });
      const waited = periodicState(solver, {
        ...task,
        edit,
        waitOnly: true,
        agreement: 1e-3,
        mostPeriods: 1000,
      });
      expect(warm.found, ref).toBe(true);
      expect(waited.found, ref).toBe(true);
      const [a, b] = [warm.waveform.volts[0]!, waited.waveform.volts[0]!];
      expect(Math.abs(Math.max(...a) - Math.max(...b)), ref).toBeLessThan(0.02);
      expect(Math.abs(Math.min(...a) - Math.min(...b)), ref).toBeLessThan(0.02);
    }
  });

  test('of a stage that halves its clock is none over one period, and is said so', () => {
    const parts = [
      'R1 2.2k 1=C1 2=VCC',
      'R2 2.2k 1=OUT 2=VCC',
      'Q1 SN e=0V b=B1 c=C1',
      'Q2 SN e=0V b=B2 c=OUT',
      'R3 15k 1=C1 2=B2',
      'R4 15k 1=OUT 2=B1',
      'C1 100p 1=C1 2=B2',
      'C2 100p 1=OUT 2=B1',
      'D1 SD a=B1 k=T1',
      'D2 SD a=B2 k=T2',
      'R7 150k 1=T1 2=C1',
      'R8 150k 1=T2 2=OUT',
      'C3 47p 1=T1 2=IN',
      'C4 47p 1=T2 2=IN',
    ];
    const solver = solverOf(parts, { VCC: 9 });
    const wave = { ...square(0, 9, 1e-4), rise: 1e-7, fall: 1e-7 } as DriveWave;
    const hints = [
      { net: 'C1', volts: 9 },
      { net: 'OUT', volts: 0 },
    ];
    const probes = [solver.netlist.netIndex.get('OUT')!];
    const task = { drives: [{ net: 'IN', wave }], hints, from: 0, probes, mostPeriods: 12 };
    const once = periodicState(solver, { ...task, period: 1e-4 });
    expect(once.found).toBe(false);
    const twice = periodicState(solver, { ...task, period: 2e-4 });
    expect(twice.found).toBe(true);
    const [low, high] = [Math.min(...twice.waveform.volts[0]!), Math.max(...twice.waveform.volts[0]!)];
    expect(high - low).toBeGreaterThan(6);
  });
});

describe('an inductive load', () => {
  const parts = ['R1 4.7k 1=IN 2=B', 'Q1 GP e=0V b=B c=OUT', 'L1 1 1=OUT 2=-12V'];
  const keyed: DriveWave = {
    kind: 'samples',
    instants: [0, 1e-3, 1.001e-3, 5e-3, 5.001e-3],
    volts: [0, 0, -6, -6, 0],
  };
  const task = { drives: [{ net: 'IN', wave: keyed }], to: 7e-3 };

  test('keeps its current when the switch opens: a diode across it takes it over', () => {
    const solver = solverOf([...parts, 'D1 SD a=-12V k=OUT'], { '-12V': -12 });
    const back = solverOf([...parts, 'D1 SD a=OUT k=-12V'], { '-12V': -12 });
    const opened = (s: CircuitSolver): number => Math.min(...wavesOf(s, ['OUT'], task).volts[0]!);
    expect(opened(solver)).toBeGreaterThan(-13.2);
    // The wrong way round it is of no use, and nothing in the model breaks down.
    expect(opened(back)).toBeLessThan(-100);
  });

  test('has 12 V over 1 H: 12 A a second', () => {
    const solver = solverOf([...parts, 'D1 SD a=-12V k=OUT'], { '-12V': -12 });
    const { end } = wavesOf(solver, ['OUT'], { ...task, to: 2e-3 });
    expect(Math.abs(end.windings[0]!)).toBeCloseTo(12 * 1e-3, 4);
  });
});

describe('a circuit without an answer', () => {
  test('is told with the instant and the nets, not thrown', () => {
    const solver = solverOf(['R1 1k 1=IN 2=OUT', 'C1 1u 1=OUT 2=0V']);
    const probes = [solver.netlist.netIndex.get('OUT')!];
    const drives = [{ net: 'IN', wave: pulse }];
    const few = transient(solver, { drives, from: 0, to: 1, probes, mostSteps: 50 });
    expect(few.converged).toBe(false);
    expect(few.why).toBe('too many steps');
    expect(few.end.at).toBeLessThan(1);
    expect(few.instants.at(-1)).toBe(few.end.at);
    expect(few.worst.map((w) => w.net)).toContain('OUT');
    expect(() => transient(solver, { drives: [{ net: 'NO', wave: pulse }], from: 0, to: 1, probes })).toThrow(
      RangeError,
    );
    expect(() => transient(solver, { drives, from: 1, to: 1, probes })).toThrow(RangeError);
  });
});
