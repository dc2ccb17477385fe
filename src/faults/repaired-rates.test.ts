import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Machine, type Part, readMachine } from '../machine/index.ts';
import { failureRates, repairedRates } from './index.ts';

const FILES = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'm',
    summary: '',
    reference: '0V',
    ambient: 20,
    rails: [{ net: '-12V', volts: -12 }],
    units: [{ id: 'east', health: 'healthy' }],
  }),
  'parts.csv': `board,ref,kind,type,value,pins
A,Q1,transistor,GE-PNP,,e=0V b=X1 c=Y1
A,Q2,transistor,GE-PNP,,e=0V b=X2 c=Y2
A,Q3,transistor,SI-NPN,,e=0V b=X3 c=Y3
A,R1,resistor,,1k,1=-12V 2=Y1
A,R2,resistor,,1k,1=-12V 2=Y2
A,C1,capacitor,,10u,1=0V 2=-12V
A,C2,capacitor,,10n,1=0V 2=Y3
A,P,connector,,,1=X1 2=X2
`,
  'conditions.csv': 'condition,net,role,volts,ohms\nrest,X1,drive,0,\n',
};

function machineWith(log: readonly string[]): Machine {
  const texts = {
    ...FILES,
    'log.csv': ['id,unit,date,kind,text,points,suspects,replaces,note', ...log].join('\n'),
  };
  const files = new Map(Object.entries(texts).map(([name, text]) => [name, new TextEncoder().encode(text)]));
  return readMachine(files).machine!;
}

const machine = machineWith([]);
const hypotheses = machine.parts.flatMap((part: Part) =>
  [...failureRates(part)].map(([mode, rate]) => ({ part: part.name, mode, rate })),
);
const keys = hypotheses.map(({ part, mode }) => `${part}:${mode}`);
const total = (rates: Iterable<number>): number => [...rates].reduce((a, b) => a + b, 0);

/** What the prior of one suspect is multiplied by. */
function factor(log: readonly string[], suspect: string): number {
  const at = keys.indexOf(suspect);
  return repairedRates(machineWith(log), hypotheses).rates[at]! / hypotheses[at]!.rate;
}
const changed = (id: number, suspects: string, replaces = ''): string =>
  `${id},east,2024-03-0${id},replaced,changed,,${suspects},${replaces},`;

describe('rates with the repairs on record', () => {
  it('are the prior ones where nothing was changed', () => {
    const { rates, counted } = repairedRates(machine, hypotheses);
    expect([...rates]).toEqual(hypotheses.map(({ rate }) => rate));
    expect(counted).toBe(0);
  });

  it('keep their sum, whatever was changed', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...keys), { maxLength: 9 }), (suspects) => {
        const log = suspects.map((suspect, i) => changed(i + 1, suspect));
        const { rates, counted } = repairedRates(machineWith(log), hypotheses);
        expect(total(rates)).toBeCloseTo(total(hypotheses.map(({ rate }) => rate)), 9);
        expect(counted).toBe(suspects.length);
        expect(Math.min(...rates)).toBeGreaterThan(0);
      }),
    );
  });

  it('rise for the part that was changed, less for its type, less again for its kind, and fall for other kinds', () => {
    const log = [changed(1, 'A/Q1:short-ce')];
    const [same, way, type, kind, other] = [
      'A/Q1:short-ce',
      'A/Q1:open-b',
      'A/Q2:open-b',
      'A/Q3:open-b',
      'A/R1:open',
    ].map((suspect) => factor(log, suspect)) as [number, number, number, number, number];
    expect(same).toBeGreaterThan(way);
    expect(way).toBeGreaterThan(type);
    expect(type).toBeGreaterThan(kind);
    expect(other).toBeLessThan(1);
  });

  it('weigh as two failures beforehand at each level', () => {
    // Worked by hand for the kinds: of all rates transistors have the share p; one failure makes (2 + 1) / (2 + p) of it before
    // the sum is kept, and every other kind 2 / (2 + its share).
    const log = [changed(1, 'A/Q1')];
    const shareOf = (of: (key: string) => boolean): number =>
      total(hypotheses.filter((_, i) => of(keys[i]!)).map(({ rate }) => rate)) /
      total(hypotheses.map(({ rate }) => rate));
    const joint = (key: string): boolean => key.includes(':open-joint');
    const kinds = ['A/Q', 'A/R', 'A/C1', 'A/C2'].map((name) =>
      shareOf((key) => key.startsWith(name) && !joint(key)),
    );
    kinds.push(shareOf((key) => joint(key) && !key.startsWith('A/P')));
    kinds.push(shareOf((key) => joint(key) && key.startsWith('A/P')));
    expect(total(kinds)).toBeCloseTo(1, 12);
    const raw = kinds.map((share, i) => (2 + (i === 0 ? 1 : 0)) / (2 + share));
    const scale = 1 / total(kinds.map((share, i) => share * raw[i]!));
    expect(factor(log, 'A/R1:open')).toBeCloseTo(scale * raw[1]!, 12);
    expect(factor(log, 'A/C1:short')).toBeCloseTo(scale * raw[2]!, 12);
    const all = hypotheses.filter((_, i) => keys[i]!.startsWith('A/Q') && !joint(keys[i]!));
    const rates = repairedRates(machineWith(log), hypotheses).rates;
    const after = total([...rates].filter((_, i) => keys[i]!.startsWith('A/Q') && !joint(keys[i]!)));
    expect(after / total(all.map(({ rate }) => rate))).toBeCloseTo(scale * raw[0]!, 12);
  });

  it('do not count an entry that was superseded, another kind of entry, or a part that is not there', () => {
    const log = [
      changed(1, 'A/Q1:short-ce'),
      changed(2, 'A/R1:open', '1'),
      '3,east,2024-03-03,finding,looked at,,A/Q2:open-b,,',
      changed(4, 'B/R9:open'),
    ];
    const { rates, counted } = repairedRates(machineWith(log), hypotheses);
    expect(counted).toBe(1);
    expect([...rates]).toEqual([...repairedRates(machineWith([changed(1, 'A/R1:open')]), hypotheses).rates]);
  });

  it('take a joint for a joint, wherever it was', () => {
    const log = [changed(1, 'A/R1:open-joint:2')];
    expect(factor(log, 'A/Q3:open-joint:b')).toBeGreaterThan(1);
    expect(factor(log, 'A/R1:open-joint:1')).toBeGreaterThan(factor(log, 'A/Q3:open-joint:b'));
    expect(factor(log, 'A/R1:open')).toBe(factor(log, 'A/R2:open'));
    expect(factor(log, 'A/P:open-joint:1')).toBeLessThan(factor(log, 'A/Q3:open-joint:b'));
    // Most of all rates are the transistors', and none of them was changed.
    expect(factor(log, 'A/Q1:short-ce')).toBeLessThan(1);
  });
});
