import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { goodInputsBadOutput, type Look } from './good-inputs.ts';
import { inverterLines, sampleCircuit } from './sample-circuit.ts';
import { signalFlow } from './signal-flow.ts';

type Drawn = readonly [stage: string, inputs: string, outputs: string, breaks?: string];

/** Stages that nobody has traced, in one state or several. */
function answer(stages: readonly Drawn[], ...states: Readonly<Record<string, Look>>[]) {
  const machine = sampleCircuit([], {
    flow: stages.map(([stage, inputs, outputs, breaks = '']) => ({
      board: 'M',
      stage,
      inputs: inputs.split(' ').filter(Boolean),
      outputs: outputs.split(' '),
      breaks,
    })),
  });
  const flow = signalFlow(machine);
  const looks = new Map(states.map((state, i) => [`state ${i}`, new Map(Object.entries(state))]));
  const nets = new Set(
    stages.flatMap(([, inputs, outputs]) => `${inputs} ${outputs}`.split(' ').filter(Boolean)),
  );
  return goodInputsBadOutput(
    machine,
    flow,
    looks,
    [...nets].map((net) => ({ net, minutes: 1 })),
  );
}
const names = (list: readonly { readonly stages: readonly { readonly name: string }[] }[]) =>
  list.map(({ stages }) => stages.map(({ name }) => name).join(' + '));

const CHAIN: Drawn[] = [
  ['source', '', 'N0'],
  ['one', 'N0', 'N1'],
  ['two', 'N1', 'N2'],
  ['three', 'N2', 'N3'],
  ['four', 'N3', 'N4'],
];

describe('good inputs, bad output', () => {
  test('names the stage, though nothing is traced', () => {
    const { named, open, candidates } = answer(CHAIN, { N1: 'good', N2: 'bad', N4: 'bad' });
    expect(names(named)).toEqual(['M/two']);
    expect(named[0]).toMatchObject({ net: 'N2', good: ['N1'], unread: [], states: ['state 0'] });
    expect(open).toEqual([]);
    expect(candidates.map(({ name }) => name)).toEqual(['M/two']);
  });

  test('names no stage of which an input has not been read, but asks for it', () => {
    const { named, open } = answer([...CHAIN, ['sum', 'N4 X', 'N5']], { N4: 'good', N5: 'bad' });
    expect(named).toEqual([]);
    expect(names(open)).toEqual(['M/sum']);
    expect(open[0]!.unread).toEqual(['X']);
  });

  test('names nothing behind a bad input', () => {
    expect(names(answer(CHAIN, { N0: 'good', N1: 'bad', N2: 'bad', N3: 'bad' }).named)).toEqual(['M/one']);
  });

  test('takes the inputs and the output in one state of the machine', () => {
    const { named } = answer(CHAIN, { N1: 'good' }, { N2: 'bad' });
    expect(named).toEqual([]);
  });

  test('asks first where the stages in question part in halves', () => {
    const { next, candidates } = answer(CHAIN, { N0: 'good', N4: 'bad' });
    expect(candidates).toHaveLength(4);
    expect(next[0]).toEqual({ state: 'state 0', net: 'N2', bad: 2, good: 2 });
  });

  test('one fault explains all that looks bad, as long as one can', () => {
    const split: Drawn[] = [...CHAIN, ['left', 'N4', 'L'], ['right', 'N4', 'R']];
    const { candidates } = answer(split, { N3: 'good', L: 'bad', R: 'bad' });
    expect(candidates.map(({ name }) => name)).toEqual(['M/four']);
    const apart = answer([...split, ['other', 'N0', 'O']], { N0: 'good', N3: 'good', L: 'bad', O: 'bad' });
    expect(apart.candidates.map(({ name }) => name)).toContain('M/other');
    expect(apart.candidates.map(({ name }) => name)).toContain('M/left');
  });

  test('of a chain that breaks once, whatever is read between names the stage that broke and nothing else', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 20 }), fc.nat(18), (count, at) => {
        const broken = at % count;
        const chain: Drawn[] = Array.from({ length: count }, (_, i) => [
          `s${i}`,
          i === 0 ? '' : `N${i - 1}`,
          `N${i}`,
        ]);
        const state = Object.fromEntries(
          chain.map(([, , net], i) => [net, i < broken ? 'good' : 'bad'] as const),
        );
        expect(names(answer(chain, state).named)).toEqual([`M/s${broken}`]);
      }),
    );
  });

  test('following the next place to look, twenty stages are down to one in five looks', () => {
    for (let broken = 0; broken < 20; broken++) {
      const chain: Drawn[] = Array.from({ length: 20 }, (_, i) => [
        `s${i}`,
        i === 0 ? '' : `N${i - 1}`,
        `N${i}`,
      ]);
      const state: Record<string, Look> = { N19: 'bad' };
      let looked = 0;
      for (let told = answer(chain, state); told.candidates.length > 1; told = answer(chain, state)) {
        const { net } = told.next[0]!;
        state[net] = Number(net.slice(1)) < broken ? 'good' : 'bad';
        looked++;
      }
      expect(answer(chain, state).candidates.map(({ name }) => name)).toEqual([`M/s${broken}`]);
      expect(looked).toBeLessThanOrEqual(5);
    }
  });
});

describe('a loop in which all looks bad', () => {
  const LOOP: Drawn[] = [
    ['clock', '', 'CP'],
    ['write', 'CP BACK', 'W'],
    ['line', 'W', 'R', 'W'],
    ['read', 'R', 'BACK'],
  ];

  test('is named with its places; with what feeds it good, the fault is inside', () => {
    const { named, loops } = answer(LOOP, { CP: 'good', W: 'bad', R: 'bad', BACK: 'bad' });
    expect(named).toEqual([]);
    expect(loops).toHaveLength(1);
    expect(loops[0]).toMatchObject({ fed: ['CP'], feeds: 'good' });
    expect(loops[0]!.loop.rings[0]!.places).toEqual([{ kind: 'break', net: 'W', stage: 'M/line' }]);
  });

  test('points outside when what feeds it is bad, and is none when something in it looks good', () => {
    const fed = answer(LOOP, { CP: 'bad', W: 'bad', R: 'bad', BACK: 'bad' });
    expect(fed.loops[0]!.feeds).toBe('bad');
    expect(names(fed.named)).toEqual(['M/clock']);
    const opened = answer(LOOP, { CP: 'good', W: 'good', R: 'bad', BACK: 'bad' });
    expect(opened.loops).toEqual([]);
    expect(names(opened.named)).toEqual(['M/line']);
  });
});

describe('over a traced circuit', () => {
  const machine = sampleCircuit(
    [...inverterLines(1, 'IN', 'MID'), ...inverterLines(2, 'MID', 'OUT'), 'D9 a=AUX k=OUT'],
    {
      driven: ['IN', 'AUX'],
    },
  );
  const told = (looks: Record<string, Look>) =>
    goodInputsBadOutput(machine, signalFlow(machine), new Map([['s', new Map(Object.entries(looks))]]), []);

  test('a base that was not read is looked through', () => {
    expect(names(told({ IN: 'good', MID: 'bad' }).named)).toEqual(['B/Q1']);
  });

  test('what else acts on the output must look good, too', () => {
    expect(told({ MID: 'good', OUT: 'bad' }).named).toEqual([]);
    expect(told({ MID: 'good', OUT: 'bad' }).open[0]!.unread).toEqual(['AUX']);
    expect(told({ MID: 'good', AUX: 'bad', OUT: 'bad' }).named).not.toContainEqual(
      expect.objectContaining({ net: 'OUT' }),
    );
  });

  test('a bad supply excuses the stages that hang on it', () => {
    const fed = told({ MID: 'good', AUX: 'good', OUT: 'bad', '-12V': 'bad' });
    expect(names(fed.named)).toEqual(['-12V']);
  });
});
