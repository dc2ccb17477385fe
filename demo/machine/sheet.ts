import { KIND_RULES, type Part, type PartKind } from '../../src/machine/index.ts';

const LETTER: Readonly<Record<PartKind, string>> = {
  resistor: 'R',
  trimmer: 'RV',
  capacitor: 'C',
  inductor: 'L',
  transformer: 'T',
  diode: 'D',
  zener: 'Z',
  transistor: 'Q',
  lamp: 'LP',
  fuse: 'FS',
  switch: 'S',
  connector: 'J',
  other: 'K',
};

type Electrical = Pick<Part, 'value' | 'windings' | 'closed' | 'setting'>;
interface Extra extends Electrical {
  readonly type?: string;
  readonly tolerance?: number;
  readonly note?: string;
}

/**
 * One board's parts list while it is drawn up. Parts are numbered in the order in which they are added, as the maker
 * numbered them along the flow of the signal; each call gives the reference back, `Q3`.
 */
export class Sheet {
  readonly board: string;
  readonly #parts: Part[] = [];
  readonly #last = new Map<string, number>();
  /** By part name. */
  readonly #stages = new Map<string, string>();
  #stage = '';

  constructor(board: string) {
    this.board = board;
  }

  get parts(): readonly Part[] {
    return this.#parts;
  }

  /** The stage of a part; empty for what belongs to none. */
  stageOf(part: Part): string {
    return this.#stages.get(part.name) ?? '';
  }

  /** What is added from here on belongs to a stage of this name, or to none. */
  beginStage(name = ''): void {
    this.#stage = name;
  }

  /** The net of a pin of the next transistor, by the name it will bear: `CTR.Q3.b`. */
  nextTransistorNet(pin: 'e' | 'b' | 'c'): string {
    return `${this.board}.Q${(this.#last.get('Q') ?? 0) + 1}.${pin}`;
  }

  add(kind: PartKind, pins: Readonly<Record<string, string>>, extra: Extra = {}): string {
    const letter = LETTER[kind];
    const number = (this.#last.get(letter) ?? 0) + 1;
    this.#last.set(letter, number);
    const ref = `${letter}${number}`;
    this.#stages.set(`${this.board}/${ref}`, this.#stage);
    this.#parts.push({
      type: '',
      tolerance: KIND_RULES[kind].tolerance,
      note: '',
      ...extra,
      board: this.board,
      ref,
      name: `${this.board}/${ref}`,
      kind,
      pins: Object.entries(pins).map(([pin, net]) => ({ pin, net })),
    });
    return ref;
  }

  addResistor(ohms: number, one: string, two: string, extra: Extra = {}): string {
    return this.add('resistor', { 1: one, 2: two }, { ...extra, value: ohms });
  }

  /** `positive` is the positive side of an electrolytic. */
  addCapacitor(farads: number, positive: string, two: string, note = ''): string {
    return this.add('capacitor', { 1: positive, 2: two }, { value: farads, note });
  }

  addDiode(type: string, anode: string, cathode: string, note = ''): string {
    return this.add('diode', { a: anode, k: cathode }, { type, note });
  }

  addZener(type: string, volts: number, anode: string, cathode: string, note = ''): string {
    return this.add('zener', { a: anode, k: cathode }, { type, value: volts, note });
  }

  addTransistor(type: string, emitter: string, base: string, collector: string, note = ''): string {
    return this.add('transistor', { e: emitter, b: base, c: collector }, { type, note });
  }

  /** An edge connector with its pins numbered from 1 in the order given. */
  addConnector(nets: readonly string[], note: string): string {
    return this.add('connector', Object.fromEntries(nets.map((net, i) => [`${i + 1}`, net])), { note });
  }
}
