import { describe, expect, it } from 'vitest';
import { kindOfCapture } from './kind.ts';

const bytes = (text: string) => new TextEncoder().encode(text);

describe('the kind of a capture', () => {
  it.each([
    ['wav', 'a.bin', bytes('RIFF\u0000\u0000\u0000\u0000WAVEfmt ')],
    ['wav', 'a.csv', bytes('RF64\u0000\u0000\u0000\u0000WAVEds64')],
    ['unknown', 'a.wav', bytes('RIFF\u0000\u0000\u0000\u0000AVI LIST')],
    ['vcd', 'a.txt', bytes('\n $date today $end\n$timescale 1us $end')],
    ['vcd', 'a.vcd', bytes('% made by hand\n$var wire 1 ! a $end\n')],
    ['text', 'a.csv', bytes('% made by hand\n$var wire 1 ! a $end\n')],
    ['text', 'a.vcd', bytes('1,2\n3,4\n')],
    ['text', '', Uint8Array.from([0xff, 0xfe, 0x31, 0, 0x0a, 0])],
    ['text', '', Uint8Array.from([0x5a, 0xb5, 0x73, 0x0a, 0x31])],
    ['unknown', 'a.csv', bytes('PK\u0003\u0004\u0014\u0000\u0008\u0000')],
    ['unknown', 'a.csv', bytes('no figures at all')],
    ['unknown', 'a.csv', bytes('')],
    ['unknown', 'a.csv', new Uint8Array(5000)],
  ])('is %s for %s by what stands in it', (kind, name, head) => {
    expect(kindOfCapture(head, name)).toBe(kind);
  });
});
