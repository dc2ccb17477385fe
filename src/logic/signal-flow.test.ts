import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { inverterLines, sampleCircuit } from './sample-circuit.ts';
import { type SignalFlow, signalFlow } from './signal-flow.ts';

const stage = (flow: SignalFlow, name: string) => flow.stages.find((one) => one.name === name)!;
const froms = (flow: SignalFlow, net: string) =>
  (flow.drives.get(net) ?? []).map(({ from, way, certain }) => `${certain ? '' : 'either '}${way} ${from}`);

describe('what drives a net', () => {
  test('a base drives collector and emitter; a base resistor brings the signal from the driven side', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'IN', 'MID'), ...inverterLines(2, 'MID', 'OUT')], {
        driven: ['IN'],
      }),
    );
    expect(froms(flow, 'MID')).toEqual(['collector b1']);
    expect(froms(flow, 'b2')).toEqual(['resistor MID']);
    expect(froms(flow, 'IN')).toEqual(['outside ']);
    expect(stage(flow, 'B/Q2')).toMatchObject({
      kind: 'inverter',
      inputs: ['MID'],
      supplies: ['-12V', '+6V'],
    });
    expect(new Set(stage(flow, 'B/Q2').outputs)).toEqual(new Set(['b2', 'OUT']));
    expect(new Set(stage(flow, 'B/Q2').parts)).toEqual(new Set(['B/Q2', 'B/R21', 'B/R22', 'B/R23']));
  });

  test('a pin of the edge that leads to a base alone comes from outside, one that hangs on a collector does not', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'IN', 'MID'), 'R9 1000 1=MID 2=OUT', 'J1 1=IN 2=OUT 3=0V']),
    );
    expect(flow.drives.get('IN')).toMatchObject([{ way: 'outside', by: 'B/J1.1' }]);
    expect(froms(flow, 'OUT')).toEqual(['resistor MID']);
  });

  test('a resistor between two collectors may carry the signal either way, and makes no loop by itself', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'A', 'X'), ...inverterLines(2, 'B', 'Y'), 'R9 10000 1=X 2=Y'], {
        driven: ['A', 'B'],
      }),
    );
    expect(froms(flow, 'X')).toEqual(['collector b1', 'either resistor Y']);
    expect(froms(flow, 'Y')).toEqual(['collector b2', 'either resistor X']);
    expect(flow.next.get('X')).toBeUndefined();
  });

  test('a diode between two collectors that are pulled up carries the signal from its anode', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'A', 'CLR'), ...inverterLines(2, 'B', 'BIT'), 'D9 a=CLR k=BIT'], {
        driven: ['A', 'B'],
      }),
    );
    expect(froms(flow, 'BIT')).toEqual(['collector b2', 'diode CLR']);
    expect(froms(flow, 'CLR')).toEqual(['collector b1']);
  });

  test('a divider between supplies is driven by what it divides', () => {
    const flow = signalFlow(
      sampleCircuit('R1 1000 1=-12V 2=A\nR2 1000 1=A 2=0V\nQ1 PN e=E b=A c=-12V\nR3 1000 1=E 2=+6V'),
    );
    expect(froms(flow, 'A')).toEqual(['resistor -12V']);
    expect(stage(flow, 'B/Q1').kind).toBe('follower');
  });

  test('every net with a collector on it is driven by that transistor, in any network', () => {
    const net = fc.constantFrom('0V', '-12V', '+6V', 'A', 'B', 'C', 'D', 'E', 'F', 'G');
    const lines = fc.array(
      fc.oneof(
        fc
          .tuple(net, net, net, fc.constantFrom('PN', 'NP'))
          .map(([e, b, c, t]) => `Q ${t} e=${e} b=${b} c=${c}`),
        fc.tuple(net, net, fc.constantFrom(100, 1e4)).map(([a, b, v]) => `R ${v} 1=${a} 2=${b}`),
        fc.tuple(net, net, fc.constantFrom(1e-9, 1e-4)).map(([a, b, v]) => `C ${v} 1=${a} 2=${b}`),
        fc.tuple(net, net).map(([a, k]) => `D a=${a} k=${k}`),
        fc.tuple(net, net).map(([a, b]) => `J 1=${a} 2=${b}`),
      ),
      { maxLength: 30 },
    );
    fc.assert(
      fc.property(lines, (list) => {
        const machine = sampleCircuit(list.map((line, i) => line.replace(/^[A-Z]+/, (ref) => `${ref}${i}`)));
        const flow = signalFlow(machine);
        for (const part of machine.parts) {
          if (part.kind !== 'transistor') continue;
          const collector = part.pins.find(({ pin }) => pin === 'c')!.net;
          if (flow.supplies.has(collector)) continue;
          expect(flow.drives.get(collector)!.map(({ by }) => by)).toContain(part.name);
          expect(flow.driversOf.get(collector)!.some(({ parts }) => parts.includes(part.name))).toBe(true);
        }
        // Every net with a drive belongs to a stage, and names are unique.
        for (const driven of flow.drives.keys())
          expect(flow.driversOf.get(driven)?.length ?? 0).toBeGreaterThan(0);
        expect(new Set(flow.stages.map(({ name }) => name)).size).toBe(flow.stages.length);
      }),
      { numRuns: 300 },
    );
  });
});

describe('stages by their names', () => {
  const gate = (lines: string) => stage(signalFlow(sampleCircuit(lines, { driven: ['A', 'B'] })), 'B/D1');

  test('of a diode gate the most positive input wins where cathodes meet, the most negative where anodes meet', () => {
    expect(gate('D1 a=A k=N\nD2 a=B k=N\nR1 10000 1=N 2=-12V')).toMatchObject({
      kind: 'diode gate',
      wins: 'highest',
      inputs: ['A', 'B'],
    });
    expect(gate('D1 a=N k=A\nD2 a=N k=B\nR1 10000 1=N 2=+6V')).toMatchObject({
      kind: 'diode gate',
      wins: 'lowest',
    });
  });

  const pair = (first: string, second: string) =>
    signalFlow(
      sampleCircuit([
        'Q1 PN e=0V b=b1 c=c1',
        'Q2 PN e=0V b=b2 c=c2',
        'R1 3300 1=c1 2=-12V',
        'R2 3300 1=c2 2=-12V',
        'R3 33000 1=b1 2=-12V',
        'R4 33000 1=b2 2=-12V',
        `${first} 1=c1 2=b2`,
        `${second} 1=c2 2=b1`,
      ]),
    );
  test.each([
    ['bistable', 'R5 6800', 'R6 6800'],
    ['monostable', 'R5 6800', 'C1 1e-8'],
    ['multivibrator', 'C1 1e-8', 'C2 1e-8'],
  ])('two inverters crosswise are a %s by how they are coupled', (kind, first, second) => {
    const group = { kind, parts: ['B/Q1', 'B/Q2'] };
    expect(stage(pair(first, second), 'B/Q1').group).toEqual(group);
    expect(stage(pair(first, second), 'B/Q2').group).toEqual(group);
  });

  const tail = (coupling: string) =>
    signalFlow(
      sampleCircuit(
        `Q1 PN e=T b=A c=c1\nQ2 PN e=T b=b2 c=c2\nR1 3300 1=c1 2=-12V\nR2 3300 1=c2 2=-12V\nR3 470 1=T 2=0V\n${coupling}`,
        { driven: ['A', 'B'] },
      ),
    );
  test('two transistors on one emitter resistor are a Schmitt trigger with a collector led to the other base, else an emitter-coupled pair', () => {
    expect(stage(tail('R4 6800 1=c1 2=b2\nR5 10000 1=b2 2=0V'), 'B/Q1').group?.kind).toBe('Schmitt trigger');
    expect(stage(tail('R4 6800 1=B 2=b2'), 'B/Q1').group?.kind).toBe('emitter-coupled pair');
  });

  test('a lamp, a relay, an emitter resistor and a base on a supply each make another stage of a transistor', () => {
    const flow = signalFlow(
      sampleCircuit(
        [
          'Q1 PN e=0V b=A c=c1',
          'LP1 1200 1=c1 2=-12V',
          'Q2 PN e=0V b=A c=c2',
          'X1 1=c2 2=-12V',
          'Q3 PN e=e3 b=B c=c3',
          'R1 1000 1=e3 2=0V',
          'R2 3300 1=c3 2=-12V',
          'Q4 PN e=A b=0V c=c4',
          'R3 3300 1=c4 2=-12V',
        ],
        { driven: ['A', 'B'] },
      ),
    );
    expect(['Q1', 'Q2', 'Q3', 'Q4'].map((ref) => stage(flow, `B/${ref}`).kind)).toEqual([
      'lamp driver',
      'relay driver',
      'amplifier stage',
      'common-base stage',
    ]);
  });

  test('a capacitor into a node with a resistor and a diode onward is pulse steering; without the diode an RC coupling', () => {
    const base = [...inverterLines(1, 'A', 'OUT'), 'C1 1e-9 1=B 2=N', 'R9 22000 1=N 2=OUT'];
    const steered = signalFlow(sampleCircuit([...base, 'D1 a=N k=b1'], { driven: ['A', 'B'] }));
    expect(stage(steered, 'B/C1')).toMatchObject({
      kind: 'pulse steering',
      inputs: ['B', 'OUT'],
      outputs: ['N'],
    });
    expect(stage(steered, 'B/Q1').inputs).toContain('N');
    const plain = signalFlow(sampleCircuit('C1 1e-9 1=B 2=N\nR9 22000 1=N 2=0V', { driven: ['B'] }));
    expect(stage(plain, 'B/C1').kind).toBe('RC coupling');
  });

  test('a follower between two supplies regulates the one that is made of the other', () => {
    const flow = signalFlow(
      sampleCircuit([
        'Q1 PN e=-9V b=b1 c=-12V',
        'R1 1000 1=b1 2=-12V',
        'Z1 9 a=b1 k=0V',
        'C1 1e-4 1=0V 2=-9V',
        ...['a', 'b', 'c'].map((net, i) => `R1${i} 3300 1=-9V 2=${net}`),
      ]),
    );
    expect(flow.supplies.has('-9V')).toBe(true);
    expect(stage(flow, 'B/Q1')).toMatchObject({ kind: 'series regulator' });
    expect(froms(flow, '-9V')).toEqual(['emitter b1']);
  });
});

describe('what a person has drawn', () => {
  test('counts where nothing is traced', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'READ', 'OUT'), 'M/J1 1=READ 2=WRITE'], {
        flow: [{ board: 'M', stage: 'line', inputs: ['WRITE'], outputs: ['READ'], breaks: 'WRITE' }],
        driven: ['WRITE'],
      }),
    );
    expect(flow.drives.get('READ')).toMatchObject([{ way: 'drawn', by: 'M/line', from: ['WRITE'] }]);
    expect(stage(flow, 'M/line')).toMatchObject({ kind: 'drawn', breaks: 'WRITE' });
    expect(flow.contradictions).toEqual([]);
  });

  test('a board of which only the connector is known takes in what others drive and may put out the rest', () => {
    const flow = signalFlow(
      sampleCircuit([...inverterLines(1, 'BACK', 'OUT'), 'M/J1 1=OUT 2=BACK 3=0V 4=-12V']),
    );
    expect(stage(flow, 'M/board')).toMatchObject({ kind: 'board', inputs: ['OUT'], outputs: ['BACK'] });
  });

  test('a drawn output that another board drives is a contradiction, and so is a drawn input that follows the output', () => {
    const lines = [...inverterLines(1, 'IN', 'MID', 'B'), ...inverterLines(2, 'MID', 'OUT', 'P')];
    const drawn = { driven: ['IN'], flow: [{ board: 'P', stage: 'gate', inputs: ['IN'], outputs: ['MID'] }] };
    expect(signalFlow(sampleCircuit(lines, drawn)).contradictions).toEqual([
      { stage: 'P/gate', net: 'MID', kind: 'driven elsewhere', instead: 'B/Q1' },
    ]);
    const turned = {
      driven: ['IN'],
      flow: [{ board: 'B', stage: 'gate', inputs: ['OUT'], outputs: ['MID'] }],
    };
    expect(signalFlow(sampleCircuit(lines, turned)).contradictions).toEqual([
      { stage: 'B/gate', net: 'OUT', kind: 'other way', instead: 'MID' },
    ]);
  });

  test('names the traced stages that it holds, and says nothing against a loop drawn either way round', () => {
    const lines = [...inverterLines(1, 'X', 'Y'), ...inverterLines(2, 'Y', 'X')];
    const flow = signalFlow(
      sampleCircuit(lines, { flow: [{ stage: 'bit', inputs: [], outputs: ['X', 'Y', 'b1', 'b2'] }] }),
    );
    expect(stage(flow, 'B/Q1').drawn).toBe('B/bit');
    expect(flow.contradictions).toEqual([]);
  });
});
