import { describe, expect, it } from 'vitest';
import { Reckoning, tableKey } from '../diagnosis/index.ts';
import { type Machine, readMachine } from '../machine/index.ts';
import { faultTableOf } from './fault-table.ts';
import { Reckoner } from './reckoner.ts';
import { timesAs } from './repair-note.ts';

/** Two inverters in series; nothing but the input has been read of the faulty one, so that the priors decide. */
const TEXTS = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'two inverters',
    summary: '',
    reference: '0V',
    ambient: 20,
    rails: [
      { net: '-12V', volts: -12 },
      { net: '+6V', volts: 6 },
    ],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,type,value,pins
A,R1,resistor,,4.7k,1=IN 2=B1
A,R2,resistor,,47k,1=+6V 2=B1
A,Q1,transistor,GE-PNP,,e=0V b=B1 c=C1
A,R3,resistor,,2.2k,1=-12V 2=C1
A,R4,resistor,,4.7k,1=C1 2=B2
A,R5,resistor,,47k,1=+6V 2=B2
A,Q2,transistor,GE-PNP,,e=0V b=B2 c=C2
A,R6,resistor,,2.2k,1=-12V 2=C2
`,
  'conditions.csv': 'condition,net,role,volts,ohms\non,IN,drive,-6,\n',
  'readings.csv': `unit,condition,point,quantity,value
west,on,C2,V,-0.05
`,
};

function machineWith(log: string): Machine {
  const texts = { ...TEXTS, 'log.csv': `id,unit,date,kind,text,points,suspects,replaces,note\n${log}` };
  const files = new Map(Object.entries(texts).map(([name, text]) => [name, new TextEncoder().encode(text)]));
  const { machine, findings } = readMachine(files);
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return machine!;
}

const LOG = '1,east,2019-04-02,replaced,Q2 changed,,A/Q2:short-ce,,\n';

describe('repairs on record', () => {
  it('name together what has moved alike, each suspect once', () => {
    const moved = [
      ['Q1:open-b', 0.894],
      ['R3:open', 3.04],
      ['Q2:open-b', 0.889],
      ['Q1:open-b', 0.894],
    ] as const;
    expect(timesAs(moved)).toBe('Q1:open-b and Q2:open-b are 0.89 times as, R3:open is 3.0 times as');
  });

  it('ask for no new fault table, and move the answer', async () => {
    const [before, after] = [machineWith(''), machineWith(LOG)];
    expect(tableKey(after)).toBe(tableKey(before));
    const table = await faultTableOf(before, { keeping: false, workers: 0 });
    const chance = (machine: Machine): number =>
      new Reckoning(machine, table, 'west')
        .diagnosis()
        .suspects.filter(({ parts, modes }) => parts[0] === 'A/Q2' && modes[0] === 'short-ce')
        .reduce((sum, { probability }) => sum + probability, 0);
    expect(chance(after)).toBeGreaterThan(1.2 * chance(before));
  });

  it('count as soon as they are written down, while the table stays; and the answer says so', async () => {
    const [before, after] = [machineWith(''), machineWith(LOG)];
    const reckoner = new Reckoner();
    reckoner.hold(1, before);
    await reckoner.computeTable(1, { workers: 0 });
    const first = reckoner.answer(1, 'west')!.diagnosis;
    expect(first.notes.filter((note) => note.includes('repair'))).toEqual([]);
    reckoner.holdReadings(1, after.readings, after.repairs);
    const second = reckoner.answer(1, 'west')!.diagnosis;
    expect(second.suspects[0]).toMatchObject({ parts: ['A/Q2'], modes: ['short-ce'] });
    expect(second.suspects[0]!.probability).toBeGreaterThan(1.2 * first.suspects[0]!.probability);
    const note = second.notes.find((one) => one.includes('repair'))!;
    expect(note).toMatch(
      /^1 repair on record counts: before any reading, A\/Q2:short-ce is \d.* times as likely as without it$/,
    );
    // Taken back, it counts no more.
    reckoner.holdReadings(1, before.readings, before.repairs);
    expect(reckoner.answer(1, 'west')!.diagnosis).toEqual(first);
  });
});
