import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { MACHINE_FILES, readMachine } from './document.ts';
import { formatFindings } from './finding.ts';
import { encoded, folder, SOUND } from './test-folder.ts';

const parts = SOUND['parts.csv']!;
const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);
const utf16 = (text: string): Uint8Array =>
  new Uint8Array(Uint16Array.from(text, (letter) => letter.charCodeAt(0)).buffer);
const joined = (...pieces: Uint8Array[]): Uint8Array =>
  Uint8Array.from(pieces.flatMap((piece) => [...piece]));
const refusal = (bytes: Uint8Array): string => formatFindings(folder({ 'parts.csv': bytes }).findings);

describe('the bytes of a file', () => {
  it('may begin with the byte order mark of UTF-8', () => {
    const { machine, findings } = folder({
      'parts.csv': `\uFEFF${parts}`,
      'machine.json': `\uFEFF${SOUND['machine.json']}`,
    });
    expect(findings).toEqual([]);
    expect(machine).toEqual(folder().machine);
  });

  it('are refused as UTF-16, with the mend', () => {
    expect(refusal(joined(Uint8Array.of(0xff, 0xfe), utf16(parts)))).toBe(
      'parts.csv row 1: the file is UTF-16 (it begins with its byte order mark); save it as UTF-8, in a spreadsheet "CSV UTF-8"',
    );
    expect(refusal(utf16(parts))).toContain('parts.csv row 1: a NUL byte at byte 1: UTF-16 without its mark');
  });

  it('are refused in Windows-1252, naming byte, row and letter', () => {
    const at = parts.indexOf('330p');
    const bytes = joined(utf8(`${parts.slice(0, at)}330`), Uint8Array.of(0xb5), utf8(parts.slice(at + 4)));
    expect(refusal(bytes)).toBe(
      `parts.csv row 9: byte 0xB5 at byte ${at + 3}, after "pacitor,,330", is not UTF-8 (in Windows-1252 it is µ); save the file as UTF-8, in a spreadsheet "CSV UTF-8"`,
    );
  });

  // RFC 3629, section 4: what is no UTF-8 although its first byte looks like it.
  it.each([
    ['an overlong form', [0xc0, 0xaf]],
    ['an overlong form of three bytes', [0xe0, 0x80, 0xaf]],
    ['half of a surrogate pair', [0xed, 0xa0, 0x80]],
    ['a code beyond the last', [0xf4, 0x90, 0x80, 0x80]],
    ['a sequence cut short', [0xe2, 0x82]],
  ])('are refused at the very byte with %s', (_, sequence) => {
    const head = utf8(`${parts}ADD,é,`);
    expect(refusal(joined(head, Uint8Array.from(sequence), utf8('\n')))).toContain(`at byte ${head.length},`);
  });

  it('are refused with a NUL byte or a control character, naming the place', () => {
    expect(refusal(joined(utf8(parts), Uint8Array.of(0)))).toContain(
      `parts.csv row 10: a NUL byte at byte ${parts.length}`,
    );
    expect(refusal(joined(utf8('board,ref'), Uint8Array.of(0x1b)))).toContain('control byte 0x1B at byte 9');
  });

  it('are refused when there are too many, whatever they are', () => {
    const bytes = new Uint8Array(65 * 1048576).fill(97);
    expect(refusal(bytes)).toContain('65 MB; parts.csv has at most 64 MB');
  });

  it('may be anything: then there are findings, not many, and no exception', () => {
    const files = fc.constantFrom(...MACHINE_FILES);
    fc.assert(
      fc.property(files, fc.uint8Array({ maxLength: 400 }), (file, bytes) => {
        const { findings } = folder({ [file]: bytes });
        expect(findings.some(({ severity, file: where }) => severity === 'error' && where === file)).toBe(
          true,
        );
      }),
    );
  });

  it('may be a sound file with any slip in it: what cannot be read is a finding, no exception', () => {
    const slip = fc.record({
      file: fc.constantFrom(...Object.keys(SOUND)),
      at: fc.nat(),
      cut: fc.nat({ max: 12 }),
      put: fc.oneof(
        fc.string({ maxLength: 6 }),
        fc.constantFrom('"', ',', '\n', ';', '""', '=', '\r', '{', ']', '9e99'),
      ),
    });
    fc.assert(
      fc.property(fc.array(slip, { minLength: 1, maxLength: 4 }), (slips) => {
        const files: Record<string, string> = { ...SOUND };
        for (const { file, at, cut, put } of slips) {
          const text = files[file]!;
          const place = at % (text.length + 1);
          files[file] = text.slice(0, place) + put + text.slice(place + cut);
        }
        const { findings } = readMachine(encoded(files));
        for (const { file, message, row } of findings) {
          expect(Object.keys(SOUND)).toContain(file);
          expect(message.length).toBeGreaterThan(10);
          expect(row ?? 1).toBeLessThan(40);
        }
      }),
      { numRuns: 500 },
    );
  });

  it('of a faulty table are read to the end, but only the first hundred faults of a kind are told', () => {
    const rows = Array.from({ length: 900 }, (_, i) => `ADD,X${i},wire,,1k,,1=OUT 2=0V,`).join('\n');
    const { findings, machine } = folder({ 'parts.csv': `${parts}${rows}\n` });
    expect(machine?.parts.length).toBe(908);
    expect(findings.length).toBe(101);
    expect(findings.at(-1)?.message).toBe('800 more of this kind (unknown-word) in parts.csv');
  });

  it('that make no table under a good heading are refused as a whole', () => {
    const rows = 'ADD,wire,,1k\n'.repeat(5000);
    const { findings, source } = folder({ 'parts.csv': `${parts}${rows}` });
    expect(findings.map(({ code }) => code)).toContain('not-a-table');
    expect(source.refused).toEqual(new Set(['parts.csv']));
    expect(findings.length).toBeLessThan(400);
  });
});
