import { describe, expect, it } from 'vitest';
import { failureRates } from '../faults/index.ts';
import { KIND_RULES, PART_KINDS, type Part } from '../machine/index.ts';
import { confirmation } from './confirmation.ts';

function partOf(kind: Part['kind']): Part {
  const rule = KIND_RULES[kind].pins;
  const names = rule === 'windings' ? ['1a', '1b'] : (rule ?? ['5']);
  return { ref: 'X7', kind, pins: names.map((pin) => ({ pin, net: pin })) } as unknown as Part;
}

describe('what to see before unsoldering', () => {
  it('is said for every failure mode of every kind of part', () => {
    for (const kind of PART_KINDS) {
      const part = partOf(kind);
      for (const mode of failureRates(part).keys()) {
        const text = confirmation(part, mode);
        expect(text).toMatch(/^[a-z].*[^.]$/);
        expect(text).not.toContain('undefined');
        // Ohms are read with the power off, and nothing else is asked for in the same words.
        if (/\bohms\b/.test(text)) expect(text).toContain('power off');
      }
    }
  });

  it('names the two pins of a shorted junction', () => {
    expect(confirmation(partOf('transistor'), 'short-ce')).toContain('ohms from X7.c to X7.e, both ways');
  });

  it('is a change of board where nothing is traced', () => {
    expect(confirmation(undefined, 'stage')).toContain('change the board');
  });
});
