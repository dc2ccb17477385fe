/**
 * Lays out a trial board part by part, and keeps what the designer knows besides: which nets carry which
 * logic level in which condition, so that a sound board can be checked to work.
 */
import type {
  Condition,
  Drive,
  Hint,
  Machine,
  Part,
  PartKind,
  Point,
  Rail,
} from '../../../src/machine/model.ts';
import { type Chance, chance } from '../random.ts';
import { TYPES } from './types.ts';

/** What a net should read in a condition of a sound board. */
export interface Expected {
  readonly condition: string;
  readonly net: string;
  readonly low: number;
  readonly high: number;
}

export interface TrialBoard {
  readonly name: string;
  readonly half: 'tuning' | 'test';
  readonly kind: string;
  readonly machine: Machine;
  /** Nets where a person first sees that something is wrong. */
  readonly outputs: readonly string[];
  readonly expected: readonly Expected[];
}

export type Range = readonly [low: number, high: number];
interface LogicNet {
  readonly net: string;
  readonly inputs: readonly string[];
  readonly value: (inputs: readonly boolean[]) => boolean;
  readonly whenFalse: Range;
  readonly whenTrue: Range;
}
interface Input {
  readonly net: string;
  readonly whenFalse: number;
  readonly whenTrue: number;
  readonly ohms: number;
}
interface State {
  readonly name: string;
  /** Nets with their volts in the two states. */
  readonly nets: readonly { net: string; whenFalse: number; whenTrue: number }[];
}

export interface KitOptions {
  readonly summary: string;
  readonly rails: readonly Rail[];
  /** Which pins are points besides the nets. */
  readonly pins: 'all' | 'transistors' | 'half' | 'none';
}

const LETTER: Partial<Record<PartKind, string>> = {
  resistor: 'R',
  trimmer: 'RV',
  capacitor: 'C',
  inductor: 'L',
  transformer: 'T',
  diode: 'D',
  zener: 'Z',
  transistor: 'Q',
  lamp: 'LP',
  fuse: 'F',
  switch: 'S',
};

export class Kit {
  readonly board: string;
  readonly random: Chance;
  readonly #options: KitOptions;
  readonly #parts: Part[] = [];
  readonly #counts = new Map<string, number>();
  readonly #logic: LogicNet[] = [];
  readonly #inputs: Input[] = [];
  readonly #states: State[] = [];
  readonly #conditions: Condition[] = [];
  readonly #expected: Expected[] = [];

  constructor(board: string, options: KitOptions) {
    this.board = board;
    this.random = chance(`board ${board}`);
    this.#options = options;
  }

  #add(kind: PartKind, pins: readonly (readonly [string, string])[], facts: Partial<Part> = {}): string {
    const letter = LETTER[kind]!;
    const count = (this.#counts.get(letter) ?? 0) + 1;
    this.#counts.set(letter, count);
    const ref = `${letter}${count}`;
    const tolerance = kind === 'capacitor' ? 20 : kind === 'zener' ? 5 : 10;
    this.#parts.push({
      board: this.board,
      ref,
      name: `${this.board}/${ref}`,
      kind,
      type: '',
      tolerance,
      note: '',
      ...facts,
      pins: pins.map(([pin, net]) => ({ pin, net })),
    });
    return ref;
  }

  r(a: string, b: string, ohms: number, tolerance = 10): string {
    return this.#add('resistor', [['1', a], ['2', b]], { value: ohms, tolerance }); // biome-ignore format: one part a line
  }
  trimmer(a: string, b: string, w: string, ohms: number, setting?: number): string {
    const facts = { value: ohms, tolerance: 20, ...(setting === undefined ? {} : { setting }) };
    return this.#add('trimmer', [['1', a], ['2', b], ['w', w]], facts); // biome-ignore format: one part a line
  }
  c(plus: string, minus: string, farads: number): string {
    return this.#add('capacitor', [['1', plus], ['2', minus]], { value: farads }); // biome-ignore format: one part a line
  }
  l(a: string, b: string, henries: number): string {
    return this.#add('inductor', [['1', a], ['2', b]], { value: henries }); // biome-ignore format: one part a line
  }
  lamp(a: string, b: string, hot: number): string {
    return this.#add('lamp', [['1', a], ['2', b]], { value: hot }); // biome-ignore format: one part a line
  }
  fuse(a: string, b: string, amperes: number): string {
    return this.#add('fuse', [['1', a], ['2', b]], { value: amperes }); // biome-ignore format: one part a line
  }
  switch(a: string, b: string, closed: boolean): string {
    return this.#add('switch', [['1', a], ['2', b]], { closed }); // biome-ignore format: one part a line
  }
  transformer(windings: readonly (readonly [string, string, number])[]): string {
    const pins = windings.flatMap(([a, b], k): [string, string][] => [
      [`${k + 1}a`, a],
      [`${k + 1}b`, b],
    ]);
    return this.#add('transformer', pins, { windings: windings.map(([, , ohms]) => ohms) });
  }
  d(type: string, a: string, k: string): string {
    return this.#add('diode', [['a', a], ['k', k]], { type }); // biome-ignore format: one part a line
  }
  z(type: string, a: string, k: string, volts: number): string {
    return this.#add('zener', [['a', a], ['k', k]], { type, value: volts }); // biome-ignore format: one part a line
  }
  q(type: string, e: string, b: string, c: string): string {
    return this.#add('transistor', [['e', e], ['b', b], ['c', c]], { type }); // biome-ignore format: one part a line
  }

  /** A net driven from outside: its volts when false and true, through `ohms`. */
  input(net: string, whenFalse: number, whenTrue: number, ohms = 0): string {
    this.#inputs.push({ net, whenFalse, whenTrue, ohms });
    return net;
  }
  /** A bistable: its nets with their volts in both states; the states are set by name in `condition`. */
  state(name: string, nets: State['nets']): void {
    this.#states.push({ name, nets });
  }
  /** A net whose level follows from others. */
  logic(
    net: string,
    inputs: readonly string[],
    value: LogicNet['value'],
    whenFalse: Range,
    whenTrue: Range,
  ): void {
    this.#logic.push({ net, inputs, value, whenFalse, whenTrue });
  }

  /** A condition: the inputs and states that are true, besides plain drives and hints. */
  condition(
    name: string,
    truths: readonly string[],
    extra: { drives?: readonly Drive[]; hints?: readonly Hint[]; expected?: Record<string, Range> } = {},
  ): void {
    const known = new Set([...this.#inputs.map((i) => i.net), ...this.#states.map((s) => s.name)]);
    for (const truth of truths)
      if (!known.has(truth)) throw new RangeError(`${this.board}: no input or state ${truth}`);
    const level = new Map<string, boolean>();
    const drives: Drive[] = [...(extra.drives ?? [])];
    const hints: Hint[] = [...(extra.hints ?? [])];
    for (const input of this.#inputs) {
      if (drives.some((d) => d.net === input.net)) continue;
      const value = truths.includes(input.net);
      level.set(input.net, value);
      drives.push({ net: input.net, volts: value ? input.whenTrue : input.whenFalse, ohms: input.ohms });
    }
    for (const state of this.#states) {
      const value = truths.includes(state.name);
      state.nets.forEach(({ net, whenFalse, whenTrue }) => {
        const volts = value ? whenTrue : whenFalse;
        const slack = Math.abs(whenTrue - whenFalse) * 0.35;
        hints.push({ net, volts });
        this.#expected.push({ condition: name, net, low: volts - slack, high: volts + slack });
        level.set(net, value === Math.abs(whenTrue) > Math.abs(whenFalse));
      });
    }
    for (const gate of this.#logic) {
      const values = gate.inputs.map((net) => level.get(net));
      if (values.some((v) => v === undefined)) continue;
      const value = gate.value(values as boolean[]);
      level.set(gate.net, value);
      const [low, high] = value ? gate.whenTrue : gate.whenFalse;
      this.#expected.push({ condition: name, net: gate.net, low, high });
    }
    for (const [net, [low, high]] of Object.entries(extra.expected ?? {}))
      this.#expected.push({ condition: name, net, low, high });
    this.#conditions.push({ name, drives, hints });
  }

  #points(): Point[] {
    const nets = new Set(this.#options.rails.map((r) => r.net));
    for (const part of this.#parts) for (const pin of part.pins) nets.add(pin.net);
    nets.delete('0V');
    const points: Point[] = [...nets].map((point) => ({ point, minutes: 1, note: '' }));
    const { pins } = this.#options;
    if (pins === 'none') return points;
    for (const part of this.#parts) {
      const wanted =
        part.kind === 'transistor' ||
        (pins !== 'transistors' && (part.kind === 'diode' || part.kind === 'zener'));
      if (!wanted || (pins === 'half' && this.random.uniform() < 0.5)) continue;
      for (const { pin } of part.pins) points.push({ point: `${part.name}.${pin}`, minutes: 1.2, note: '' });
    }
    return points;
  }

  finish(half: TrialBoard['half'], kind: string, outputs: readonly string[]): TrialBoard {
    const used = new Set(this.#parts.map((p) => p.type));
    const machine: Machine = {
      name: `Trial board ${this.board}`,
      summary: this.#options.summary,
      reference: '0V',
      ambient: 22,
      rails: this.#options.rails,
      units: [
        { id: 'one', health: 'healthy' },
        { id: 'two', health: 'faulty' },
      ],
      instruments: [{ id: 'meter', ohms: 1e7, gain: 0.5, random: 0.3, volts: 0.005 }],
      parts: this.#parts,
      types: new Map(TYPES.filter((t) => used.has(t.type)).map((t) => [t.type, t])),
      conditions: this.#conditions,
      points: this.#points(),
      readings: [],
      flow: [],
    };
    return { name: this.board, half, kind, machine, outputs, expected: this.#expected };
  }
}
