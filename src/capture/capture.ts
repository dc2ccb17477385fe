/** What every reader of captures takes and gives, whatever the file. */

import type { Finding } from '../machine/index.ts';
import type { LogicTrace, Trace } from '../waveform/index.ts';

/** Samples of one channel, or changes of all signals together, beyond which a file is refused. */
export const MOST_SAMPLES = 10_000_000;
/** Samples of all channels together: they are held in memory while the file is read. */
const MOST_TOGETHER = 100_000_000;

/** Samples of one channel among so many, beyond which a file is refused. */
export function mostSamples(channels: number): number {
  return Math.min(MOST_SAMPLES, Math.floor(MOST_TOGETHER / Math.max(1, channels)));
}

/** A capture that was read whole. */
export interface Capture {
  readonly traces: readonly Trace[];
  readonly logic: readonly LogicTrace[];
}

/** Either the whole capture or, `capture` being undefined, at least one error among the findings. Nothing is half-read. */
export interface CaptureResult {
  readonly capture: Capture | undefined;
  /** The refusal; or what was dropped, reversed or missing in a capture that was read. */
  readonly findings: readonly Finding[];
}

/** Takes the bytes of one file in pieces of any size, in order. A piece is not kept, and may be overwritten afterwards. */
export interface CaptureReader {
  /** Rows, frames or changes read until now. */
  readonly rows: number;
  /** `false` once the file is refused: more bytes are not looked at. */
  push(piece: Uint8Array): boolean;
  /** After the last piece, once. */
  end(): CaptureResult;
}

const LONGEST_SHOWN = 40;

/** A text in double quotes for a message: control characters escaped, a long one cut. */
export function shown(text: string): string {
  return JSON.stringify(text.length > LONGEST_SHOWN ? `${text.slice(0, LONGEST_SHOWN)}…` : text);
}

/** An input error thrown inside a reader and caught at its border, where it becomes a refusal. */
export class Refusal extends Error {
  readonly finding: Finding;

  constructor(finding: Omit<Finding, 'severity'>) {
    super(finding.message);
    this.finding = { severity: 'error', ...finding };
  }
}

/** A reader whose work may throw a `Refusal`: after the first one it reads no further and gives that alone. */
export abstract class RefusingReader implements CaptureReader {
  #refusal: Finding | undefined;
  abstract readonly rows: number;
  protected abstract take(piece: Uint8Array): void;
  protected abstract finish(): CaptureResult;

  push(piece: Uint8Array): boolean {
    if (this.#refusal === undefined) this.#guarded(() => this.take(piece));
    return this.#refusal === undefined;
  }

  end(): CaptureResult {
    const result = this.#refusal === undefined ? this.#guarded(() => this.finish()) : undefined;
    return result ?? { capture: undefined, findings: [this.#refusal!] };
  }

  #guarded<T>(work: () => T): T | undefined {
    try {
      return work();
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      this.#refusal = error.finding;
      return undefined;
    }
  }
}
