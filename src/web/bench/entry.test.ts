import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { entryOf, isWritten, kept, plain, turned } from './entry.ts';

describe('the value field', () => {
  it('takes digits, sign, point, comma, the prefixes and an exponent, and no other letter', () => {
    for (const key of '0123456789+-−.,nuµmkMReE') expect(isWritten(key)).toBe(true);
    for (const key of ['t', 'x', 'y', 'l', 's', 'g', '?', ' ', 'Enter', 'Backspace'])
      expect(isWritten(key)).toBe(false);
  });

  it.each([
    ['-6.1', -6.1],
    ['−6,1', -6.1],
    ['340m', 0.34],
    ['+5', 5],
    ['1k2', 1200],
    ['12k', 12_000],
  ])('reads %s as %d volts', (text, volts) => {
    expect(entryOf(text)).toEqual({ kind: 'value', volts: expect.closeTo(volts) });
  });

  it.each(['-', '−', '+', '.', '-.'])('waits while there is only %s', (text) => {
    expect(entryOf(text)).toEqual({ kind: 'begun' });
  });

  it('says what is wrong with what is no value', () => {
    expect(entryOf('6.1.2')).toMatchObject({ kind: 'wrong', reason: expect.stringContaining('6.1.2') });
    expect(entryOf('mm')).toMatchObject({ kind: 'wrong' });
    expect(entryOf('')).toEqual({ kind: 'empty' });
  });

  it('leaves out the unit and the spaces of what is pasted', () => {
    expect(kept(' -6.1 V')).toBe('−6.1');
    expect(kept('340 mV')).toBe('340m');
  });

  it('keeps what is no value in sight, and says what is wrong with it', () => {
    for (const text of ['6.1 ohm', '1 999 x', 'abc', '12Z3'])
      expect(entryOf(kept(text)), text).toMatchObject({ kind: 'wrong' });
    expect(entryOf(kept('-6.1e-3 V'))).toEqual({ kind: 'value', volts: expect.closeTo(-0.0061) });
  });

  it('sends what the folder would hold', () => {
    expect(plain('−6,1')).toBe('-6.1');
    expect(plain('+5')).toBe('5');
  });

  it('turns the sign there and back', () => {
    expect(turned('6.1')).toBe('−6.1');
    expect(turned('+6.1')).toBe('−6.1');
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 99, noNaN: true }), (size) => {
        const text = size.toFixed(2);
        expect(turned(turned(text))).toBe(text);
        const [one, other] = [entryOf(text), entryOf(turned(text))];
        if (one.kind === 'value' && other.kind === 'value') expect(other.volts).toBeCloseTo(-one.volts);
      }),
    );
  });
});
