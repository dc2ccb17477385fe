/**
 * The faults that are planted: which part, which way of failing, how badly, and whether anybody could see it.
 *
 * Shares of kinds are a choice of ours after the order in which the trade sees them fail; shares of modes are
 * those of MIL-HDBK-338B (1998), failure mode distributions, where they map, with leaks and loss of gain of
 * old germanium beside them (common practice, no source). The program has a prior of its own, and not this one.
 */
import type { Machine, Part } from '../../src/machine/model.ts';
import { type Fault, network, type ParameterTable, Solver, sensitivities } from './physics/index.ts';
import { type Chance, drawn } from './random.ts';
import { readingError } from './units.ts';

type Category = 'transistor' | 'diode' | 'capacitor' | 'resistor' | 'joint' | 'other';

const CATEGORY_SHARES: Readonly<Record<Category, number>> = {
  transistor: 35,
  diode: 20,
  capacitor: 12,
  resistor: 18,
  joint: 10,
  other: 5,
};

const MODES: Readonly<Record<string, Readonly<Record<string, number>>>> = {
  transistor: {
    'short-ce': 0.2,
    'short-bc': 0.12,
    'short-be': 0.06,
    'open-b': 0.09,
    'open-c': 0.07,
    'open-e': 0.09,
    'leaky-bc': 0.12,
    'leaky-ce': 0.13,
    'low-gain': 0.12,
  },
  diode: { short: 0.28, open: 0.3, leaky: 0.42 },
  zener: { short: 0.2, open: 0.4, leaky: 0.4 },
  electrolytic: { short: 0.53, open: 0.35, leaky: 0.12 },
  capacitor: { short: 0.5, open: 0.29, leaky: 0.21 },
  resistor: { high: 0.66, open: 0.31, short: 0.03 },
  trimmer: { open: 0.45, 'open-w': 0.4, high: 0.15 },
  inductor: { open: 0.5, short: 0.5 },
  lamp: { open: 0.95, short: 0.05 },
  fuse: { open: 1 },
  switch: { open: 0.75, short: 0.25 },
};

/** A stretch of severities, even in the logarithm (or even, when `even`), with its share. */
export interface Stretch {
  readonly low: number;
  readonly high: number;
  readonly share: number;
  readonly even?: boolean;
}
const SHORT: readonly Stretch[] = [{ low: 0.1, high: 20, share: 1 }];
const NONE: readonly Stretch[] = [{ low: 1, high: 1, share: 1 }];

/** How badly: factors, ohms, or the place of a break, by kind and mode. */
export function severities(part: Part, mode: string): readonly Stretch[] {
  if (mode.startsWith('short')) return SHORT;
  switch (mode) {
    case 'high':
      return [
        { low: 1.3, high: 10, share: 0.95 },
        { low: 10, high: 100, share: 0.05 },
      ];
    case 'leaky-bc':
      return [{ low: 1e3, high: 100e3, share: 1 }];
    case 'leaky-ce':
      return [{ low: 300, high: 30e3, share: 1 }];
    case 'leaky':
      return [{ low: 500, high: 50e3, share: 1 }];
    case 'low-gain':
      return [{ low: 0.05, high: 0.4, share: 1 }];
    case 'open':
      return part.kind === 'trimmer' ? [{ low: 0.02, high: 0.98, share: 1, even: true }] : NONE;
    default:
      return NONE;
  }
}

/** One way of failing with its share of the whole prior of a board; severities are not yet drawn. */
export interface FaultKind {
  readonly part: string;
  readonly mode: string;
  readonly prior: number;
  readonly severities: readonly Stretch[];
}

function category(part: Part): Category | undefined {
  switch (part.kind) {
    case 'transistor':
    case 'capacitor':
    case 'resistor':
      return part.kind;
    case 'diode':
    case 'zener':
      return 'diode';
    case 'trimmer':
      return 'resistor';
    case 'inductor':
    case 'transformer':
    case 'lamp':
    case 'fuse':
    case 'switch':
      return 'other';
    default:
      return undefined;
  }
}

/** The prior of a board: every part and mode, adding to one. */
export function faultKinds(machine: Machine): FaultKind[] {
  const weights: { part: Part; mode: string; category: Category; weight: number }[] = [];
  for (const part of machine.parts) {
    const own = category(part);
    if (own === undefined) continue;
    const electrolytic = part.kind === 'capacitor' && (part.value ?? 0) >= 0.9e-6;
    // Of the capacitors' share, an electrolytic takes four times what another takes.
    const weight = electrolytic ? 4 : 1;
    if (part.kind === 'transformer') {
      const windings = part.windings ?? [];
      windings.forEach((_, k) => {
        for (const mode of ['open', 'short'])
          weights.push({ part, mode: `${mode}:${k + 1}`, category: own, weight: 0.5 / windings.length });
      });
    } else
      for (const [mode, share] of Object.entries(MODES[electrolytic ? 'electrolytic' : part.kind]!)) {
        // An open switch cannot be open, nor a closed one short.
        if (part.kind === 'switch' && (mode === 'open') !== (part.closed ?? true)) continue;
        weights.push({ part, mode, category: own, weight: weight * share });
      }
    for (const { pin } of part.pins)
      weights.push({ part, mode: `open-joint:${pin}`, category: 'joint', weight: 1 });
  }
  const totals = new Map<Category, number>();
  for (const w of weights) totals.set(w.category, (totals.get(w.category) ?? 0) + w.weight);
  let whole = 0;
  for (const c of totals.keys()) whole += CATEGORY_SHARES[c];
  return weights.map((w) => ({
    part: w.part.name,
    mode: w.mode,
    prior: ((CATEGORY_SHARES[w.category] / whole) * w.weight) / totals.get(w.category)!,
    severities: severities(w.part, w.mode),
  }));
}

function drawnSeverity(stretches: readonly Stretch[], chance: Chance): number {
  const stretch =
    stretches[
      drawn(
        stretches.map((s) => s.share),
        chance,
      )
    ]!;
  if (stretch.low === stretch.high) return stretch.low;
  return stretch.even
    ? stretch.low + (stretch.high - stretch.low) * chance.uniform()
    : chance.logUniform(stretch.low, stretch.high);
}

export function drawnFault(kinds: readonly FaultKind[], chance: Chance): Fault {
  const kind =
    kinds[
      drawn(
        kinds.map((k) => k.prior),
        chance,
      )
    ]!;
  return { part: kind.part, mode: kind.mode, severity: drawnSeverity(kind.severities, chance) };
}

/** Standard deviation of a sound unit's reading, error and all, by condition and point. */
export function soundSpreads(machine: Machine, table: ParameterTable): Float64Array[] {
  const circuit = network(machine, table);
  const theta = Float64Array.from(table.parameters, (p) => p.mean);
  circuit.set(theta, machine.ambient);
  const solver = new Solver(circuit);
  const count = table.parameters.length;
  return machine.conditions.map((condition) => {
    const nodes = machine.points.map((p) => circuit.nodeOfPoint(p.point));
    const different = [...new Set(nodes)];
    const point = solver.operatingPoint(condition, theta)!;
    const rows = sensitivities(solver, point, condition, theta, machine.ambient, different);
    const spread = new Map<number, number>();
    different.forEach((node, row) => {
      const volts = point.volts[node]!;
      let variance = readingError(machine, volts) ** 2 + (0.005 * volts) ** 2;
      for (let k = 0; k < count; k++) {
        const { shared, unit } = table.parameters[k]!;
        variance += rows[row * count + k]! ** 2 * (shared ** 2 + unit ** 2);
      }
      spread.set(node, Math.sqrt(variance));
    });
    return Float64Array.from(nodes, (node) => spread.get(node)!);
  });
}

/** Largest change that a fault makes to a reading, in spreads of a sound unit there; 0 where nothing is read. */
export function visibility(
  before: readonly (Float64Array | undefined)[],
  after: readonly (Float64Array | undefined)[],
  spreads: readonly Float64Array[],
): number {
  let largest = 0;
  before.forEach((sound, c) => {
    const faulty = after[c];
    if (sound === undefined || faulty === undefined) return;
    for (let p = 0; p < sound.length; p++) {
      const moved = Math.abs(faulty[p]! - sound[p]!) / spreads[c]![p]!;
      if (moved > largest) largest = moved;
    }
  });
  return largest;
}

/** A fault counts as visible from here on, in spreads of a sound unit. */
export const VISIBLE = 4;
