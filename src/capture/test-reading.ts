/** For tests: a capture read in pieces of a given size, and what came of it in few words. */

import { type Finding, formatFindings } from '../machine/index.ts';
import { instantAt, type Trace } from '../waveform/index.ts';
import type { CaptureReader, CaptureResult } from './capture.ts';
import { textReader } from './text/text-reader.ts';
import { type TextUnderstanding, textUnderstanding } from './text/understanding.ts';

export function inPieces(reader: CaptureReader, bytes: Uint8Array, sizes: readonly number[]): CaptureResult {
  for (let at = 0, i = 0; at < bytes.length; i++) {
    const size = sizes[i % sizes.length]!;
    // A copy that is spoilt afterwards: a reader may not hold on to a piece.
    const piece = bytes.slice(at, at + size);
    reader.push(piece);
    piece.fill(0xff);
    at += size;
  }
  return reader.end();
}

export interface ReadText extends CaptureResult {
  readonly understanding: TextUnderstanding | undefined;
}

/**
 * A text understood and read; what a person corrects is laid over what was understood.
 *
 * @param sizes  of the pieces, in turn
 */
export function readText(
  content: string | Uint8Array,
  corrected: Partial<TextUnderstanding> = {},
  sizes: readonly number[] = [4096],
): ReadText {
  const bytes = typeof content === 'string' ? new TextEncoder().encode(content) : content;
  const { understanding, findings } = textUnderstanding(bytes, 'capture.csv');
  if (understanding === undefined) return { understanding, capture: undefined, findings };
  const result = inPieces(textReader({ ...understanding, ...corrected }, 'capture.csv'), bytes, sizes);
  return { understanding, ...result };
}

/** The instants of a trace, seconds. */
export function instants({ timebase, values }: Trace): number[] {
  return Array.from(values, (_, i) => instantAt(timebase, i));
}

/** Findings as a person reads them. */
export function words(findings: readonly Finding[]): string {
  return formatFindings(findings);
}
