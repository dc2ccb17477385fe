/** A capture of any kind, understood from its first bytes and read as they come. */

import type { Finding } from '../machine/index.ts';
import type { CaptureReader, CaptureResult } from './capture.ts';
import { kindOfCapture } from './kind.ts';
import { asRemembered, understandingFaults } from './text/correction.ts';
import type { GivenForm } from './text/layout.ts';
import { textReader } from './text/text-reader.ts';
import { HEAD_BYTES, type TextUnderstanding, textUnderstanding } from './text/understanding.ts';
import { valueChangeReader } from './value-change.ts';
import { wavReader } from './wav.ts';

/** What is said of a capture from outside; without any of it the file is read as it is understood. */
export interface CaptureWish {
  /** How a text is to be read, in place of what would be understood. */
  readonly understanding?: TextUnderstanding | undefined;
  /** Separator and decimal sign of a text, where they are known. */
  readonly form?: GivenForm;
  /** What was kept for texts of this signature. */
  readonly kept?: (signature: string) => TextUnderstanding | undefined;
  /** Last words on what was understood of a text, remembered or not. */
  readonly correct?: (understanding: TextUnderstanding) => TextUnderstanding;
  /** Of a sound file, for all channels or each: see `WavScale`. */
  readonly fullScale?: number | readonly (number | undefined)[] | undefined;
}

export interface UnderstoodCapture {
  readonly kind: 'text' | 'wav' | 'vcd' | 'unknown';
  /** Of a text; `undefined` where it is refused, and for other kinds. */
  readonly understanding: TextUnderstanding | undefined;
  /** Whether what was kept for the signature was taken. */
  readonly remembered: boolean;
  /** Why the file cannot be read, or cannot before the understanding is corrected. */
  readonly findings: readonly Finding[];
}

/**
 * What a file is, and how a text is to be read.
 *
 * @param head  the first `HEAD_BYTES` of the file, or all of a shorter one
 */
export function understoodCapture(head: Uint8Array, file: string, wish: CaptureWish = {}): UnderstoodCapture {
  const kind = wish.understanding === undefined ? kindOfCapture(head, file) : 'text';
  if (kind === 'wav' || kind === 'vcd') {
    return { kind, understanding: undefined, remembered: false, findings: [] };
  }
  const answer =
    wish.understanding === undefined
      ? textUnderstanding(head, file, wish.form)
      : { understanding: wish.understanding, findings: [] };
  const fresh = answer.understanding;
  if (fresh === undefined) return { kind, remembered: false, ...answer };
  const formGiven = wish.understanding ?? wish.form?.separator ?? wish.form?.decimal;
  const kept = formGiven === undefined ? wish.kept?.(fresh.signature) : undefined;
  const known = kept === undefined ? fresh : asRemembered(fresh, kept);
  const understanding = wish.correct?.(known) ?? known;
  const findings = understandingFaults(understanding).map((message): Finding => {
    return { severity: 'error', code: 'missing', file, message };
  });
  return { kind: 'text', understanding, remembered: known !== fresh, findings };
}

/** What came of a file: see `CaptureResult`. */
export interface ReadCapture extends CaptureResult {
  readonly kind: UnderstoodCapture['kind'];
  readonly understanding: TextUnderstanding | undefined;
  readonly remembered: boolean;
}

/** Reads a file of any kind in pieces of any size, in order; it is understood as soon as `HEAD_BYTES` have come. */
export class CaptureReading {
  readonly #file: string;
  readonly #wish: CaptureWish;
  readonly #head = new Uint8Array(HEAD_BYTES);
  #filled = 0;
  #understood: UnderstoodCapture | undefined;
  #reader: CaptureReader | undefined;

  /** @param file  for messages; its ending tells value changes from a table where what stands in it does not */
  constructor(file: string, wish: CaptureWish = {}) {
    this.#file = file;
    this.#wish = wish;
  }

  /** Rows, frames or changes read until now. */
  get rows(): number {
    return this.#reader?.rows ?? 0;
  }

  /** `false` once the file is refused: more bytes are not looked at. */
  push(piece: Uint8Array): boolean {
    if (this.#understood !== undefined) return this.#reader?.push(piece) ?? false;
    const taken = piece.subarray(0, HEAD_BYTES - this.#filled);
    this.#head.set(taken, this.#filled);
    this.#filled += taken.length;
    if (this.#filled < HEAD_BYTES) return true;
    return this.#begin() && (this.#reader?.push(piece.subarray(taken.length)) ?? false);
  }

  /** After the last piece, once. */
  end(): ReadCapture {
    if (this.#understood === undefined) this.#begin();
    const { kind, understanding, remembered, findings } = this.#understood!;
    const result = this.#reader?.end() ?? { capture: undefined, findings };
    return { kind, understanding, remembered, ...result };
  }

  #begin(): boolean {
    const head = this.#head.subarray(0, this.#filled);
    const understood = understoodCapture(head, this.#file, this.#wish);
    this.#understood = understood;
    if (understood.findings.length > 0) return false;
    this.#reader = readerOf(understood, this.#file, this.#wish);
    return this.#reader.push(head);
  }
}

function readerOf(
  { kind, understanding }: UnderstoodCapture,
  file: string,
  { fullScale }: CaptureWish,
): CaptureReader {
  if (understanding !== undefined) return textReader(understanding, file);
  if (kind === 'vcd') return valueChangeReader(file);
  return wavReader(file, fullScale === undefined ? {} : { fullScale });
}
