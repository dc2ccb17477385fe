/** Machines in a few lines, for tests. */
import type { Condition, DeviceType, FlowStage, Machine, Part, PartKind } from '../machine/index.ts';

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
  FS: 'fuse',
  S: 'switch',
  J: 'connector',
  X: 'other',
};

const type = (name: string, polarity: 'pnp' | 'npn'): [string, DeviceType] => [
  name,
  {
    type: name,
    kind: 'transistor',
    polarity,
    material: 'ge',
    vj: 0.25,
    ij: 5e-3,
    icbo: 2e-6,
    rs: 0,
    n: 1,
    source: 'invented for the tests',
  },
];

/** A part from a line such as `Q1 PN e=0V b=B c=C` or `J/R1 4700 1=A 2=B`; the board is B where none stands before the slash. */
function part(line: string): Part {
  const [name = '', ...words] = line.trim().split(/\s+/);
  const [board, ref] = name.includes('/') ? (name.split('/') as [string, string]) : ['B', name];
  const pins = words.filter((word) => word.includes('=')).map((word) => word.split('='));
  const fact = words.find((word) => !word.includes('='));
  const kind = KINDS[/^[A-Z]+/.exec(ref)![0]]!;
  const value = kind === 'transistor' || fact === undefined ? undefined : Number(fact);
  return {
    board,
    ref,
    name: `${board}/${ref}`,
    kind,
    type: kind === 'transistor' ? (fact ?? 'PN') : '',
    ...(value === undefined ? {} : { value }),
    tolerance: 10,
    pins: pins.map(([pin, net]) => ({ pin: pin!, net: net! })),
    note: '',
  };
}

export interface SampleCircuit {
  readonly flow?: readonly Partial<FlowStage>[];
  /** Nets that a state drives. */
  readonly driven?: readonly string[];
}

/** A machine with the reference 0V and the rails -12V and +6V. `PN` is a transistor of PNP type, `NP` one of NPN type. */
export function sampleCircuit(
  lines: string | readonly string[],
  { flow = [], driven = [] }: SampleCircuit = {},
): Machine {
  const list = typeof lines === 'string' ? lines.split('\n').filter((line) => line.trim() !== '') : lines;
  const condition: Condition = {
    name: 'driven',
    drives: driven.map((net) => ({ net, volts: 0, ohms: 0 })),
    hints: [],
  };
  return {
    name: 'sample',
    summary: '',
    reference: '0V',
    ambient: 20,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [],
    instruments: [],
    parts: list.map(part),
    types: new Map([type('PN', 'pnp'), type('NP', 'npn')]),
    conditions: [condition],
    points: [],
    readings: [],
    flow: flow.map((one) => ({
      board: 'B',
      stage: 'stage',
      inputs: [],
      outputs: [],
      breaks: '',
      note: '',
      ...one,
    })),
  };
}

/** An inverter of the usual kind: base resistor, bias to +6 V, collector load to -12 V. */
export function inverterLines(n: number | string, input: string, output: string, board = 'B'): string[] {
  return [
    `${board}/Q${n} PN e=0V b=b${n} c=${output}`,
    `${board}/R${n}1 6800 1=${input} 2=b${n}`,
    `${board}/R${n}2 47000 1=b${n} 2=+6V`,
    `${board}/R${n}3 3300 1=${output} 2=-12V`,
  ];
}
