import type { Sheet } from './sheet.ts';

/*
 * The maker's standard stages. Negative logic: mark (1) is about -6.3 V, space (0) about -0.1 V. An inverter's collector is pulled
 * to -12 V and caught at -6 V by a diode; its base is held positive through a resistor to +6 V when the input is at space.
 */

/** Collector load of a logic stage to -12 V, with the diode that catches it at the clamp rail. */
function addLoad(sheet: Sheet, collector: string, ohms: number): void {
  sheet.addResistor(ohms, collector, '-12V');
  sheet.addDiode('QWD5', '-6V', collector, 'clamp');
}

export interface InverterValues {
  readonly type?: string;
  /** Ohms from the input to the base. */
  readonly series?: number;
  /** Ohms from the base to +6 V. */
  readonly bias?: number;
  /** Ohms from the collector to -12 V. */
  readonly load?: number;
  readonly note?: string;
}

/** The transistor of an inverter with its base resistors; what loads the collector is added by the caller. */
export function addSwitch(sheet: Sheet, input: string, output: string, values: InverterValues = {}): string {
  const base = sheet.nextTransistorNet('b');
  const ref = sheet.addTransistor(values.type ?? 'QWP11', '0V', base, output, values.note ?? `${output}`);
  sheet.addResistor(values.series ?? 6800, input, base);
  sheet.addResistor(values.bias ?? 47_000, base, '+6V');
  return ref;
}

export function addInverter(
  sheet: Sheet,
  input: string,
  output: string,
  values: InverterValues = {},
): string {
  const ref = addSwitch(sheet, input, output, values);
  addLoad(sheet, output, values.load ?? 3300);
  return ref;
}

/** Diode gate: `node` goes to mark only when all inputs are at mark. */
export function addAndGate(sheet: Sheet, inputs: readonly string[], node: string): void {
  for (const input of inputs) sheet.addDiode('QWD1', input, node);
  sheet.addResistor(10_000, node, '-12V');
}

/** Diode gate and inverter: `output` is at space only when all inputs are at mark. */
export function addNand(
  sheet: Sheet,
  inputs: readonly string[],
  output: string,
  values: InverterValues = {},
): string {
  const node = `${sheet.board}.${output}.and`;
  addAndGate(sheet, inputs, node);
  return addInverter(sheet, node, output, { series: 4700, bias: 33_000, ...values });
}

/** Two layers of diodes and an inverter: `output` is at space when all inputs of any one term are at mark. */
export function addAndOrInvert(sheet: Sheet, terms: readonly (readonly string[])[], output: string): string {
  const or = `${sheet.board}.${output}.or`;
  terms.forEach((inputs, i) => {
    const node = `${sheet.board}.${output}.and${i + 1}`;
    addAndGate(sheet, inputs, node);
    sheet.addDiode('QWD1', or, node);
  });
  return addInverter(sheet, or, output, { series: 4700, bias: 33_000 });
}

export interface FlipFlopValues {
  /** At mark when the flip-flop is set. */
  readonly output: string;
  readonly complement: string;
  /** Clocks whose edge from mark to space sets and resets. */
  readonly setBy: string;
  readonly resetBy: string;
  /** Nets that must be at space for the edge to set (reset): through the steering resistor. */
  readonly setFrom: string;
  readonly resetFrom: string;
  /** Nets that block setting while they are at mark, through steering diodes. */
  readonly setBlockedBy?: readonly string[];
  /** Trigger capacitor of the set side, farads; 1 nF where nothing is said. */
  readonly setFarads?: number;
  readonly load?: number;
}

const TRIGGER_FARADS = 1e-9;

/**
 * Cross-coupled pair with diode-capacitor steering. The transistor of `output` comes first; a positive edge through its steering
 * diode cuts it off and so sets the flip-flop.
 */
export function addFlipFlop(sheet: Sheet, values: FlipFlopValues): void {
  const { output, complement } = values;
  const setBase = sheet.nextTransistorNet('b');
  addInverter(sheet, complement, output, { load: values.load });
  const resetBase = sheet.nextTransistorNet('b');
  addInverter(sheet, output, complement, { load: values.load });
  addSteering(sheet, `${output}.set`, values.setBy, values.setFrom, setBase, values.setFarads);
  for (const net of values.setBlockedBy ?? []) sheet.addDiode('QWD1', `${output}.set`, net, 'steering');
  addSteering(sheet, `${output}.rst`, values.resetBy, values.resetFrom, resetBase);
}

/** Trigger capacitor, steering resistor and diode: a positive edge of `clock` passes to `base` while `from` is at space. */
function addSteering(
  sheet: Sheet,
  node: string,
  clock: string,
  from: string,
  base: string,
  farads = TRIGGER_FARADS,
): void {
  sheet.addCapacitor(farads, node, clock);
  sheet.addResistor(22_000, node, from);
  sheet.addDiode('QWD1', node, base, 'steering');
}

/** Emitter follower with its resistor to +6 V: drives several diode gates. */
export function addFollower(sheet: Sheet, input: string, output: string, note = ''): string {
  const ref = sheet.addTransistor('QWP11', output, input, '-12V', note || output);
  sheet.addResistor(1800, output, '+6V');
  return ref;
}

/** Lamp from the raw supply, lit while `input` is at mark. */
export function addLampDriver(sheet: Sheet, input: string, note: string): void {
  const collector = sheet.nextTransistorNet('c');
  addSwitch(sheet, input, collector, { type: 'QWP14', series: 4700, bias: 33_000, note });
  sheet.add('lamp', { 1: collector, 2: '-24F' }, { value: 1200, note });
}

/** Board decoupling. */
export function addDecoupling(sheet: Sheet): void {
  sheet.addCapacitor(47e-6, '0V', '-12V', 'decoupling');
}
