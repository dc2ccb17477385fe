import { describe, expect, it } from 'vitest';
import type { SheetRow } from './edit-queue.ts';
import { pinRows, withNets } from './wiring.ts';

const part = (cells: Record<string, string>): SheetRow => ({ key: 'r1', id: 1, version: 1, cells });

describe('the wiring of parts', () => {
  it('has a row for each pin, and for those that the kind has and nobody has traced', () => {
    const rows = pinRows([
      part({ kind: 'transistor', pins: 'c=OUT b=IN' }),
      part({ kind: 'other', pins: 'x=A' }),
    ]);
    expect(rows.map(({ pin, net }) => `${pin}:${net}`)).toEqual(['c:OUT', 'b:IN', 'e:', 'x:A']);
  });

  it('is written back into the part, pin by pin', () => {
    expect(withNets('e=0V b=B1', new Map([['b', 'B2']]))).toBe('e=0V b=B2');
    expect(withNets('e=0V b=B1', new Map([['c', 'OUT']]))).toBe('e=0V b=B1 c=OUT');
    expect(withNets('e=0V b=B1', new Map([['e', ' ']]))).toBe('b=B1');
  });
});
