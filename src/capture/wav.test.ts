import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { CaptureResult } from './capture.ts';
import { inPieces, words } from './test-reading.ts';
import { type WavScale, wavReader } from './wav.ts';

const ascii = (text: string) => [...text].map((letter) => letter.charCodeAt(0));
const u16 = (value: number) => [value & 255, (value >> 8) & 255];
const u32 = (value: number) => [...u16(value & 0xffff), ...u16(value >>> 16)];
const chunk = (name: string, data: readonly number[], size = data.length) => [
  ...ascii(name),
  ...u32(size),
  ...data,
  ...(data.length % 2 === 1 ? [0] : []),
];
const file = (...chunks: number[][]) => {
  const body = [...ascii('WAVE'), ...chunks.flat()];
  return Uint8Array.from([...ascii('RIFF'), ...u32(body.length), ...body]);
};
const format = (code: number, channels: number, rate: number, bits: number, more: number[] = []) => {
  const block = channels * Math.ceil(bits / 8);
  return chunk('fmt ', [
    ...u16(code),
    ...u16(channels),
    ...u32(rate),
    ...u32(rate * block),
    ...u16(block),
    ...u16(bits),
    ...more,
  ]);
};
/** The tail of an extensible format: what of the container is valid, speakers, and the code in its identifier. */
const extension = (code: number, valid: number) => [
  ...u16(22),
  ...u16(valid),
  ...u32(0),
  ...u16(code),
  ...[0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71],
];

function read(bytes: Uint8Array, scale?: WavScale, sizes = [5]): CaptureResult {
  return inPieces(wavReader('capture.wav', scale), bytes, sizes);
}

function values(result: CaptureResult): number[][] {
  expect(result.capture, words(result.findings)).toBeDefined();
  return result.capture!.traces.map((trace) => [...trace.values]);
}

describe('sound files', () => {
  it.each([
    ['8 bits', 1, 8, [128, 255, 0], [0, 127 / 128, -1]],
    ['16 bits', 1, 16, [...u16(0), ...u16(16384), ...u16(-32768)], [0, 0.5, -1]],
    ['24 bits', 1, 24, [0, 0, 0x40, 0xff, 0xff, 0xff, 0, 0, 0x80], [0.5, -1 / 0x800000, -1]],
    ['32 bits', 1, 32, [...u32(0x40000000), ...u32(0x80000000), ...u32(1)], [0.5, -1, 1 / 0x80000000]],
    ['32-bit float', 3, 32, [...new Uint8Array(Float32Array.of(0.25, -1.5, 0).buffer)], [0.25, -1.5, 0]],
    ['64-bit float', 3, 64, [...new Uint8Array(Float64Array.of(0.25, -1.5, 0).buffer)], [0.25, -1.5, 0]],
  ])('of %s are shares of full scale', (_, code, bits, data, expected) => {
    const result = read(file(format(code, 1, 48_000, bits), chunk('data', data)));
    expect(values(result)).toEqual([[...Float32Array.from(expected)]]);
    expect(result.capture!.traces[0]).toMatchObject({
      name: 'channel 1',
      unit: '',
      timebase: { start: 0, step: 1 / 48_000 },
    });
    expect(result.findings).toEqual([]);
  });

  it('of several channels and an extensible format, with odd chunks and their padding between', () => {
    const bytes = file(
      chunk('LIST', [1, 2, 3]),
      format(0xfffe, 2, 96_000, 24, extension(1, 20)),
      chunk('fact', [9, 0, 0, 0]),
      chunk('junk', [7]),
      chunk('data', [0, 0, 0x40, 0, 0, 0xc0, 0, 0, 0x20, 0, 0, 0]),
      chunk('LIST', [1, 2, 3]),
    );
    expect(values(read(bytes))).toEqual([
      [0.5, 0.25],
      [-0.5, 0],
    ]);
  });

  it('are volts once those at full scale are given, one for all channels or one for each', () => {
    const bytes = file(
      format(1, 2, 1000, 16),
      chunk('data', [...u16(16384), ...u16(8192), ...u16(0), ...u16(0)]),
    );
    expect(values(read(bytes, { fullScale: 4 }))).toEqual([
      [2, 0],
      [1, 0],
    ]);
    const each = read(bytes, { fullScale: [1, 10] });
    expect(values(each)).toEqual([
      [0.5, 0],
      [2.5, 0],
    ]);
    expect(each.capture!.traces.map(({ unit }) => unit)).toEqual(['V', 'V']);
  });

  it.each([
    ['cut short', 100, 'the file is cut short: 3 of 50 samples a channel'],
    [
      'of length 0, as a stream is written',
      0,
      'the length of the samples is not stated; 3 a channel were read',
    ],
    ['of length 0xFFFFFFFF', 0xffffffff, 'the length of the samples is not stated; 3 a channel were read'],
  ])('whose data are %s are read as far as they go, and that is said', (_, size, message) => {
    const data = [...u16(1), ...u16(2), ...u16(3), 4];
    const result = read(file(format(1, 1, 1000, 16), [...ascii('data'), ...u32(size), ...data]));
    expect(values(result)).toEqual([[1 / 32768, 2 / 32768, 3 / 32768]]);
    expect(words(result.findings)).toContain(message);
  });

  it('of more than ten million samples a channel are refused', () => {
    const bytes = file(format(1, 1, 48_000, 8), [...ascii('data'), ...u32(10_000_001)]);
    const reader = wavReader('capture.wav');
    const samples = new Uint8Array(1_000_000).fill(200);
    expect(reader.push(bytes)).toBe(true);
    for (let i = 0; i < 10; i++) expect(reader.push(samples)).toBe(true);
    expect(reader.rows).toBe(10_000_000);
    expect(reader.push(samples.subarray(0, 1))).toBe(false);
    expect(words(reader.end().findings)).toContain('more than 10,000,000 samples a channel');
  });

  it('read alike in pieces of any size', () => {
    const shape = fc.record({
      channels: fc.integer({ min: 1, max: 5 }),
      samples: fc.array(fc.integer({ min: -32768, max: 32767 }), { minLength: 10, maxLength: 60 }),
      junk: fc.array(fc.nat(255), { maxLength: 9 }),
      sizes: fc.array(fc.integer({ min: 1, max: 90 }), { minLength: 1 }),
    });
    fc.assert(
      fc.property(shape, ({ channels, samples, junk, sizes }) => {
        const whole = samples.slice(0, samples.length - (samples.length % channels));
        const bytes = file(
          chunk('junk', junk),
          format(1, channels, 8000, 16),
          chunk('data', whole.flatMap(u16)),
        );
        const expected = Array.from({ length: channels }, (_, c) =>
          whole.filter((_, i) => i % channels === c).map((value) => value / 32768),
        );
        expect(values(read(bytes, {}, sizes))).toEqual(expected);
      }),
    );
  });

  it.each([
    [
      'a compressed format, by its name',
      file(format(0x11, 1, 8000, 4), chunk('data', [1, 2])),
      'format code 0x0011 (WAVE_FORMAT_DVI_ADPCM)',
    ],
    [
      'a compressed format within an extensible one',
      file(format(0xfffe, 1, 8000, 8, extension(7, 8)), chunk('data', [1, 2])),
      '0x0007 (WAVE_FORMAT_MULAW)',
    ],
    [
      'a format of no name',
      file(format(0x4242, 1, 8000, 8), chunk('data', [1, 2])),
      '0x4242 (not known here)',
    ],
    ['another width', file(format(1, 1, 8000, 40), chunk('data', [1, 2])), 'values of 40 bits in 5 bytes'],
    ['no channel', file(format(1, 0, 8000, 16), chunk('data', [1, 2])), '0 channels'],
    ['no rate', file(format(1, 1, 0, 16), chunk('data', [1, 2])), '0 samples a second'],
    [
      'samples before their format',
      file(chunk('data', [1, 2, 3, 4])),
      'the samples (data) come before their format',
    ],
    ['no samples', file(format(1, 1, 8000, 16)), 'the file holds no samples'],
    ['a single sample', file(format(1, 1, 8000, 16), chunk('data', [1, 2])), 'fewer than two samples'],
    ['another file', Uint8Array.from(ascii('RIFF0000AVI LIST')), 'does not begin as a wave file does'],
    ['the other byte order', Uint8Array.from(ascii('RIFX0000WAVEfmt ')), 'big-endian'],
    ['a file that ends at once', Uint8Array.from(ascii('RIFF')), 'ends before the header'],
  ])('with %s are refused', (_, bytes, message) => {
    const { capture, findings } = read(bytes);
    expect(capture).toBeUndefined();
    expect(words(findings)).toContain(message);
  });
});
