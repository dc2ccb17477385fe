import { describe, expect, it } from 'vitest';
import { contacts } from './contacts.ts';

const pins = (text: string, known: string[] = []) => {
  const found = contacts(text, 'ADD', new Set(known));
  return found.ok ? found.pins : found.reason;
};

describe('contacts of a connector', () => {
  it('are a range of numbers or letters, each on a net of its own', () => {
    expect(pins('1-22')).toHaveLength(22);
    expect(pins('1-3')).toEqual(['1=ADD.1', '2=ADD.2', '3=ADD.3']);
    expect(pins('A-C')).toEqual(['A=ADD.A', 'B=ADD.B', 'C=ADD.C']);
  });

  it('have the nets that are named, on the contact named or on the next one', () => {
    expect(pins('3=STEP')).toEqual(['3=STEP']);
    expect(pins('STEP CARRY')).toEqual(['1=STEP', '2=CARRY']);
    expect(pins('7 STEP')).toEqual(['7=ADD.7', '8=STEP']);
  });

  it('may be named within a range, before or after it', () => {
    expect(pins('1-3 2=STEP')).toEqual(['1=ADD.1', '2=STEP', '3=ADD.3']);
    expect(pins('2=STEP, 1-3')).toEqual(['2=STEP', '1=ADD.1', '3=ADD.3']);
  });

  it('are rails and the reference where they are called so, minus sign or not', () => {
    expect(pins('-12V 0V 5', ['-12V', '0V'])).toEqual(['1=-12V', '2=0V', '5=ADD.5']);
  });

  it('that cannot be meant are refused with the word', () => {
    expect(pins('3=')).toContain('“3=”');
    expect(pins('9-2')).toContain('runs backwards');
    expect(pins('1-999')).toContain('more than 500');
  });

  it('may be none', () => {
    expect(pins('  ')).toEqual([]);
  });
});
