/**
 * Each failure mode as edits of the circuit, one for each severity of a graded mode.
 */
import {
  BASE,
  COLLECTOR,
  type Edit,
  EMITTER,
  junction,
  junctionAt,
  junctionCurrent,
  type Netlist,
  type SeverityElement,
  STATED_CELSIUS,
} from '../circuit/index.ts';
import { isRunning, type Machine, type Part } from '../machine/index.ts';
import { failureRates, runningFailureRates } from './priors.ts';

/** One failure mode of one part at one severity. */
export interface Fault {
  /** `BOARD/REF`. */
  readonly part: string;
  readonly mode: string;
  /** In words for a person, such as `×3.3` or `1 kΩ`; empty for modes without grades. */
  readonly severity: string;
  /** Share of this severity within the mode; the shares of a mode add up to 1. */
  readonly share: number;
  readonly edit: Edit;
  /** What moves with the severity: its logarithm deviates by `spread` around this grade. */
  readonly grade?: SeverityElement;
  /** An open joint's pin has a voltage of its own. */
  readonly pin?: OpenPin;
}

export interface OpenPin {
  /** `BOARD/REF.pin`. */
  readonly point: string;
  /** The edit with the meter's conductance at the pin; none for a diode's. */
  readonly metered?: (siemens: number) => Edit;
  /**
   * Voltage of the pin from the net voltages, when a meter of `siemens` touches it; `celsius` (25 when left out) counts for
   * diodes. The nets are those of the `metered` circuit. What the meter draws through a diode is taken as too little to move
   * the net at its other end: the reading is too high by that net's source resistance over the meter's.
   */
  readonly volts: (
    nets: Float64Array,
    siemens: number,
    opened: readonly number[],
    celsius?: number,
  ) => number;
}

/** A resistor that has gone short, siemens. */
const SHORT_SIEMENS = 0.5;
/** Grades of a short inside a part, ohms: in a supply a fifth of an ohm and ten differ by volts. */
const SHORT: Grades = [
  [16, 0.25],
  [5, 0.25],
  [1.4, 0.25],
  [0.3, 0.25],
];
/** The same in half steps, for what lies across a supply: electrolytics and lamps. */
const FINE_SHORT: Grades = [
  [16, 0.16],
  [9, 0.14],
  [5, 0.14],
  [2.6, 0.14],
  [1.4, 0.14],
  [0.65, 0.14],
  [0.3, 0.14],
];

/** Grades of a leak, ohms; from what hardly matters to a near short. */
const LEAK: Grades = [
  [360e3, 0.04],
  [120e3, 0.08],
  [40e3, 0.13],
  [13e3, 0.17],
  [4200, 0.18],
  [1400, 0.17],
  [450, 0.13],
  [150, 0.1],
];
/** The same in half steps, for zeners, where a factor of three is volts. */
const FINE_LEAK: Grades = [
  [360e3, 0.04],
  [120e3, 0.08],
  [40e3, 0.1],
  [23e3, 0.075],
  [13e3, 0.085],
  [7400, 0.0875],
  [4200, 0.09],
  [2400, 0.0875],
  [1400, 0.085],
  [800, 0.075],
  [450, 0.065],
  [260, 0.06],
  [150, 0.07],
];
/** Grades of a resistor gone high: the trade sees 10 to 50 % most, and past 10 times now and then (common practice, no source). */
const HIGH: Grades = [
  [1.3, 0.15],
  [1.6, 0.17],
  [2.1, 0.16],
  [2.9, 0.14],
  [4.2, 0.12],
  [6.3, 0.1],
  [9.6, 0.08],
  [17, 0.05],
  [40, 0.03],
];
const GAIN: Grades = [
  [0.36, 0.2],
  [0.22, 0.25],
  [0.13, 0.25],
  [0.07, 0.2],
  [0.035, 0.1],
];
const TRIMMER_HIGH: Grades = [
  [1.4, 0.2],
  [2, 0.25],
  [3, 0.2],
  [5, 0.15],
  [9, 0.12],
  [20, 0.08],
];
/** Carriers in store, times the type's; what a capacitor has left (common practice, no source). */
const SLOW: Grades = [
  [2.5, 0.35],
  [5, 0.35],
  [12, 0.3],
];
const LOW_CAPACITANCE: Grades = [
  [0.5, 0.4],
  [0.2, 0.3],
  [0.05, 0.3],
];
/** Ohms or factors with their shares, the mildest first. */
type Grades = readonly (readonly [grade: number, share: number])[];

/** Standard deviation of the logarithm around grade `i`: not quite half of the wider step beside it. */
function gradeSpread(grades: Grades, i: number): number {
  const step = (k: number): number =>
    k > 0 && k < grades.length ? Math.abs(Math.log(grades[k]![0] / grades[k - 1]![0])) : 0;
  return 0.45 * Math.max(step(i), step(i + 1));
}

function ohmsInWords(ohms: number): string {
  return ohms >= 1000 ? `${ohms / 1000} kΩ` : `${ohms} Ω`;
}

/** All faults of one mode of a part: one, or one a severity. Empty when the part has no such mode or its pins join one net. */
export function faultsOfMode(netlist: Netlist, part: Part, mode: string): Fault[] {
  const elements = netlist.elementsOf.get(part.name);
  if (!elements || !failureRatesIn(netlist.machine, part).has(mode)) return [];
  const net = (pin: string): number => netlist.pinNets.get(`${part.name}.${pin}`) ?? -1;
  const one = (edit: Edit, pin?: OpenPin): Fault[] => [
    pin
      ? { part: part.name, mode, severity: '', share: 1, edit, pin }
      : { part: part.name, mode, severity: '', share: 1, edit },
  ];
  const set = (element: number, siemens: number): Edit => ({ conductance: [{ element, siemens }] });
  const bridge = (a: number, b: number, siemens: number): Edit => ({ bridge: [{ a, b, siemens }] });
  const bridged = (a: number, b: number, grades: Grades): Fault[] =>
    a === b || a < 0 || b < 0
      ? []
      : grades.map(([ohms, share], i) => ({
          part: part.name,
          mode,
          severity: ohmsInWords(ohms),
          share,
          edit: bridge(a, b, 1 / ohms),
          grade: { kind: 'bridge' as const, index: 0, spread: gradeSpread(grades, i) },
        }));
  const high = (element: number, siemens: number): Fault[] =>
    HIGH.map(([factor, share], i) => ({
      part: part.name,
      mode,
      severity: `×${factor}`,
      share,
      edit: set(element, siemens / factor),
      grade: { kind: 'conductance' as const, element, spread: gradeSpread(HIGH, i) },
    }));
  const stored = (kind: 'part' | 'transistor', element: number, grades: Grades): Fault[] =>
    grades.map(([factor, share]) => ({
      part: part.name,
      mode,
      severity: `×${factor}`,
      share,
      edit: { stored: [{ kind, element, factor }] },
    }));
  const first = elements.conductances[0] ?? -1;
  const siemens = first >= 0 ? netlist.conductances[first]!.siemens : 0;

  if (mode.startsWith('open-joint:')) {
    const pin = mode.slice('open-joint:'.length);
    if (!part.pins.some((p) => p.pin === pin)) return [];
    return openJoint(netlist, part, pin, one, net);
  }
  switch (part.kind) {
    case 'resistor':
      if (net('1') === net('2')) return [];
      if (mode === 'open') return one(set(first, 0));
      if (mode === 'short') return one(set(first, siemens + SHORT_SIEMENS));
      if (mode === 'high') return high(first, siemens);
      break;
    case 'capacitor':
      if (net('1') === net('2')) return [];
      if (mode === 'open') return one(set(first, 0));
      if (mode === 'short')
        return bridged(net('1'), net('2'), (part.value ?? 0) >= 1e-6 ? FINE_SHORT : SHORT);
      if (mode === 'leaky') return bridged(net('1'), net('2'), LEAK);
      if (mode === 'low-capacitance') return stored('part', first, LOW_CAPACITANCE);
      break;
    case 'inductor':
    case 'lamp':
    case 'switch':
    case 'fuse':
      if (net('1') === net('2')) return [];
      if (mode === 'open') return one(set(first, 0));
      if (mode === 'short' && part.kind !== 'fuse')
        return bridged(net('1'), net('2'), part.kind === 'lamp' ? FINE_SHORT : SHORT);
      break;
    case 'transformer': {
      const [way, winding] = mode.split(':');
      const index = part.pins.filter((p) => p.pin.endsWith('a')).findIndex((p) => p.pin === `${winding}a`);
      const element = elements.conductances[index];
      if (element === undefined) return [];
      if (way === 'open') return one(set(element, 0));
      if (way === 'short')
        return bridged(netlist.conductances[element]!.a, netlist.conductances[element]!.b, SHORT);
      break;
    }
    case 'trimmer': {
      const [lower, upper] = elements.conductances;
      if (lower === undefined || upper === undefined) return [];
      const g1 = netlist.conductances[lower]!.siemens;
      const g2 = netlist.conductances[upper]!.siemens;
      if (mode === 'open')
        return [lower, upper].map((element, i) => ({
          part: part.name,
          mode,
          severity: i === 0 ? 'between 1 and w' : 'between w and 2',
          share: 0.5,
          edit: set(element, 0),
        }));
      if (mode === 'open-w') return one(openWiper(net('1'), net('2'), lower, upper, g1, g2));
      if (mode === 'high')
        return TRIMMER_HIGH.map(([factor, share]) => ({
          part: part.name,
          mode,
          severity: `×${factor}`,
          share,
          edit: {
            conductance: [
              { element: lower, siemens: g1 / factor },
              { element: upper, siemens: g2 / factor },
            ],
          },
        }));
      break;
    }
    case 'diode':
    case 'zener':
      if (net('a') === net('k')) return [];
      if (mode === 'open') return one({ cut: [elements.junction] });
      if (mode === 'short') return bridged(net('a'), net('k'), SHORT);
      if (mode === 'leaky') return bridged(net('a'), net('k'), part.kind === 'zener' ? FINE_LEAK : LEAK);
      break;
    case 'transistor': {
      const q = elements.transistor;
      const terminal: Record<string, number> = { b: BASE, c: COLLECTOR, e: EMITTER };
      if (mode.startsWith('open-'))
        return one({ open: [{ transistor: q, terminal: terminal[mode.slice(5)]!, siemens: 0 }] });
      if (mode.startsWith('short-')) return bridged(net(mode[6]!), net(mode[7]!), SHORT);
      if (mode.startsWith('leaky-')) return bridged(net(mode[6]!), net(mode[7]!), LEAK);
      if (mode === 'slow') return stored('transistor', q, SLOW);
      if (mode === 'low-gain')
        return GAIN.map(([factor, share], i) => ({
          part: part.name,
          mode,
          severity: `×${factor}`,
          share,
          edit: { gain: [{ transistor: q, factor }] },
          grade: { kind: 'gain' as const, transistor: q, spread: gradeSpread(GAIN, i) },
        }));
      break;
    }
    case 'connector':
    case 'other':
      break;
  }
  return [];
}

function openWiper(one: number, two: number, lower: number, upper: number, g1: number, g2: number): Edit {
  return {
    conductance: [
      { element: lower, siemens: 0 },
      { element: upper, siemens: 0 },
    ],
    bridge: [{ a: one, b: two, siemens: (g1 * g2) / (g1 + g2) }],
  };
}

function openJoint(
  netlist: Netlist,
  part: Part,
  pin: string,
  one: (edit: Edit, pin?: OpenPin) => Fault[],
  net: (pin: string) => number,
): Fault[] {
  const point = `${part.name}.${pin}`;
  const elements = netlist.elementsOf.get(part.name)!;
  /** A pin that hangs on conductances to other nets: with the meter on it a star, which the circuit sees as its delta. */
  const through = (edit: Edit, list: readonly { net: number; siemens: number }[]): Fault[] =>
    one(edit, {
      point,
      metered: (meter) => {
        const sum = list.reduce((total, { siemens }) => total + siemens, meter);
        const load = list.map(({ net: a, siemens }) => ({
          a,
          b: netlist.reference,
          siemens: (siemens * meter) / sum,
        }));
        const [first, second] = list;
        const across = second && {
          a: first!.net,
          b: second.net,
          siemens: (first!.siemens * second.siemens) / sum,
        };
        return { ...edit, bridge: across ? [across, ...load] : load };
      },
      volts: (v, meter) => {
        let current = 0;
        let sum = meter + 1e-15;
        for (const { net: n, siemens } of list) {
          const volts = v[n]!;
          if (!Number.isFinite(volts)) continue;
          current += siemens * volts;
          sum += siemens;
        }
        return current / sum;
      },
    });
  switch (part.kind) {
    case 'transistor': {
      const q = elements.transistor;
      const terminal = pin === 'b' ? BASE : pin === 'c' ? COLLECTOR : EMITTER;
      const edit = (siemens: number): Edit => ({ open: [{ transistor: q, terminal, siemens }] });
      return one(edit(0), { point, metered: edit, volts: (_v, _meter, opened) => opened[0]! });
    }
    case 'diode':
    case 'zener': {
      const other = net(pin === 'a' ? 'k' : 'a');
      const element = netlist.junctions[elements.junction]!;
      const sign = pin === 'a' ? 1 : -1;
      return one(
        { cut: [elements.junction] },
        {
          point,
          // The pin's voltage x: the junction brings what the meter draws. Current into the pin falls with x: one root.
          volts: (v, meter, _opened, celsius = STATED_CELSIUS) => {
            const far = Number.isFinite(v[other]!) ? v[other]! : 0;
            const j = junctionAt(element, celsius);
            let lo = Math.min(0, far) - 1;
            let hi = Math.max(0, far) + 1;
            for (let k = 0; k < 60; k++) {
              const x = 0.5 * (lo + hi);
              junctionCurrent(j, sign * (x - far));
              if (sign * junction.i + meter * x > 0) hi = x;
              else lo = x;
            }
            return 0.5 * (lo + hi);
          },
        },
      );
    }
    case 'trimmer': {
      const [lower, upper] = elements.conductances;
      if (lower === undefined || upper === undefined) return [];
      const g1 = netlist.conductances[lower]!.siemens;
      const g2 = netlist.conductances[upper]!.siemens;
      if (pin === 'w')
        return through(openWiper(net('1'), net('2'), lower, upper, g1, g2), [
          { net: net('1'), siemens: g1 },
          { net: net('2'), siemens: g2 },
        ]);
      const element = pin === '1' ? lower : upper;
      return through({ conductance: [{ element, siemens: 0 }] }, [
        { net: net('w'), siemens: netlist.conductances[element]!.siemens },
      ]);
    }
    case 'resistor':
    case 'capacitor':
    case 'inductor':
    case 'lamp':
    case 'fuse':
    case 'switch':
    case 'transformer': {
      const windings = part.pins.filter((p) => p.pin.endsWith('a'));
      const index =
        part.kind === 'transformer' ? windings.findIndex((p) => p.pin.slice(0, -1) === pin.slice(0, -1)) : 0;
      const element = elements.conductances[index];
      if (element === undefined) return [];
      const { a, b, siemens: hot, lamp } = netlist.conductances[element]!;
      // What a meter draws leaves a filament cold.
      const siemens = hot * (lamp?.cold ?? 1);
      const far = pin === '1' || pin.endsWith('a') ? b : a;
      return through({ conductance: [{ element, siemens: 0 }] }, [{ net: far, siemens }]);
    }
    case 'connector':
    case 'other': {
      const element = netlist.contactOf.get(point);
      return element === undefined ? [] : one({ conductance: [{ element, siemens: 0 }] });
    }
  }
}

/** A failure mode of a part with its rate (in failures of one carbon resistor) and its severities. */
export interface Hypothesis {
  readonly part: string;
  readonly mode: string;
  readonly rate: number;
  /** In order of severity, the mildest first. */
  readonly faults: readonly Fault[];
}

const runs = new WeakMap<Machine['conditions'], boolean>();

/** Failure modes of a part with their rates; those that only a running state shows count where the machine has one. */
export function failureRatesIn({ conditions }: Machine, part: Part): ReadonlyMap<string, number> {
  let running = runs.get(conditions);
  if (running === undefined) {
    running = conditions.some(isRunning);
    runs.set(conditions, running);
  }
  return running ? new Map([...failureRates(part), ...runningFailureRates(part)]) : failureRates(part);
}

/** Every failure mode of every part that has one in this circuit. */
export function faultHypotheses(netlist: Netlist): Hypothesis[] {
  const list: Hypothesis[] = [];
  for (const part of netlist.machine.parts)
    for (const [mode, rate] of failureRatesIn(netlist.machine, part)) {
      const faults = faultsOfMode(netlist, part, mode);
      if (faults.length > 0) list.push({ part: part.name, mode, rate, faults });
    }
  return list;
}
