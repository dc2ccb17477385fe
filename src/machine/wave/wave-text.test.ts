import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { DriveWave } from './drive-wave.ts';
import { type CapturedWave, formatWave, parseWave } from './wave-text.ts';

function parsed(text: string): DriveWave | CapturedWave {
  const wave = parseWave(text);
  if (!wave.ok) throw new Error(`${text}: ${wave.reason}`);
  return wave.value;
}

describe('a wave in a cell', () => {
  it('is volts alone, or pulses, bits and samples with their words in any order', () => {
    expect(parsed(' -6.2 ')).toEqual({ kind: 'constant', volts: -6.2 });
    expect(parsed('pulses low=-6 high=0 width=20u period=100u rise=1u fall=2u delay=5u')).toEqual({
      kind: 'pulses',
      low: -6,
      high: 0,
      width: 20e-6,
      period: 100e-6,
      rise: 1e-6,
      fall: 2e-6,
      delay: 5e-6,
      edge: 'linear',
    });
    expect(parsed('bits bit=10u 1011 repeat high=0 low=-6V edge=0.5u exponential negative')).toEqual({
      kind: 'bits',
      bits: '1011',
      bit: 10e-6,
      low: -6,
      high: 0,
      delay: 0,
      edge: 'exponential',
      rise: 0.5e-6,
      fall: 0.5e-6,
      negative: true,
      repeat: true,
    });
    expect(parsed('samples 0:0 1m:-6 5m:-6')).toEqual({
      kind: 'samples',
      instants: [0, 1e-3, 5e-3],
      volts: [0, -6, -6],
    });
    expect(parsed('capture "town step.csv" CH1')).toEqual({
      kind: 'capture',
      file: 'town step.csv',
      channel: 'CH1',
    });
    expect(parsed('pulses low=0 high=1 width=1 period=2 count=8')).toMatchObject({ count: 8 });
  });

  it.each([
    ['', 'wave-kind', ''],
    ['square low=0', 'wave-kind', 'square'],
    ['pulses low=0 high=1 width=1 period=2 slope=3', 'wave-word', 'slope=3'],
    ['pulses low=0 high=1 width=1 period=2 repeat', 'wave-word', 'repeat'],
    ['pulses low=0 low=1 high=1 width=1 period=2', 'wave-word', 'low=1'],
    ['pulses low=0=3 high=1 width=1 period=2', 'wave-word', 'low=0=3'],
    ['pulses low=0 high=1 width=1 period=2 edge=1m rise=1m', 'wave-word', 'rise='],
    ['pulses low=0 high=1 width=1x period=2', 'wave-value', 'width=1x'],
    ['pulses low=0 high=1 width=-1 period=2', 'wave-value', 'width=-1'],
    ['pulses low=0 high=1 width=1 period=2 count=1.5', 'wave-value', 'count=1.5'],
    ['pulses low=0 high=1 width=1', 'wave-missing', ''],
    ['pulses low=0 high=1 width=2 period=2', 'wave-timing', ''],
    ['pulses low=0 high=1 width=1n period=2n delay=1000', 'wave-timing', ''],
    ['pulses low=0 high=1 width=1 period=2 rise=1.5', 'wave-timing', ''],
    ['pulses low=0 high=1 width=1 period=2 fall=1.5', 'wave-timing', ''],
    ['bits bit=1m low=0 high=1', 'wave-missing', ''],
    ['bits 102 bit=1m low=0 high=1', 'wave-word', '102'],
    ['bits 10 bit=1m low=0 high=1 edge=2m', 'wave-timing', ''],
    ['samples 0:0 0:1', 'wave-timing', '0:1'],
    ['samples 0', 'wave-word', '0'],
    ['samples 0:0 repeat', 'wave-missing', ''],
    ['samples 0:0 1m:x', 'wave-value', '1m:x'],
    ['capture town.csv', 'wave-missing', ''],
    ['capture town.csv CH1 CH2', 'wave-word', 'CH2'],
    ['capture "town.csv CH1', 'wave-word', '"town.csv CH1'],
  ])('that is wrong, %s, is refused with its word', (text, code, word) => {
    expect(parseWave(text)).toMatchObject({ ok: false, code, word });
  });

  it('is a wave or is refused with a word of it, whatever the text', () => {
    const word = fc.constantFrom(
      ...[
        'pulses',
        'bits',
        'samples',
        'capture',
        '1011',
        'low=-6',
        'high=0',
        'width=20u',
        'period=1m',
        'edge=0',
      ],
      ...['bit=1u', 'count=2', 'repeat', 'negative', '0:1', '1m:2', '-6,2', '"', 'x=', '=', 'exponential'],
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.array(word).map((words) => words.join(' ')),
          fc.string(),
        ),
        (text) => {
          const wave = parseWave(text);
          if (wave.ok) expect(parsed(formatWave(wave.value))).toEqual(wave.value);
          else expect(text).toContain(wave.word.replace(/=$/, ''));
        },
      ),
    );
  });

  const volts = fc.integer({ min: -2000, max: 2000 }).map((n) => n / 100);
  const seconds = fc.integer({ min: 1, max: 1000 }).map((n) => n * 1e-7);
  it('is read as it was written', () => {
    fc.assert(
      fc.property(
        volts,
        volts,
        seconds,
        seconds,
        fc.boolean(),
        fc.constantFrom('linear' as const, 'exponential' as const),
        (low, high, a, b, flag, edge) => {
          const common = { low, high, delay: flag ? a : 0, edge, rise: a / 2, fall: flag ? a / 2 : a / 4 };
          const turned = flag ? { negative: true } : {};
          const list: (DriveWave | CapturedWave)[] = [
            { kind: 'constant', volts: low },
            { kind: 'pulses', width: a, period: a + 2 * b + a, ...common, ...turned },
            { kind: 'bits', bits: '0110', bit: a, ...common, ...turned, ...(flag ? { repeat: true } : {}) },
            { kind: 'samples', instants: [0, a, a + b], volts: [low, high, low] },
            { kind: 'capture', file: flag ? 'a b.csv' : 'a.csv', channel: 'CH 1' },
          ];
          for (const wave of list) expect(parsed(formatWave(wave))).toEqual(wave);
        },
      ),
    );
  });
});
