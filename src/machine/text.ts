import type { FindingList } from './finding.ts';

/** Megabytes: nearly a million readings, and more units and meters than anybody has. A larger file is not one that a person keeps. */
const LARGEST_TABLE = 64;
const LARGEST_JSON = 4;
/** What is looked at before a file is taken for text at all. */
const HEAD_BYTES = 64 * 1024;

/**
 * The text of a file, a byte order mark included, or `undefined` with an error that names the place when the bytes
 * are not UTF-8 text. A few kilobytes decide on most garbage, however large the file.
 */
export function fileText(file: string, bytes: Uint8Array, findings: FindingList): string | undefined {
  const mark = bytes.length >= 2 ? bytes[0]! * 256 + bytes[1]! : 0;
  if (mark === 0xfffe || mark === 0xfeff) {
    findings.error(
      'encoding',
      { file, row: 1 },
      'the file is UTF-16 (it begins with its byte order mark); save it as UTF-8, in a spreadsheet "CSV UTF-8"',
    );
    return undefined;
  }
  const control = controlByte(bytes.subarray(0, HEAD_BYTES));
  if (control >= 0) return refuseControl(file, bytes, control, findings);
  const megabytes = bytes.length / 1048576;
  const most = file.endsWith('.json') ? LARGEST_JSON : LARGEST_TABLE;
  if (megabytes > most) {
    findings.error(
      'file-too-large',
      { file, found: `${bytes.length} bytes` },
      `${megabytes.toFixed(0)} MB; ${file} has at most ${most} MB: is it the right file?`,
    );
    return undefined;
  }
  const later = controlByte(bytes);
  if (later >= 0) return refuseControl(file, bytes, later, findings);
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    refuseEncoding(file, bytes, findings);
    return undefined;
  }
}

/** Position of the first byte that no text file holds (control characters but tab and line ends), or -1. */
function controlByte(bytes: Uint8Array): number {
  for (let i = 0; i < bytes.length; i++) {
    const byte = bytes[i]!;
    if (byte < 32 && byte !== 10 && byte !== 13 && byte !== 9) return i;
  }
  return -1;
}

function refuseControl(file: string, bytes: Uint8Array, at: number, findings: FindingList): undefined {
  const byte = bytes[at]!;
  const head = bytes.subarray(0, 512);
  const zeros = head.reduce((sum, b) => sum + (b === 0 ? 1 : 0), 0);
  const what =
    zeros > head.length / 4 && zeros < (head.length * 3) / 4
      ? 'UTF-16 without its mark, by the look of it; save it as UTF-8'
      : 'so it is not a text file, or a damaged one; export the table again as CSV, UTF-8';
  findings.error(
    'binary',
    { file, row: lineOf(bytes, at), found: hex(byte) },
    `${byte === 0 ? 'a NUL byte' : `control byte ${hex(byte)}`} at byte ${at}: ${what}`,
  );
  return undefined;
}

function refuseEncoding(file: string, bytes: Uint8Array, findings: FindingList): void {
  const at = badByte(bytes);
  const byte = bytes[at]!;
  const lineStart = bytes.lastIndexOf(10, at - 1) + 1;
  const before = new TextDecoder('windows-1252').decode(bytes.subarray(Math.max(lineStart, at - 12), at));
  const letter = new TextDecoder('windows-1252').decode(bytes.subarray(at, at + 1));
  findings.error(
    'encoding',
    { file, row: lineOf(bytes, at), found: hex(byte) },
    `byte ${hex(byte)} at byte ${at}, after ${JSON.stringify(before)}, is not UTF-8 (in Windows-1252 it is ${letter}); save the file as UTF-8, in a spreadsheet "CSV UTF-8"`,
  );
}

function hex(byte: number): string {
  return `0x${byte.toString(16).toUpperCase().padStart(2, '0')}`;
}

/** Line of a byte, from 1; a table's row unless a quoted text above it runs over several lines. */
function lineOf(bytes: Uint8Array, at: number): number {
  let line = 1;
  for (let i = bytes.indexOf(10); i >= 0 && i < at; i = bytes.indexOf(10, i + 1)) line++;
  return line;
}

/** First byte that does not continue or begin a UTF-8 sequence (RFC 3629, section 4); the bytes hold one. */
function badByte(bytes: Uint8Array): number {
  let i = 0;
  while (i < bytes.length) {
    const lead = bytes[i]!;
    const length =
      lead < 0x80 ? 1 : lead < 0xc2 ? 0 : lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : lead < 0xf5 ? 4 : 0;
    if (length === 0) return i;
    for (let k = 1; k < length; k++) {
      const next = bytes[i + k];
      // The second byte rules out overlong forms, surrogates and what lies beyond U+10FFFF.
      const least = k > 1 ? 0x80 : lead === 0xe0 ? 0xa0 : lead === 0xf0 ? 0x90 : 0x80;
      const most = k > 1 ? 0xbf : lead === 0xed ? 0x9f : lead === 0xf4 ? 0x8f : 0xbf;
      if (next === undefined || next < least || next > most) return i;
    }
    i += length;
  }
  return bytes.length - 1;
}
