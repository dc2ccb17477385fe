/**
 * Value change dumps of logic analysers and simulators: four states and real variables, IEEE Std 1364-2005, clause 18 (section
 * numbers from memory).
 */

import type { Finding, FindingCode } from '../machine/index.ts';
import type { LogicTrace, Trace } from '../waveform/index.ts';
import {
  type CaptureReader,
  type CaptureResult,
  MOST_SAMPLES,
  Refusal,
  RefusingReader,
  shown,
} from './capture.ts';
import { Dumped } from './dumped.ts';

/** Bytes of one word beyond which it is none: a value of ten thousand bits is shorter. */
const LONGEST_WORD = 16 * 1024;
const MOST_VARIABLES = 10_000;
const WIDEST = 4096;

const SECONDS: Readonly<Record<string, number>> = { s: 1, ms: 1e3, us: 1e6, ns: 1e9, ps: 1e12, fs: 1e15 };

/** A name for the values of one code; several names may share one. */
interface Variable {
  readonly name: string;
  readonly dumped: Dumped;
}

/**
 * Reads a value change dump. A signal keeps its state until the next change; before its first one, and while recording is off, it is
 * unknown. A real variable becomes a trace of steps: before each change stands a sample of the old value, one tick earlier. Events
 * have no state: they are left out, and reported.
 */
export function valueChangeReader(file: string): CaptureReader {
  return new ValueChangeReader(file);
}

class ValueChangeReader extends RefusingReader {
  readonly #file: string;
  readonly #variables: Variable[] = [];
  readonly #byCode = new Map<string, Dumped>();
  readonly #scopes: string[] = [];
  #rest = '';
  readonly #decoder = new TextDecoder();
  #line = 1;
  /** Words of the section that is open, its keyword first. */
  #section: string[] | undefined;
  #header = true;
  /** Ticks a second, and seconds a tick's unit: instants are `ticks * multiple / divisor`. */
  #multiple = 0;
  #divisor = 1;
  #tick: number | undefined;
  #firstTick: number | undefined;
  /** A vector or real value whose code has not come. */
  #value: string | undefined;
  #off = false;
  #offSince = 0;
  readonly #offs: string[] = [];
  rows = 0;

  constructor(file: string) {
    super();
    this.#file = file;
  }

  protected take(piece: Uint8Array): void {
    this.#words(this.#rest + this.#decoder.decode(piece, { stream: true }), false);
  }

  /** Words between blanks; the last one is kept unless the text is at its end. */
  #words(text: string, ended: boolean): void {
    let from = -1;
    for (let i = 0; i < text.length; i++) {
      const c = text.charCodeAt(i);
      const blank = c === 32 || (c >= 9 && c <= 13);
      if (!blank) {
        if (c < 32) throw this.#refusal('binary', `a control byte (0x${c.toString(16)}): no text`);
        if (from < 0) from = i;
        continue;
      }
      if (from >= 0) this.#word(text.slice(from, i));
      from = -1;
      if (c === 10) this.#line++;
    }
    this.#rest = from < 0 ? '' : text.slice(from);
    if (this.#rest.length > LONGEST_WORD) {
      throw this.#refusal('not-a-table', `a word of more than ${LONGEST_WORD / 1024} kB; a dump has none`);
    }
    if (ended && this.#rest !== '') this.#word(this.#rest);
  }

  #word(word: string): void {
    if (this.#section !== undefined) {
      if (word === '$end') this.#closeSection();
      else if (this.#section[0] !== '$comment' && this.#section.length < 64) this.#section.push(word);
    } else if (this.#value !== undefined) {
      const value = this.#value;
      this.#value = undefined;
      this.#change(value, word);
    } else if (word.startsWith('$')) this.#keyword(word);
    else if (this.#header) {
      throw this.#refusal(
        'format',
        `${shown(word)} before $enddefinitions; a keyword such as $var belongs here`,
      );
    } else this.#simulation(word);
  }

  #keyword(word: string): void {
    switch (word) {
      case '$end':
      case '$dumpvars':
      case '$dumpall':
        return;
      case '$dumpoff':
        this.#stop();
        return;
      case '$dumpon':
        this.#resume();
        return;
      case '$comment':
      case '$date':
      case '$version':
      case '$timescale':
      case '$scope':
      case '$upscope':
      case '$var':
      case '$enddefinitions':
        this.#section = [word];
        return;
      default:
        throw this.#refusal('unknown-word', `${shown(word)} is no keyword of a value change dump`);
    }
  }

  #closeSection(): void {
    const [keyword, ...words] = this.#section!;
    this.#section = undefined;
    if (keyword === '$timescale') this.#setTimescale(words.join(''));
    else if (keyword === '$scope') this.#scopes.push(words[1] ?? '');
    else if (keyword === '$upscope') this.#scopes.pop();
    else if (keyword === '$var') this.#define(words);
    else if (keyword === '$enddefinitions') {
      this.#header = false;
      if (this.#multiple === 0)
        throw this.#refusal('missing', 'no $timescale: how long a tick is is not stated');
    }
  }

  #setTimescale(text: string): void {
    const [, number, unit] = /^(1|10|100)(s|ms|us|ns|ps|fs)$/.exec(text) ?? [];
    if (number === undefined) {
      throw this.#refusal(
        'format',
        `timescale ${shown(text)}; 1, 10 or 100 and a unit from s to fs belong here`,
      );
    }
    this.#multiple = Number(number);
    this.#divisor = SECONDS[unit!]!;
  }

  #define([kind, size, code, ...reference]: readonly string[]): void {
    const width = Number(size);
    if (kind === undefined || code === undefined || reference.length === 0) {
      throw this.#refusal('format', 'a $var without its kind, width, code and name');
    }
    if (!(Number.isInteger(width) && width >= 1 && width <= WIDEST)) {
      throw this.#refusal('format', `a width of ${shown(size ?? '')}; 1 to ${WIDEST} bits belong here`);
    }
    if (this.#variables.length === MOST_VARIABLES) {
      throw this.#refusal('file-too-large', `more than ${MOST_VARIABLES.toLocaleString('en')} variables`);
    }
    const type = kind === 'real' || kind === 'realtime' ? 'real' : kind === 'event' ? 'event' : 'logic';
    const dumped = this.#byCode.get(code) ?? new Dumped(type, width);
    if (dumped.type !== type || dumped.width !== width) {
      throw this.#refusal('duplicate', `code ${shown(code)} stands for variables of different kind or width`);
    }
    this.#byCode.set(code, dumped);
    // The range of a whole vector says no more than its width does; a single bit's index tells it from its neighbours.
    const name = reference.join('').replace(/\[\d+:\d+\]$/, '');
    this.#variables.push({ name: [...this.#scopes.filter((scope) => scope !== ''), name].join('.'), dumped });
  }

  #simulation(word: string): void {
    switch (word[0]) {
      case '#':
        this.#setTick(word);
        return;
      case '0':
      case '1':
      case 'x':
      case 'X':
      case 'z':
      case 'Z':
        this.#change(word[0], word.slice(1));
        return;
      case 'b':
      case 'B':
      case 'r':
      case 'R':
        this.#value = word;
        return;
      default:
        throw this.#refusal('unknown-word', `${shown(word)} is neither a time (#) nor a value (0 1 x z b r)`);
    }
  }

  #setTick(word: string): void {
    const tick = /^#\d+$/.test(word) ? Number(word.slice(1)) : Number.NaN;
    if (!Number.isSafeInteger(tick)) throw this.#refusal('not-a-number', `${shown(word)} is no time`);
    if (this.#tick !== undefined && tick < this.#tick) {
      throw this.#refusal('out-of-range', `the time goes back from ${this.#tick} to ${tick}`);
    }
    this.#tick = tick;
    this.#firstTick ??= tick;
  }

  #change(value: string, code: string): void {
    const dumped = this.#byCode.get(code);
    if (dumped === undefined) {
      throw this.#refusal('unknown-word', `a value for the code ${shown(code)}, which no $var defines`);
    }
    // Values before the first time are those at the beginning.
    this.#tick ??= 0;
    this.#firstTick ??= this.#tick;
    // While recording is off, what stands there is no change of the signal.
    if (this.#off) return;
    const fault = dumped.change(this.#tick, value);
    if (fault !== undefined) throw this.#refusal('format', fault);
    if (++this.rows > MOST_SAMPLES) {
      throw this.#refusal(
        'file-too-large',
        `more than ${MOST_SAMPLES.toLocaleString('en')} changes; export a part of the capture`,
      );
    }
  }

  #stop(): void {
    if (this.#off) return;
    this.#off = true;
    this.#offSince = this.#tick ?? 0;
    for (const dumped of this.#byCode.values()) dumped.lose(this.#offSince);
  }

  #resume(): void {
    if (this.#off)
      this.#offs.push(`${this.#shownTick(this.#offSince)} to ${this.#shownTick(this.#tick ?? 0)}`);
    this.#off = false;
  }

  #shownTick(tick: number): string {
    return `${this.#seconds(tick)} s`;
  }

  #seconds(tick: number): number {
    return (tick * this.#multiple) / this.#divisor;
  }

  #taken(dumped: Dumped, first: number, last: number) {
    const { ticks, states, reals } = dumped.taken(first, last);
    return { instants: ticks.map((tick) => this.#seconds(tick)), states, values: Float32Array.from(reals) };
  }

  protected finish(): CaptureResult {
    const findings: Finding[] = [];
    const warn = (code: FindingCode, message: string, row?: number): void => {
      const place = row === undefined ? {} : { row };
      findings.push({ severity: 'warning', code, file: this.#file, ...place, message });
    };
    this.#finishWords(warn);
    const first = this.#firstTick;
    if (first === undefined) throw this.#refusal('missing', 'the file holds no value and no time');
    if (this.#off) this.#offs.push(`${this.#shownTick(this.#offSince)} to the end`);
    for (const off of this.#offs) warn('missing', `recording was off from ${off}: states there are unknown`);
    const last = this.#tick!;
    const end = this.#seconds(last);
    const taken = new Map(
      [...this.#byCode.values()].map((dumped) => [dumped, this.#taken(dumped, first, last)]),
    );
    const traces: Trace[] = [];
    const logic: LogicTrace[] = [];
    for (const { name, dumped } of this.#variables) {
      const { instants, states, values } = taken.get(dumped)!;
      if (dumped.type === 'logic') logic.push({ name, width: dumped.width, instants, states, end });
      else if (dumped.type === 'real')
        traces.push({ name, unit: '', timebase: { stamps: instants }, values });
      else warn('unused', `${name} is an event, which has no state: it was left out`);
    }
    if (traces.length + logic.length === 0) throw this.#refusal('missing', 'the file defines no variable');
    return { capture: { traces, logic }, findings };
  }

  /** The last word has no blank behind it: a time is taken when it is a later one, a value when its code is known. */
  #finishWords(warn: (code: FindingCode, message: string, row?: number) => void): void {
    const rest = this.#rest;
    const open = rest !== '' && !this.#header && this.#section === undefined;
    const code = this.#value === undefined ? (/^[01xXzZ](.+)$/.exec(rest)?.[1] ?? '') : rest;
    if (open && !rest.startsWith('$') && !this.#byCode.has(code)) {
      const later =
        this.#value === undefined && /^#\d+$/.test(rest) && Number(rest.slice(1)) >= (this.#tick ?? 0);
      if (later) this.#setTick(rest);
      else warn('row-length', 'the file ends in the middle of a word: it was left out', this.#line);
      return;
    }
    this.#words(rest, true);
    if (this.#header) throw this.#refusal('missing', 'the file ends before $enddefinitions');
    if (this.#section !== undefined && this.#section[0] !== '$comment') {
      throw this.#refusal('missing', `${this.#section[0]} has no $end`);
    }
    if (this.#value !== undefined) {
      warn('row-length', 'the file ends in the middle of a value: it was left out', this.#line);
    }
  }

  #refusal(code: FindingCode, message: string): Refusal {
    return new Refusal({ code, file: this.#file, row: this.#line, message });
  }
}
