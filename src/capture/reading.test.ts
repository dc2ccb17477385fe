import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mostSamples } from './capture.ts';
import { CaptureReading, type CaptureWish, understoodCapture } from './reading.ts';
import { inPieces } from './test-reading.ts';
import { understandingFaults } from './text/correction.ts';
import { understandingFrom } from './text/kept.ts';
import { textReader } from './text/text-reader.ts';
import { HEAD_BYTES, type TextUnderstanding, textUnderstanding } from './text/understanding.ts';

const encoder = new TextEncoder();
const TABLE = encoder.encode(
  `Time,CH1\nms,V\n${Array.from({ length: 9000 }, (_, i) => `${i / 8},${(i % 5) - 6}.25\n`).join('')}`,
);
const SEMICOLONS = encoder.encode('t;A\n0;1\n1;3\n2;2\n3;4\n');

function understanding(bytes: Uint8Array): TextUnderstanding {
  return textUnderstanding(bytes.subarray(0, HEAD_BYTES), 'a.csv').understanding!;
}

/** In pieces of any size. */
function read(bytes: Uint8Array, sizes: readonly number[], wish: CaptureWish = {}) {
  const reading = new CaptureReading('a.csv', wish);
  for (let at = 0, i = 0; at < bytes.length; i++) {
    const size = sizes[i % sizes.length]!;
    const piece = bytes.slice(at, at + size);
    reading.push(piece);
    piece.fill(0xff);
    at += size;
  }
  return reading.end();
}

describe('a file of any kind', () => {
  it('reads alike however it is cut', () => {
    expect(TABLE.length).toBeGreaterThan(HEAD_BYTES);
    const whole = inPieces(textReader(understanding(TABLE), 'a.csv'), TABLE, [TABLE.length]);
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 80_000 }), { minLength: 1, maxLength: 5 }), (sizes) => {
        fc.pre(Math.max(...sizes) > 500);
        const { kind, understanding: form, remembered, ...result } = read(TABLE, sizes);
        expect([kind, form, remembered]).toEqual(['text', understanding(TABLE), false]);
        expect(result).toEqual(whole);
      }),
      { numRuns: 25 },
    );
  });

  it('that ends before there is much of it is understood at its end', () => {
    const { kind, capture } = read(SEMICOLONS, [3]);
    expect([kind, capture!.traces[0]!.values]).toEqual(['text', Float32Array.of(1, 3, 2, 4)]);
  });

  it.each([
    ['nothing', '', 'not-a-table'],
    ['a letter', 'dear sir', 'not-a-table'],
    ['bytes', '\0\u0001\u0002\0\u0003', 'binary'],
    ['values without an interval', 'A\n1\n3\n2\n', 'missing'],
  ])('of %s is refused', (_, text, code) => {
    const { capture, findings } = read(encoder.encode(text), [64]);
    expect([capture, findings.map((finding) => finding.code)]).toEqual([undefined, [code]]);
  });

  it('is no longer looked at once it is refused', () => {
    const reading = new CaptureReading('a.csv');
    expect(reading.push(new Uint8Array(HEAD_BYTES))).toBe(false);
    expect(reading.push(TABLE)).toBe(false);
    expect(reading.end().findings).toHaveLength(1);
  });
});

describe('what is said of a file', () => {
  const kept = { ...understanding(SEMICOLONS), doubts: [] };
  const tenfold: TextUnderstanding = {
    ...kept,
    columns: kept.columns.map((column) => ({ ...column, probe: column.role === 'channel' ? 10 : 1 })),
  };

  it('was kept for files like it', () => {
    const wish: CaptureWish = { kept: (signature) => (signature === kept.signature ? tenfold : undefined) };
    const { remembered, capture } = read(SEMICOLONS, [64], wish);
    expect([remembered, capture!.traces[0]!.values]).toEqual([true, Float32Array.of(10, 30, 20, 40)]);
    expect(read(TABLE, [4096], wish).remembered).toBe(false);
  });

  it('comes before what was kept, where it is the whole or the form', () => {
    const wish: CaptureWish = { kept: () => tenfold };
    expect(read(SEMICOLONS, [64], { ...wish, understanding: kept }).remembered).toBe(false);
    expect(read(SEMICOLONS, [64], { ...wish, form: { separator: ';' } }).remembered).toBe(false);
  });

  it('is laid over it at last', () => {
    const correct = (form: TextUnderstanding): TextUnderstanding => ({
      ...form,
      columns: form.columns.map((column) => ({ ...column, offset: column.role === 'channel' ? 1 : 0 })),
    });
    for (const wish of [
      { kept: () => tenfold, correct },
      { understanding: tenfold, correct },
    ]) {
      expect(read(SEMICOLONS, [64], wish).capture!.traces[0]!.values).toEqual(
        Float32Array.of(11, 31, 21, 41),
      );
    }
  });

  it('and makes it impossible to read is a finding for each fault', () => {
    const { understanding: form, findings } = understoodCapture(SEMICOLONS, 'a.csv', {
      understanding: { ...kept, columns: [] },
    });
    expect(form).toBeDefined();
    expect(findings.map(({ message }) => message)).toEqual(understandingFaults(form!));
    expect(findings.length).toBeGreaterThan(1);
  });
});

describe('an understanding from outside', () => {
  it('is the one that went out', () => {
    for (const bytes of [TABLE, SEMICOLONS]) {
      const sent: unknown = JSON.parse(JSON.stringify(understanding(bytes)));
      expect(understandingFrom(sent)).toEqual(understanding(bytes));
    }
  });

  it('loses what is not known of it', () => {
    const sound = understanding(TABLE);
    const columns = sound.columns.map((column) => ({ ...column, colour: 'yellow' }));
    expect(understandingFrom({ ...sound, columns, owner: 'us' })).toEqual(sound);
  });

  it.each<[string, object]>([
    ['kind', { kind: 'wav' }],
    ['signature', { signature: 7 }],
    ['encoding', { encoding: 'morse' }],
    ['line end', { lineEnd: 'CRLF' }],
    ['separator', { separator: '|' }],
    ['decimal sign', { decimal: ':' }],
    ['number of lines', { headerLines: '2' }],
    ['start', { start: null }],
    ['interval', { interval: 'long' }],
    ['count', { samples: Number.NaN }],
    ['list of columns', { columns: {} }],
    ['column', { columns: [null] }],
    ['role', { columns: [{ ...understanding(TABLE).columns[0], role: 'king' }] }],
    ['factor', { columns: [{ ...understanding(TABLE).columns[0], factor: '1' }] }],
    ['number of columns', { columns: Array.from({ length: 257 }, () => understanding(TABLE).columns[0]) }],
    ['doubt', { doubts: [1] }],
  ])('with a wrong %s is none', (_, wrong) => {
    expect(understandingFrom({ ...understanding(TABLE), ...wrong })).toBeUndefined();
  });

  it('may be any value: it is an understanding or none, and one that is can be held against its faults', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const found = understandingFrom(value);
        if (found !== undefined) understandingFaults(found);
      }),
    );
    for (const value of [undefined, null, 7, 'text', [], {}])
      expect(understandingFrom(value)).toBeUndefined();
  });
});

describe('the samples of one channel', () => {
  it('may be ten million, fewer where there are many channels: all together are held in memory', () => {
    expect([1, 10, 20, 256].map(mostSamples)).toEqual([10_000_000, 10_000_000, 5_000_000, 390_625]);
  });
});
