import {
  and,
  type Code,
  equal,
  F64,
  I64,
  integer,
  select,
  shiftRight,
  unsigned,
  V128,
  type ValueType,
} from './assembler.ts';
import { UNROLLED } from './symbolic.ts';

/** Operations on the numbers of a place. */
export interface Arithmetic {
  readonly type: ValueType;
  /** Bytes of a number. */
  readonly bytes: number;
  readonly load: (address: Code, places?: number) => Code;
  readonly store: (address: Code, value: Code, places?: number) => Code;
  readonly plus: (a: Code, b: Code) => Code;
  readonly minus: (a: Code, b: Code) => Code;
  readonly by: (a: Code, b: Code) => Code;
  readonly reciprocal: (a: Code) => Code;
  /** A vector holds so many numbers of successive columns. */
  readonly columns: number;
  readonly spread: (a: Code) => Code;
  readonly loadSpread: (address: Code) => Code;
  readonly gather: (addresses: readonly Code[]) => Code;
  readonly scatter: (addresses: readonly Code[], value: Code) => Code;
  /** Bits: their type, loading, storing, where two differ, union, and a word that is not zero when any is set. */
  readonly bits: ValueType;
  readonly loadBits: (address: Code, places?: number) => Code;
  readonly storeBits: (address: Code, value: Code, places?: number) => Code;
  readonly differing: (a: Code, b: Code) => Code;
  readonly either: (a: Code, b: Code) => Code;
  readonly noBits: Code;
  readonly anyBit: (a: Code) => Code;
}

const ONE = [0x44, 0, 0, 0, 0, 0, 0, 0xf0, 0x3f];

export const loadVector = (address: Code, offset = 0): Code => [address, 0xfd, 0x00, 3, unsigned(offset)];
export const storeVector = (address: Code, value: Code): Code => [address, value, 0xfd, 0x0b, 3, 0];
export const minusVector = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf1, 0x01];
export const byVector = (a: Code, b: Code): Code => [a, b, 0xfd, 0xf2, 0x01];

export const SINGLE: Arithmetic = {
  type: F64,
  bytes: 8,
  load: (address, places = 0) => [address, 0x2b, 3, unsigned(8 * places)],
  store: (address, value, places = 0) => [address, value, 0x39, 3, unsigned(8 * places)],
  plus: (a, b) => [a, b, 0xa0],
  minus: (a, b) => [a, b, 0xa1],
  by: (a, b) => [a, b, 0xa2],
  reciprocal: (a) => [ONE, a, 0xa3],
  columns: 2,
  spread: (a) => [a, 0xfd, 0x14],
  loadSpread: (address) => [address, 0xfd, 0x0a, 3, 0],
  gather: ([a, b]) => [b!, a!, 0xfd, 0x5d, 3, 0, 0xfd, 0x57, 3, 0, 1],
  scatter: ([a, b], value) => [a!, value, 0xfd, 0x5b, 3, 0, 0, b!, value, 0xfd, 0x5b, 3, 0, 1],
  bits: I64,
  loadBits: (address, places = 0) => [address, 0x29, 3, unsigned(8 * places)],
  storeBits: (address, value, places = 0) => [address, value, 0x37, 3, unsigned(8 * places)],
  differing: (a, b) => [a, b, 0x85],
  either: (a, b) => [a, b, 0x84],
  noBits: [0x42, 0],
  anyBit: (a) => [a, 0x42, 0, 0x52],
};

/** Two systems at once, one in each half of a vector. */
export const PAIR: Arithmetic = {
  type: V128,
  bytes: 16,
  load: (address, places = 0) => [address, 0xfd, 0x00, 4, unsigned(16 * places)],
  store: (address, value, places = 0) => [address, value, 0xfd, 0x0b, 4, unsigned(16 * places)],
  plus: (a, b) => [a, b, 0xfd, 0xf0, 0x01],
  minus: (a, b) => [a, b, 0xfd, 0xf1, 0x01],
  by: (a, b) => [a, b, 0xfd, 0xf2, 0x01],
  reciprocal: (a) => [ONE, 0xfd, 0x14, a, 0xfd, 0xf3, 0x01],
  columns: 1,
  spread: (a) => a,
  loadSpread: (address) => loadVector(address),
  gather: ([a]) => loadVector(a!),
  scatter: ([a], value) => storeVector(a!, value),
  bits: V128,
  loadBits: (address, places = 0) => PAIR.load(address, places),
  storeBits: (address, value, places = 0) => PAIR.store(address, value, places),
  differing: (a, b) => [a, b, 0xfd, 0x51],
  either: (a, b) => [a, b, 0xfd, 0x50],
  noBits: [0xfd, 0x0c, new Array<number>(16).fill(0)],
  anyBit: (a) => [a, 0xfd, 0x53],
};

/** Numbers for the locals of a routine, after its parameters. */
export class Locals {
  readonly parameters: number;
  readonly types: ValueType[] = [];
  constructor(parameters: number) {
    this.parameters = parameters;
  }
  of(type: ValueType): number {
    this.types.push(type);
    return this.parameters + this.types.length - 1;
  }
  /** Eight at once, to be taken apart. */
  eight(type: ValueType): Eight {
    return range(8).map(() => this.of(type)) as Eight;
  }
}

type Eight = [number, number, number, number, number, number, number, number];

/** The case for a supernode of `r` steps: the unrolled one, or the last. */
export const shape = (s: Code, r: Code): Code => select(s, integer(UNROLLED + 1), equal(r, integer(1)));
export const quotient = (a: Code, powerOfTwo: number): Code =>
  powerOfTwo === 1 ? a : shiftRight(a, Math.log2(powerOfTwo));
export const remainder = (a: Code, powerOfTwo: number): Code => and(a, integer(powerOfTwo - 1));
export const range = (count: number) => Array.from({ length: count }, (_, index) => index);
