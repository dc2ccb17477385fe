import { describe, expect, test } from 'vitest';
import { loopsOf } from './loops.ts';
import { inverterLines, type SampleCircuit, sampleCircuit } from './sample-circuit.ts';
import { signalFlow } from './signal-flow.ts';

function loops(lines: readonly string[], options: SampleCircuit = {}) {
  const machine = sampleCircuit(lines, options);
  return loopsOf(machine, signalFlow(machine));
}
const nets = (list: readonly { readonly nets: readonly string[] }[]) =>
  list.map((one) => [...one.nets].sort());

const BISTABLE = [...inverterLines(1, 'Y', 'X'), ...inverterLines(2, 'X', 'Y')];

describe('where a loop can be opened or held', () => {
  test('a cross-coupled pair is held at either base or either collector', () => {
    const [loop, ...more] = loops(BISTABLE);
    expect(more).toEqual([]);
    expect(nets([loop!])).toEqual([['X', 'Y', 'b1', 'b2']]);
    const { places } = loop!.rings[0]!;
    expect(places.every(({ kind }) => kind === 'hold')).toBe(true);
    expect(places.map(({ net }) => net).sort()).toEqual(['X', 'Y', 'b1', 'b2']);
  });

  test('a hold leaves no more standing than it says, carries what it says, and has a preferred value', () => {
    // The base: 6800 ohms from a net that can be at -12 V at most. The collector: a load of 3300 ohms to -12 V.
    const places = loops(BISTABLE)[0]!.rings[0]!.places;
    const base = places.find(({ net }) => net === 'b1');
    const collector = places.find(({ net }) => net === 'X');
    expect(base).toMatchObject({
      kind: 'hold',
      net: 'b1',
      to: '0V',
      ohms: 56,
      amperes: expect.closeTo(12 / 6800, 9),
      stands: 'off',
      stage: 'B/Q1',
    });
    expect((12 * 56) / (6800 + 56)).toBeLessThan(0.1);
    expect((12 * 68) / (6800 + 68)).toBeGreaterThan(0.1);
    expect(collector).toMatchObject({
      to: '0V',
      ohms: 47,
      amperes: expect.closeTo(12 / 3300, 9),
      stands: 'on',
      stage: 'B/Q1',
    });
    expect((12 * 47) / (3300 + 47)).toBeLessThan(0.2);
  });

  test('nothing is held where a rail of 60 V or more can make itself felt', () => {
    const machine = sampleCircuit(BISTABLE);
    const high = {
      ...machine,
      rails: machine.rails.map((rail) => (rail.net === '-12V' ? { ...rail, volts: -60 } : rail)),
    };
    expect(loopsOf(high, signalFlow(high))[0]!.rings.flatMap(({ places }) => places)).toEqual([]);
  });

  test('a follower is not held by a clip: it would drive against it', () => {
    const lines = ['Q1 PN e=X b=Y c=-12V', 'R1 1000 1=X 2=+6V', ...inverterLines(2, 'X', 'Y')];
    const places = loops(lines)[0]!.rings[0]!.places;
    expect(places.map(({ net }) => net)).not.toContain('X');
  });

  test('a loop over two boards is opened by pulling either, one coupled by a capacitor at its lead', () => {
    const lines = [
      ...inverterLines(1, 'Y', 'X', 'B'),
      'B/J1 1=X 2=Y',
      'P/Q2 PN e=0V b=b2 c=Y',
      'P/C1 1e-6 1=X 2=b2',
      'P/R1 33000 1=b2 2=-12V',
      'P/R2 3300 1=Y 2=-12V',
      'P/J1 1=X 2=Y',
    ];
    const places = loops(lines)[0]!.rings[0]!.places;
    expect(places).toContainEqual({ kind: 'board', net: 'X', boards: ['B', 'P'] });
    expect(places).toContainEqual({ kind: 'board', net: 'Y', boards: ['P', 'B'] });
    expect(places).toContainEqual({ kind: 'capacitor', net: 'b2', part: 'P/C1' });
  });

  test('the net that flow.csv names comes first', () => {
    const drawn = { board: 'M', stage: 'line', inputs: ['W'], outputs: ['R'], breaks: 'W' };
    const [loop] = loops(inverterLines(1, 'R', 'W'), { flow: [drawn] });
    expect(loop!.rings[0]!.places[0]).toEqual({ kind: 'break', net: 'W', stage: 'M/line' });
  });

  test('a regulator is a loop that is neither opened nor held', () => {
    const [loop] = loops([
      'Q1 PN e=-9V b=b1 c=-12V',
      'R1 1000 1=b1 2=-12V',
      'Q2 PN e=Z b=b2 c=b1',
      'Z1 5 a=Z k=0V',
      'R2 1000 1=Z 2=-9V',
      'R3 1000 1=b2 2=-9V',
      'R4 1000 1=b2 2=0V',
      'C1 1e-4 1=0V 2=-9V',
      ...['a', 'b', 'c'].map((net, i) => `R1${i} 3300 1=-9V 2=${net}`),
    ]);
    expect(loop!.regulates).toBe(true);
    expect(nets([loop!])).toEqual([['-9V', 'b1', 'b2']]);
    expect(loop!.rings.flatMap(({ places }) => places)).toEqual([]);
    expect(new Set(loop!.stages.map(({ group }) => group?.kind))).toContain('series regulator');
  });
});

test('loops of stages drawn by hand are found, the smallest first, and a stage that feeds itself is one', () => {
  const chain = (stage: string, input: string, output: string) => ({
    board: 'M',
    stage,
    inputs: [input],
    outputs: [output],
  });
  const found = loops([], {
    flow: [
      chain('a', 'N3', 'N1'),
      chain('b', 'N1', 'N2'),
      chain('c', 'N2', 'N3'),
      chain('d', 'N1', 'N5'),
      chain('e', 'P1', 'P2'),
      chain('f', 'P2', 'P1'),
    ],
  });
  expect(nets(found)).toEqual([
    ['P1', 'P2'],
    ['N1', 'N2', 'N3'],
  ]);
});
