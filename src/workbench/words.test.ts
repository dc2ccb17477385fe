import { describe, expect, it } from 'vitest';
import { failureRates } from '../faults/index.ts';
import { KIND_RULES, PART_KINDS, type Part } from '../machine/index.ts';
import { modeWords, verdict } from './words.ts';

describe('words', () => {
  it('there are some for every failure mode of every kind of part', () => {
    for (const kind of PART_KINDS) {
      const rule = KIND_RULES[kind].pins;
      const pins = rule === 'windings' ? ['1a', '1b', '2a', '2b'] : (rule ?? ['5']);
      const part = { kind, pins: pins.map((pin) => ({ pin, net: pin })) } as unknown as Part;
      for (const mode of failureRates(part).keys())
        expect(modeWords(mode, kind)).toMatch(/^[a-z][a-z ,]*[a-z0-9]*( open| short)?$/);
    }
  });

  it.each([
    ['short-ce', 'short, collector to emitter'],
    ['open:1', 'winding 1 open'],
    ['open-joint:c', 'joint open at pin c'],
    ['stage', 'bad inside: good inputs, bad output'],
  ])('%s is %s', (mode, words) => {
    expect(modeWords(mode)).toBe(words);
  });

  it('a connector has no contact where another part has an open joint', () => {
    expect(modeWords('open-joint:11', 'connector')).toBe('no contact at pin 11');
    expect(modeWords('open-joint:2', 'resistor')).toBe('joint open at pin 2');
  });

  it.each([
    [0, 'sound'],
    [-1.99, 'sound'],
    [2, 'doubtful'],
    [-3.99, 'doubtful'],
    [4, 'departs'],
    [-80, 'departs'],
  ])('%d spreads off is %s', (z, word) => {
    expect(verdict(z)).toBe(word);
  });
});
