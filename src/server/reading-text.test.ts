import { describe, expect, it } from 'vitest';
import { readingText, readingValue } from './reading-text.ts';

describe('what a person types for a reading', () => {
  it.each([
    ['V', '-6,1', -6.1, '-6.1'],
    ['V', '340 mV', 0.34, '340m'],
    ['high', '−0.1 V', -0.1, '−0.1'],
    ['width', '12.5 us', 12.5e-6, '12.5u'],
    ['rise', '1.2e-7', 1.2e-7, '1.2e-7'],
    ['delay:STEP', '3µs', 3e-6, '3µ'],
    ['Hz', '7 kHz', 7000, '7k'],
    ['moves', 'yes', 1, '1'],
    ['moves', ' 0 ', 0, '0'],
  ])('of %s, %s, is %d and written as the folder has it', (quantity, typed, value, text) => {
    const read = readingText(quantity, typed);
    expect(read.value).toBeCloseTo(value, 12);
    expect(read.text).toBe(text);
    expect(readingValue(quantity, text)).toBe(read.value);
  });

  it.each([
    ['width', '3 V', 'wrong-unit'],
    ['V', '3 s', 'wrong-unit'],
    ['high', '', 'empty'],
    ['moves', '2', 'not-a-number'],
    ['heat', '2', 'unknown-word'],
    ['delay:', '2', 'unknown-word'],
  ])('of %s, %s, is refused as %s', (quantity, typed, code) => {
    expect(() => readingText(quantity, typed)).toThrow(expect.objectContaining({ code }));
  });

  it('and is no value, is none on record', () => {
    expect([readingValue('V', 'six'), readingValue('heat', '2')]).toEqual([undefined, undefined]);
  });
});
