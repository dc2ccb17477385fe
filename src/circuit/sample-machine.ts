/** Machines in a few lines, for tests. Types are invented; their values are those of common small parts of the period. */
import type { Condition, DeviceType, Machine, Part, PartKind } from '../machine/index.ts';

function type(
  name: string,
  kind: DeviceType['kind'],
  material: DeviceType['material'],
  rest: Pick<DeviceType, 'vj' | 'ij' | 'icbo'> & Partial<DeviceType>,
): [string, DeviceType] {
  return [name, { type: name, kind, material, rs: 0, n: 1, source: 'invented for the tests', ...rest }];
}

const GE = { vj: 0.25, ij: 5e-3, hfeMin: 30, hfeTyp: 60, hfeMax: 120, icbo: 2e-6 };
const SI = { vj: 0.65, ij: 2e-3, hfeMin: 60, hfeTyp: 120, hfeMax: 300, icbo: 5e-9 };

const SAMPLE_TYPES: ReadonlyMap<string, DeviceType> = new Map([
  type('GP', 'transistor', 'ge', { polarity: 'pnp', ...GE }),
  type('GN', 'transistor', 'ge', { polarity: 'npn', ...GE }),
  type('SP', 'transistor', 'si', { polarity: 'pnp', ...SI }),
  type('SN', 'transistor', 'si', { polarity: 'npn', ...SI }),
  /** With resistance in the collector. */
  type('SNR', 'transistor', 'si', { polarity: 'npn', ...SI, rs: 3 }),
  /** A power type: large saturation current, leaky. */
  type('GPP', 'transistor', 'ge', { polarity: 'pnp', ...GE, ij: 0.1, icbo: 1e-4 }),
  /** Point contact, gold bond, a leaky one, silicon, and a rectifier of low drop. */
  type('GD', 'diode', 'ge', { vj: 0.3, ij: 1e-3, icbo: 5e-6, rs: 100, n: 1.8 }),
  type('GG', 'diode', 'ge', { vj: 0.25, ij: 1e-3, icbo: 1e-5, rs: 5, n: 1.8 }),
  type('GL', 'diode', 'ge', { vj: 0.3, ij: 1e-3, icbo: 1.5e-4, n: 1.8 }),
  type('SD', 'diode', 'si', { vj: 0.62, ij: 1e-3, icbo: 5e-9, n: 1.8 }),
  type('SR', 'diode', 'si', { vj: 0.45, ij: 1, icbo: 3.3e-4, n: 1.1 }),
  type('ZD', 'zener', 'si', { vj: 0.65, ij: 1e-3, icbo: 1e-8, rs: 8, n: 1.5 }),
]);

const KINDS: Readonly<Record<string, PartKind>> = {
  R: 'resistor',
  RV: 'trimmer',
  C: 'capacitor',
  L: 'inductor',
  T: 'transformer',
  D: 'diode',
  Z: 'zener',
  Q: 'transistor',
  LP: 'lamp',
  F: 'fuse',
  S: 'switch',
  J: 'connector',
  X: 'other',
};
const PREFIX: Readonly<Record<string, number>> = { k: 1e3, M: 1e6, m: 1e-3, u: 1e-6, n: 1e-9, p: 1e-12 };

function quantity(text: string): number {
  const prefix = PREFIX[text.at(-1)!];
  return prefix === undefined ? Number(text) : Number(text.slice(0, -1)) * prefix;
}

/**
 * A part from a line such as `R1 4.7k 1=IN 2=B`, `Q1 GP e=0V b=B c=C`, `Z1 ZD 6.8 a=0V k=X`, `RV1 10k 0.3 1=A w=B 2=C`,
 * `T1 10 25 1a=A 1b=B 2a=C 2b=D`, `S1 open 1=A 2=B`. The letters of the reference give the kind, the board is B.
 */
function samplePart(line: string, tolerance = 10): Part {
  const words = line.trim().split(/\s+/);
  const ref = words[0]!;
  const kind = KINDS[/^[A-Z]+/.exec(ref)![0]]!;
  const pins = words.filter((w) => w.includes('=')).map((w) => w.split('='));
  const facts = words.slice(1).filter((w) => !w.includes('='));
  const typed = kind === 'diode' || kind === 'zener' || kind === 'transistor';
  const numbers = (typed ? facts.slice(1) : facts).filter((w) => /^[\d.]/.test(w)).map(quantity);
  return {
    board: 'B',
    ref,
    name: `B/${ref}`,
    kind,
    type: typed ? facts[0]! : '',
    ...(kind === 'transformer' ? { windings: numbers } : {}),
    ...(kind === 'switch' ? { closed: facts[0] !== 'open' } : {}),
    ...(kind !== 'transformer' && numbers.length > 0 ? { value: numbers[0]! } : {}),
    ...(kind === 'trimmer' && numbers.length > 1 ? { setting: numbers[1]! } : {}),
    tolerance,
    note: '',
    pins: pins.map(([pin, net]) => ({ pin: pin!, net: net! })),
  };
}

/** A condition: `drives` are volts, or volts and ohms; `hints` are volts. */
export function sampleCondition(
  name: string,
  drives: Readonly<Record<string, number | readonly [volts: number, ohms: number]>> = {},
  hints: Readonly<Record<string, number>> = {},
): Condition {
  return {
    name,
    drives: Object.entries(drives).map(([net, d]) =>
      typeof d === 'number' ? { net, volts: d, ohms: 0 } : { net, volts: d[0], ohms: d[1] },
    ),
    hints: Object.entries(hints).map(([net, volts]) => ({ net, volts })),
  };
}

/** A machine on one board with 0V for its reference; `parts` are lines of `samplePart`, or parts. */
export function sampleMachine(
  rails: Readonly<Record<string, number>>,
  parts: readonly (string | Part)[],
  conditions: readonly Condition[] = [sampleCondition('rest')],
  types: ReadonlyMap<string, DeviceType> = SAMPLE_TYPES,
): Machine {
  return {
    name: 'sample',
    summary: '',
    reference: '0V',
    ambient: 25,
    rails: Object.entries(rails).map(([net, volts]) => ({ net, volts, tolerance: 5 })),
    units: [],
    instruments: [],
    parts: parts.map((p) => (typeof p === 'string' ? samplePart(p) : p)),
    types,
    conditions,
    points: [],
    readings: [],
    flow: [],
  };
}
