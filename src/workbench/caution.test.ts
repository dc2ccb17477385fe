import { describe, expect, it } from 'vitest';
import { type Machine, readMachine } from '../machine/index.ts';
import { cautionAt } from './caution.ts';

const MACHINE = readMachine(
  new Map(
    Object.entries({
      'machine.json': JSON.stringify({
        format: 1,
        name: 'relay desk',
        reference: '0V',
        ambient: 20,
        rails: [
          { net: '-12V', volts: -12, tolerance: 5 },
          { net: '+130V', volts: 130, tolerance: 10 },
        ],
        units: [{ id: 'a', health: 'faulty' }],
      }),
      'parts.csv':
        'board,ref,kind,value,pins\nB,R1,resistor,1k,1=-12V 2=OUT\nB,R2,resistor,1k,1=OUT 2=0V\nB,R3,resistor,1M,1=+130V 2=0V\nC,R4,resistor,1k,1=OUT 2=C1\nC,R5,resistor,1k,1=C1 2=0V\n',
      'points.csv':
        'point,minutes,note,caution\nOUT,1,green lug,\n-12V,1,"Caution: beside the mains switch",\n+130V,1,rear lug,\nB/R3.1,2,,\nC/R4.1,1,,hot\n',
      'boards.csv': 'board,caution\nC,the reservoir holds its charge\n',
    }).map(([name, text]) => [name, new TextEncoder().encode(text)]),
  ),
).machine as Machine;

describe('the caution at a point', () => {
  it('is its note when that is a warning, without the word', () => {
    expect(cautionAt(MACHINE, '-12V')).toBe('beside the mains switch');
  });

  it('is the voltage of a dangerous rail, also at a pin on it, whatever the note says', () => {
    expect(cautionAt(MACHINE, '+130V')).toMatch(/^130 V: only if you are qualified/);
    expect(cautionAt(MACHINE, 'B/R3.1')).toMatch(/^130 V: only if you are qualified/);
  });

  it('is what points.csv says in its column for it, before anything else', () => {
    const points = [{ point: '+130V', minutes: 1, note: 'Caution: rear lug', caution: 'discharge first' }];
    expect(cautionAt({ ...MACHINE, points }, '+130V')).toBe('discharge first');
  });
  it('is its own and that of its board, together', () => {
    expect(cautionAt(MACHINE, 'C/R4.1')).toBe('hot; the reservoir holds its charge');
    expect(cautionAt(MACHINE, 'C1')).toBe('the reservoir holds its charge');
  });

  it('is empty where nothing is known', () => {
    expect(cautionAt(MACHINE, 'OUT')).toBe('');
    expect(cautionAt(MACHINE, 'B/R1.2')).toBe('');
  });
});
