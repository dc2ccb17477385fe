import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { CaptureReader, CaptureResult } from './capture.ts';
import { kindOfCapture } from './kind.ts';
import { inPieces, readText } from './test-reading.ts';
import { textReader } from './text/text-reader.ts';
import { HEAD_BYTES, textUnderstanding } from './text/understanding.ts';
import { valueChangeReader } from './value-change.ts';
import { wavReader } from './wav.ts';

const encoder = new TextEncoder();

/** Either a capture, or an error that says where and what. */
function expectAnswer({ capture, findings }: CaptureResult): void {
  const errors = findings.filter(({ severity }) => severity === 'error');
  expect(errors.length).toBe(capture === undefined ? 1 : 0);
  for (const { message } of errors) expect(message.length).toBeGreaterThan(10);
  for (const { timebase, values } of capture?.traces ?? []) {
    if ('stamps' in timebase) expect(timebase.stamps.length).toBe(values.length);
    else expect(timebase.step).toBeGreaterThan(0);
  }
}

const SOUND = {
  text: encoder.encode(
    `Record Length,40\nTIME,CH1,CH2\ns,V,mV\n${Array.from({ length: 40 }, (_, i) => `${i / 8},${i % 5}.25,-${i}e-1`).join('\n')}\n`,
  ),
  dump: encoder.encode(
    `$timescale 1us $end $scope module m $end $var wire 1 ! a $end $var real 64 " r $end $upscope $end $enddefinitions $end\n${Array.from({ length: 40 }, (_, i) => `#${i * 3}\n${i % 2}!\nr${i / 4} "`).join('\n')}\n`,
  ),
  wave: Uint8Array.from([
    ...encoder.encode('RIFF\u0064\u0000\u0000\u0000WAVEfmt \u0010\u0000\u0000\u0000\u0001\u0000\u0002\u0000'),
    ...[0x40, 0x1f, 0, 0, 0, 0x7d, 0, 0, 4, 0, 16, 0],
    ...encoder.encode('data@\u0000\u0000\u0000'),
    ...Array.from({ length: 64 }, (_, i) => i),
  ]),
};

/** A sound file with bytes overwritten, taken out or put in, and its end cut off. */
const spoilt = (bytes: Uint8Array) =>
  fc
    .record({
      strokes: fc.array(fc.tuple(fc.nat(bytes.length), fc.nat(6), fc.array(fc.nat(255), { maxLength: 6 })), {
        maxLength: 5,
      }),
      end: fc.oneof(fc.constant(Number.POSITIVE_INFINITY), fc.nat(bytes.length)),
    })
    .map(({ strokes, end }) => {
      let list = [...bytes];
      for (const [at, out, put] of strokes) list = [...list.slice(0, at), ...put, ...list.slice(at + out)];
      return Uint8Array.from(list.slice(0, end));
    });

describe('whatever bytes come, the answer is a capture or an error', () => {
  const sizes = fc.array(fc.integer({ min: 1, max: 60 }), { minLength: 1, maxLength: 4 });

  it('for tables', () => {
    fc.assert(
      fc.property(spoilt(SOUND.text), sizes, (bytes, pieces) => {
        const { understanding, findings } = textUnderstanding(bytes, 'capture.csv');
        if (understanding === undefined) expect(findings).toHaveLength(1);
        else
          expectAnswer(inPieces(textReader({ ...understanding, interval: 1 }, 'capture.csv'), bytes, pieces));
      }),
      { numRuns: 500 },
    );
  });

  it.each<[string, Uint8Array, () => CaptureReader]>([
    ['value change dumps', SOUND.dump, () => valueChangeReader('capture.vcd')],
    ['sound files', SOUND.wave, () => wavReader('capture.wav')],
  ])('for %s', (_, bytes, reader) => {
    expect(inPieces(reader(), bytes, [7]).capture).toBeDefined();
    fc.assert(
      fc.property(spoilt(bytes), sizes, (spoiltBytes, pieces) => {
        expectAnswer(inPieces(reader(), spoiltBytes, pieces));
      }),
      { numRuns: 500 },
    );
  });

  it('for noise, and for one kind of file read as another', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), (bytes) => {
        expect(['text', 'wav', 'vcd', 'unknown']).toContain(kindOfCapture(bytes, 'capture'));
        expectAnswer(inPieces(valueChangeReader('capture.vcd'), bytes, [64]));
        expectAnswer(inPieces(wavReader('capture.wav'), bytes, [64]));
        expect(textUnderstanding(bytes, 'capture.csv').findings.length).toBeLessThan(2);
      }),
    );
    expectAnswer(readText(SOUND.dump));
    expectAnswer(inPieces(valueChangeReader('capture.vcd'), SOUND.text, [64]));
    expectAnswer(inPieces(wavReader('capture.wav'), SOUND.text, [64]));
  });

  it.each([
    ['commas', ','],
    ['quotation marks', '"'],
    ['line ends', '\n'],
    ['blanks', ' '],
    ['signs', '-'],
    ['ones', '1'],
    ['ones and commas', '1,'],
    ['columns without end', '1.5\t'],
  ])('64 kB of nothing but %s are refused at once', (_, text) => {
    const { understanding, findings } = textUnderstanding(
      encoder.encode(text.repeat(HEAD_BYTES)),
      'capture.csv',
    );
    expect(understanding).toBeUndefined();
    expect(findings).toHaveLength(1);
  });
});
