/**
 * The stages the trial boards are made of. Logic levels: true is the side of the collector supply, false the
 * side of the reference, for PNP and NPN families alike. Values after common practice of the period, no source.
 */
import type { Kit, Range } from './kit.ts';

/** Supplies, devices and resistors of one family of logic stages. */
export interface Family {
  /** +1 for NPN on a positive supply, -1 for PNP on a negative one. */
  readonly sign: 1 | -1;
  readonly transistor: string;
  readonly diode: string;
  readonly supply: string;
  readonly volts: number;
  /** Supply of the other sign that cuts the bases off. */
  readonly bias: string;
  /** Clamp rail of the true level, where the family has one. */
  readonly clamp?: { readonly net: string; readonly volts: number };
  readonly rc: number;
  /** Base resistor of each input and bias resistor of a resistor-coupled stage. */
  readonly rb: number;
  readonly rk: number;
}

const ordered = (a: number, b: number): Range => (a < b ? [a, b] : [b, a]);

/** Range of a false (saturated) level. */
function falseRange(f: Family): Range {
  return ordered(f.sign * -0.05, f.sign * 0.55);
}
/** Range of a true (cut-off) level. */
function trueRange(f: Family, least = 0.42): Range {
  const top = f.clamp ? f.clamp.volts + f.sign : f.volts * 1.06;
  return ordered(least * (f.clamp ? f.clamp.volts * 1.9 : f.volts), top);
}

/** An input with the family's levels. */
export function logicInput(kit: Kit, f: Family, net: string, ohms = 0): string {
  return kit.input(net, f.sign * 0.12, f.clamp ? f.clamp.volts : f.volts * 0.75, ohms);
}

function load(kit: Kit, f: Family, out: string, rc = f.rc): void {
  kit.r(f.supply, out, rc);
  if (f.clamp === undefined) return;
  if (f.sign > 0) kit.d(f.diode, out, f.clamp.net);
  else kit.d(f.diode, f.clamp.net, out);
}

/** Resistor-transistor stage: false when any input is true. Output net `name`. */
export function nor(kit: Kit, f: Family, name: string, inputs: readonly string[], least?: number): string {
  const base = `${name}-B`;
  load(kit, f, name);
  for (const input of inputs) kit.r(input, base, f.rb);
  kit.r(base, f.bias, f.rk);
  kit.q(f.transistor, '0V', base, name);
  kit.logic(name, inputs, (v) => !v.some(Boolean), falseRange(f), trueRange(f, least));
  return name;
}

/** Diode-transistor stage: false when all inputs are true. Output net `name`. */
export function nand(kit: Kit, f: Family, name: string, inputs: readonly string[], latch = false): string {
  const gate = `${name}-G`;
  const base = `${name}-B`;
  load(kit, f, name);
  kit.r(f.supply, gate, f.rc * 3);
  for (const input of inputs)
    if (f.sign > 0) kit.d(f.diode, gate, input);
    else kit.d(f.diode, input, gate);
  kit.r(gate, base, f.rc * 2);
  kit.r(base, f.bias, f.rk);
  kit.q(f.transistor, '0V', base, name);
  if (!latch) kit.logic(name, inputs, (v) => !v.every(Boolean), falseRange(f), trueRange(f));
  return name;
}

/** Two cross-coupled diode-transistor stages; nets `name-Q`, `name-N`; set and reset inputs act when false. */
export function latch(
  kit: Kit,
  f: Family,
  name: string,
  set: readonly string[],
  reset: readonly string[],
): void {
  const high = f.clamp ? f.clamp.volts : f.volts * 0.85;
  nand(kit, f, `${name}-Q`, [`${name}-N`, ...set], true);
  nand(kit, f, `${name}-N`, [`${name}-Q`, ...reset], true);
  kit.state(name, [
    { net: `${name}-Q`, whenFalse: f.sign * 0.1, whenTrue: high },
    { net: `${name}-N`, whenFalse: high, whenTrue: f.sign * 0.1 },
  ]);
}

/**
 * Flip-flop of two resistor-coupled inverters with speed-up capacitors; nets `name-Q`, `name-N`. With `clock`,
 * each base is steered through a capacitor, a resistor to `steer` (its own collector when absent) and a diode.
 */
export function flipFlop(
  kit: Kit,
  f: Family,
  name: string,
  options: { clock?: string; steer?: readonly [string, string]; loaded?: number } = {},
): void {
  const [q, n] = [`${name}-Q`, `${name}-N`];
  const [bq, bn] = [`${name}-BQ`, `${name}-BN`];
  for (const [out, base, other] of [
    [q, bq, n],
    [n, bn, q],
  ] as const) {
    load(kit, f, out);
    kit.r(other, base, f.rb);
    const [plus, minus] = f.sign > 0 ? [other, base] : [base, other];
    kit.c(plus, minus, 330e-12);
    kit.r(base, f.bias, f.rk);
    kit.q(f.transistor, '0V', base, out);
  }
  if (options.clock !== undefined)
    for (const [side, base, from] of [
      ['SQ', bq, options.steer?.[0] ?? q],
      ['SN', bn, options.steer?.[1] ?? n],
    ] as const) {
      const gate = `${name}-${side}`;
      kit.c(options.clock, gate, 1e-9);
      kit.r(from, gate, f.rb * 2);
      // A pulse away from the supply turns the conducting side off.
      if (f.sign > 0) kit.d(f.diode, base, gate);
      else kit.d(f.diode, gate, base);
    }
  const high = f.clamp ? f.clamp.volts : f.volts * (options.loaded ?? 0.8);
  kit.state(name, [
    { net: q, whenFalse: f.sign * 0.1, whenTrue: high },
    { net: n, whenFalse: high, whenTrue: f.sign * 0.1 },
  ]);
}

/** Emitter follower, emitter resistor to `to`; output net `name`. */
export function follower(
  kit: Kit,
  type: string,
  name: string,
  base: string,
  collector: string,
  to: string,
  ohms: number,
): string {
  kit.q(type, name, base, collector);
  kit.r(name, to, ohms);
  return name;
}

/** Schmitt trigger on a common emitter resistor; the output `name` is true when the input is. */
export function schmitt(kit: Kit, f: Family, name: string, input: string): string {
  const n = (s: string) => `${name}-${s}`;
  kit.r(input, n('B1'), f.rc * 2);
  kit.q(f.transistor, n('E'), n('B1'), n('C1'));
  kit.r(f.supply, n('C1'), f.rc);
  kit.r(n('C1'), n('B2'), f.rc * 2);
  kit.c(n('C1'), n('B2'), 470e-12);
  kit.r(n('B2'), '0V', f.rc * 4.5);
  kit.q(f.transistor, n('E'), n('B2'), name);
  kit.r(f.supply, name, f.rc * 0.68);
  kit.r(n('E'), '0V', f.rc * 0.22);
  kit.logic(
    name,
    [input],
    ([v]) => v!,
    ordered(f.volts * 0.14, f.volts * 0.4),
    ordered(f.volts * 0.7, f.volts * 1.06),
  );
  return name;
}

/**
 * Monostable at rest, triggered through a capacitor from `trigger`: its partner `name-P` is false, and `name`
 * true until the level `hold` is.
 */
export function monostable(
  kit: Kit,
  f: Family,
  name: string,
  trigger: string,
  timing: number,
  hold: string,
): string {
  const n = (s: string) => `${name}-${s}`;
  load(kit, f, name);
  kit.q(f.transistor, '0V', n('B1'), name);
  kit.r(n('P'), n('B1'), f.rb);
  kit.r(hold, n('B1'), f.rb);
  kit.r(n('B1'), f.bias, f.rk);
  const [plus, minus] = f.sign > 0 ? [name, n('B2')] : [n('B2'), name];
  kit.c(plus, minus, timing);
  kit.r(f.supply, n('B2'), f.rb * 1.5);
  kit.q(f.transistor, '0V', n('B2'), n('P'));
  load(kit, f, n('P'));
  kit.c(trigger, n('T'), 2.2e-9);
  kit.r(n('T'), '0V', f.rb);
  if (f.sign > 0) kit.d(f.diode, n('B2'), n('T'));
  else kit.d(f.diode, n('T'), n('B2'));
  kit.logic(name, [hold], ([v]) => !v, falseRange(f), trueRange(f));
  kit.logic(n('P'), [], () => false, falseRange(f), trueRange(f));
  return name;
}

/** Common-emitter amplifier stage with a divider and a bypassed emitter resistor; output net `name`. */
export function amplifier(
  kit: Kit,
  type: string,
  sign: 1 | -1,
  name: string,
  supply: string,
  input: string,
  scale = 1,
): string {
  const n = (s: string) => `${name}-${s}`;
  const [plus, minus] = sign > 0 ? [n('B'), input] : [input, n('B')];
  kit.c(plus, minus, 10e-6);
  kit.r(supply, n('B'), 47e3 * scale);
  kit.r(n('B'), '0V', 10e3 * scale);
  kit.r(supply, name, 3.3e3 * scale);
  kit.q(type, n('E'), n('B'), name);
  kit.r(n('E'), '0V', 1e3 * scale);
  const [ep, em] = sign > 0 ? [n('E'), '0V'] : ['0V', n('E')];
  kit.c(ep, em, 47e-6);
  return name;
}
