/** What kind of capture a file is, by what stands in it. */

import { encodingOf } from './text/encoding.ts';

export type CaptureKind = 'text' | 'wav' | 'vcd' | 'unknown';

/** IEEE Std 1364-2005, 18.2.1: keywords that may open a value change dump. */
const DUMP_KEYWORD = /^\s*\$(comment|date|version|timescale|scope|var)\s/;

/**
 * `wav` for a RIFF file of wave form, `vcd` for a value change dump, `text` for any other text with a digit in it; the name is
 * asked only where a text may be either.
 *
 * @param head  the first kilobytes, or all of a shorter file
 */
export function kindOfCapture(head: Uint8Array, fileName: string): CaptureKind {
  const ascii = (from: number, to: number) => String.fromCharCode(...head.subarray(from, to));
  if (/^(RIFF|RIFX|RF64)$/.test(ascii(0, 4)) && ascii(8, 12) === 'WAVE') return 'wav';
  const encoding = encodingOf(head);
  if (encoding === undefined) return 'unknown';
  const text = new TextDecoder(encoding).decode(head, { stream: true });
  const named = /\.vcd$/i.test(fileName) && /\$(var|enddefinitions)\s/.test(text);
  if (DUMP_KEYWORD.test(text) || named) return 'vcd';
  return /\d/.test(text) ? 'text' : 'unknown';
}
