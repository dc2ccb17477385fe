import { describe, expect, it, test } from 'vitest';
import { CircuitSolver, netlistOf } from '../circuit/index.ts';
import type { DeviceType, Machine, Part, PartKind } from '../machine/index.ts';
import { failureRates, faultHypotheses, faultsOfMode } from './index.ts';

const TRANSISTOR: DeviceType = {
  type: 'T',
  kind: 'transistor',
  polarity: 'pnp',
  material: 'ge',
  vj: 0.25,
  ij: 5e-3,
  hfeTyp: 60,
  icbo: 2e-6,
  rs: 0,
  n: 1,
  source: 'invented for the tests',
};
const DIODE: DeviceType = { ...TRANSISTOR, type: 'D', kind: 'diode', n: 1.8 };

function part(ref: string, kind: PartKind, pins: string, rest: Partial<Part> = {}): Part {
  return {
    board: 'B',
    ref,
    name: `B/${ref}`,
    kind,
    type: '',
    tolerance: 10,
    note: '',
    pins: pins.split(' ').map((p) => ({ pin: p.split('=')[0]!, net: p.split('=')[1]! })),
    ...rest,
  };
}
function machine(parts: readonly Part[]): Machine {
  return {
    name: 'one of each',
    summary: '',
    reference: '0V',
    ambient: 25,
    rails: [{ net: '-12V', volts: -12, tolerance: 5 }],
    units: [],
    instruments: [],
    parts,
    types: new Map([
      ['T', TRANSISTOR],
      ['D', DIODE],
    ]),
    conditions: [{ name: 'rest', drives: [], hints: [] }],
    points: [],
    readings: [],
    flow: [],
  };
}

/** One part of each kind between four nets; a second list has them all across one net. */
const ONE_OF_EACH: readonly Part[] = [
  part('R', 'resistor', '1=X 2=Y', { value: 1000 }),
  part('RV', 'trimmer', '1=X w=Y 2=Z', { value: 1000, setting: 0.3 }),
  part('C', 'capacitor', '1=X 2=Y', { value: 1e-9 }),
  part('CE', 'capacitor', '1=X 2=Y', { value: 47e-6 }),
  part('L', 'inductor', '1=X 2=Y', { value: 1 }),
  part('T', 'transformer', '1a=X 1b=Y 2a=Z 2b=0V', { windings: [10, 20] }),
  part('D', 'diode', 'a=X k=Y', { type: 'D' }),
  part('Z', 'zener', 'a=X k=Y', { type: 'D', value: 6.8 }),
  part('Q', 'transistor', 'e=X b=Y c=Z', { type: 'T' }),
  part('QR', 'transistor', 'e=X b=Y c=Z', { type: 'T' }),
  part('LP', 'lamp', '1=X 2=Y', { value: 200 }),
  part('F', 'fuse', '1=X 2=Y', { value: 0.5 }),
  part('S', 'switch', '1=X 2=Y', { closed: true }),
  part('J', 'connector', '1=X 2=Y'),
  part('N', 'other', 'p=X q=Y'),
];

/** The table of failure modes of the machine folder's format; a contact parts a net only where it leaves the board. */
const MODES: Readonly<Record<string, readonly string[]>> = {
  R: ['open', 'high', 'short', 'open-joint:1', 'open-joint:2'],
  RV: ['open', 'open-w', 'high', 'open-joint:1', 'open-joint:w', 'open-joint:2'],
  C: ['open', 'short', 'leaky', 'open-joint:1', 'open-joint:2'],
  CE: ['open', 'short', 'leaky', 'open-joint:1', 'open-joint:2'],
  L: ['open', 'short', 'open-joint:1', 'open-joint:2'],
  T: [
    'open:1',
    'short:1',
    'open:2',
    'short:2',
    'open-joint:1a',
    'open-joint:1b',
    'open-joint:2a',
    'open-joint:2b',
  ],
  D: ['open', 'short', 'leaky', 'open-joint:a', 'open-joint:k'],
  Z: ['open', 'short', 'leaky', 'open-joint:a', 'open-joint:k'],
  Q: [
    'open-b',
    'open-c',
    'open-e',
    'short-ce',
    'short-be',
    'short-bc',
    'leaky-bc',
    'leaky-ce',
    'low-gain',
    'open-joint:e',
    'open-joint:b',
    'open-joint:c',
  ],
  LP: ['open', 'short', 'open-joint:1', 'open-joint:2'],
  F: ['open', 'open-joint:1', 'open-joint:2'],
  S: ['open', 'short', 'open-joint:1', 'open-joint:2'],
  J: [],
  N: ['open-joint:p', 'open-joint:q'],
};
const ALL_MODES = [
  ...new Set(Object.values(MODES).flat()),
  'stage',
  'short-eb',
  'open-joint:9',
  'open:3',
  '',
];

const netlist = netlistOf(machine(ONE_OF_EACH));

describe('the modes of the format', () => {
  test.each(Object.entries(MODES))('of part %s are made, and no others', (ref, modes) => {
    const own = ONE_OF_EACH.find((p) => p.ref === ref)!;
    const made = ALL_MODES.filter((mode) => faultsOfMode(netlist, own, mode).length > 0);
    expect(made.sort()).toEqual([...modes].sort());
    const found = faultHypotheses(netlist).filter((h) => h.part === own.name);
    expect(found.map((h) => h.mode).sort()).toEqual([...modes].sort());
    for (const h of found) expect(h.rate, h.mode).toBeGreaterThan(0);
  });

  it('have severities whose shares add up to 1', () => {
    for (const { faults, mode } of faultHypotheses(netlist)) {
      expect(
        faults.reduce((sum, f) => sum + f.share, 0),
        mode,
      ).toBeCloseTo(1, 12);
      for (const f of faults) expect(f.share).toBeGreaterThan(0);
      expect(new Set(faults.map((f) => f.severity)).size).toBe(faults.length);
    }
  });

  it('that are graded name the element that their edit changes', () => {
    for (const { faults, mode } of faultHypotheses(netlist))
      for (const { edit, grade } of faults) {
        if (!grade) continue;
        expect(grade.spread, mode).toBeGreaterThan(0);
        if (grade.kind === 'bridge') expect(edit.bridge?.[grade.index]).toBeDefined();
        else if (grade.kind === 'gain') expect(edit.gain?.[0]?.transistor).toBe(grade.transistor);
        else expect(edit.conductance?.map((c) => c.element)).toContain(grade.element);
      }
  });

  it('of parts that lie across one net change nothing and are left out', () => {
    const across = ONE_OF_EACH.map((p) => ({ ...p, pins: p.pins.map((x) => ({ ...x, net: 'X' })) }));
    const modes = faultHypotheses(netlistOf(machine(across)))
      .filter((h) => !h.mode.startsWith('open-joint') && !/^(RV|T|Q|QR)$/.test(h.part.slice(2)))
      .map((h) => `${h.part} ${h.mode}`);
    expect(modes).toEqual([]);
  });

  it('take conductance from an open part, and add it to a short one, however small its resistance', () => {
    for (const ohms of [0.1, 1, 1000, 1e6]) {
      const own = part('R', 'resistor', '1=X 2=Y', { value: ohms });
      const list = netlistOf(machine([own]));
      const siemens = (mode: string): number[] =>
        faultsOfMode(list, own, mode).map((f) => f.edit.conductance?.[0]?.siemens ?? Number.NaN);
      expect(siemens('open')).toEqual([0]);
      for (const s of siemens('short')) expect(s).toBeGreaterThan(1 / ohms);
      const high = siemens('high').map((s) => 1 / (ohms * s));
      expect(high).toEqual([...high].sort((a, b) => a - b));
      expect(high[0]).toBeGreaterThan(1);
      // A resistor 9.9 times high must not be lost beyond the last grade.
      expect(high.at(-1)).toBeGreaterThan(15);
    }
  });
});

describe('the pin of an open joint under a meter', () => {
  const METER = 1e-6;
  const far: readonly Part[] = [
    part('R1', 'resistor', '1=-12V 2=X', { value: 470e3 }),
    part('R2', 'resistor', '1=X 2=0V', { value: 1e6 }),
    part('R3', 'resistor', '1=Y 2=-12V', { value: 820e3 }),
    part('R4', 'resistor', '1=Z 2=0V', { value: 330e3 }),
    part('R5', 'resistor', '1=Z 2=-12V', { value: 2.2e6 }),
  ];
  const linear = ONE_OF_EACH.filter((p) => /^(R|RV|C|CE|L|T|LP|F|S)$/.test(p.ref)).map((p) =>
    p.ref === 'C' || p.ref === 'CE' ? { ...p, value: 1e-3 } : p.ref === 'RV' ? { ...p, value: 1e6 } : p,
  );

  it.each(linear.flatMap((p) => p.pins.map(({ pin }) => [`${p.kind} ${p.ref}`, pin, p] as const)))(
    'of a %s, pin %s, reads what the same circuit reads with the pin lifted and the meter on it',
    (_, pin, own) => {
      const whole = machine([...far, own]);
      const rest = whole.conditions[0]!;
      const list = netlistOf(whole);
      const fault = faultsOfMode(list, own, `open-joint:${pin}`)[0]!;
      const metered = new CircuitSolver(list).solve(rest, { edit: fault.pin!.metered!(METER) });
      const lifted = {
        ...own,
        pins: own.pins.map((p) => (p.pin === pin ? { pin, net: 'PIN' } : p)),
      };
      const real = netlistOf(
        machine([...far, lifted, part('M', 'resistor', '1=PIN 2=0V', { value: 1 / METER })]),
      );
      const { volts } = new CircuitSolver(real).solve(rest);
      expect(Math.abs(volts[real.netIndex.get('PIN')!]!)).toBeLessThan(12);
      expect(fault.pin!.volts(metered.volts, METER, metered.opened)).toBeCloseTo(
        volts[real.netIndex.get('PIN')!]!,
        5,
      );
      for (const net of ['X', 'Y', 'Z'])
        expect(metered.volts[list.netIndex.get(net)!], net).toBeCloseTo(volts[real.netIndex.get(net)!]!, 5);
    },
  );
});

describe('failure rates', () => {
  it('of a part add up to its kind whatever its modes, joints apart', () => {
    const sum = (ref: string): number => {
      const own = ONE_OF_EACH.find((p) => p.ref === ref)!;
      let total = 0;
      for (const [mode, rate] of failureRates(own)) if (!mode.startsWith('open-joint')) total += rate;
      return total;
    };
    // In failures of one carbon resistor.
    expect(sum('R')).toBeCloseTo(1, 12);
    expect(sum('RV')).toBeCloseTo(1.5, 12);
    expect(sum('C')).toBeCloseTo(0.8, 12);
    expect(sum('CE')).toBeCloseTo(4, 12);
    expect(sum('D')).toBeCloseTo(1.6, 12);
    expect(sum('Q')).toBeCloseTo(4, 12);
    expect(sum('T')).toBeCloseTo(1, 12);
  });
  it('keep the published split of a composition resistor', () => {
    // failure_modes.csv: MIL-HDBK-338B, "resistor, fixed, composition": parameter change 0.66, open 0.31, short 0.03.
    const rates = failureRates(ONE_OF_EACH[0]!);
    expect(['high', 'open', 'short'].map((mode) => rates.get(mode))).toEqual([0.66, 0.31, 0.03]);
  });
});
