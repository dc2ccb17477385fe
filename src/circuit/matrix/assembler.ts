/**
 * Just enough of a WebAssembly assembler for loops over memory. Code is a list of bytes; a function here makes an
 * expression or a statement out of smaller ones, so that kernels read from the outside in. Locals are numbers.
 *
 * @source WebAssembly Core Specification 2.0 (W3C), chapter 5, binary format (from memory)
 */

export type Code = number | readonly Code[];

export const I32 = 0x7f;
export const I64 = 0x7e;
export const F64 = 0x7c;
export const V128 = 0x7b;
export type ValueType = typeof I32 | typeof I64 | typeof F64 | typeof V128;

export interface Routine {
  readonly name: string;
  readonly parameters: readonly ValueType[];
  readonly locals: readonly ValueType[];
  readonly code: Code;
}

export const get = (local: number): Code => [0x20, unsigned(local)];
export const set = (local: number, value: Code): Code => [value, 0x21, unsigned(local)];
export const integer = (value: number): Code => [0x41, signed(value)];
export const add = (a: Code, b: Code): Code => [a, b, 0x6a];
export const subtract = (a: Code, b: Code): Code => [a, b, 0x6b];
export const multiply = (a: Code, b: Code): Code => [a, b, 0x6c];
export const and = (a: Code, b: Code): Code => [a, b, 0x71];
export const or = (a: Code, b: Code): Code => [a, b, 0x72];
export const shiftRight = (a: Code, places: number): Code => [a, integer(places), 0x76];
export const equal = (a: Code, b: Code): Code => [a, b, 0x46];
export const differ = (a: Code, b: Code): Code => [a, b, 0x47];
export const isLess = (a: Code, b: Code): Code => [a, b, 0x49]; // unsigned
/** `a` when the condition is not zero, else `b`. */
export const select = (a: Code, b: Code, condition: Code): Code => [a, b, condition, 0x1b];
/** The 32-bit word at an address plus `offset` bytes. */
export const word = (address: Code, offset = 0): Code => [address, 0x28, 2, unsigned(offset)];
export const setWord = (address: Code, value: Code): Code => [address, value, 0x36, 2, 0];
export const move = (local: number, by: number): Code =>
  by === 0 ? [] : set(local, add(get(local), integer(by)));
/** Sets `length` bytes from `address` to zero. */
export const clear = (address: Code, length: Code): Code => [address, integer(0), length, 0xfc, 0x0b, 0];

/** Runs the body as long as `again` is not zero after it. */
export const doWhile = (body: readonly Code[], again: Code): Code => [0x03, 0x40, body, again, 0x0d, 0, 0x0b];
export const when = (condition: Code, ...body: readonly Code[]): Code => [condition, 0x04, 0x40, body, 0x0b];
/** Runs the body as often as `counter` says, which ends at zero. */
export const times = (counter: number, ...body: readonly Code[]): Code =>
  when(get(counter), timesAtLeastOnce(counter, ...body));
export const timesAtLeastOnce = (counter: number, ...body: readonly Code[]): Code =>
  doWhile([body, move(counter, -1)], get(counter));
/** Runs the case that `selector` names; numbers past the end run the last. */
export function choose(selector: Code, cases: readonly Code[]): Code {
  const last = cases.length - 1;
  let code: Code = [0x02, 0x40, selector, 0x0e, unsigned(last), cases.map((_, i) => i), 0x0b];
  for (const [index, body] of cases.entries()) {
    if (index === last) code = [code, body];
    else code = [0x02, 0x40, code, body, 0x0c, unsigned(last - index), 0x0b];
  }
  return [0x02, 0x40, code, 0x0b];
}

/** The bytes of a module that exports the routines and imports its memory as `memory` of `environment`. */
export function moduleOf(routines: readonly Routine[]): Uint8Array<ArrayBuffer> {
  const types = routines.map(({ parameters }) => [0x60, vector(parameters), 0]);
  const bodies = routines.map(({ locals, code }) =>
    sized([vector(locals.map((type) => [1, type])), code, 0x0b]),
  );
  const exported = routines.map((routine, index) => [name(routine.name), 0, unsigned(index)]);
  return Uint8Array.from(
    flat([
      [0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
      [1, sized(vector(types))],
      [2, sized(vector([[name('environment'), name('memory'), 2, 0, 1]]))],
      [3, sized(vector(routines.map((_, index) => unsigned(index))))],
      [7, sized(vector(exported))],
      [10, sized(vector(bodies))],
    ]),
  );
}

function flat(code: Code, bytes: number[] = []): number[] {
  if (typeof code === 'number') bytes.push(code);
  else for (const part of code) flat(part, bytes);
  return bytes;
}

function sized(content: Code): Code {
  const bytes = flat(content);
  return [unsigned(bytes.length), bytes];
}

function vector(items: readonly Code[]): Code {
  return [unsigned(items.length), items];
}

function name(text: string): Code {
  return vector([...text].map((letter) => letter.charCodeAt(0)));
}

/** A whole number, seven bits a byte, the lowest first. */
export function unsigned(value: number): number[] {
  const bytes: number[] = [];
  let rest = value;
  while (rest > 0x7f) {
    bytes.push((rest & 0x7f) | 0x80);
    rest >>>= 7;
  }
  return [...bytes, rest];
}

function signed(value: number): number[] {
  const bytes: number[] = [];
  let rest = value;
  while (rest < -64 || rest > 63) {
    bytes.push((rest & 0x7f) | 0x80);
    rest >>= 7;
  }
  return [...bytes, rest & 0x7f];
}
