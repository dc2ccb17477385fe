import { expect, test } from 'vitest';
import { inverterLines, sampleCircuit } from './sample-circuit.ts';
import { signalFlow } from './signal-flow.ts';
import { wayBack } from './way-back.ts';

test('the way back names every net that acts on a point once, the nearest first, and ends outside', () => {
  const lines = [
    ...inverterLines(1, 'IN', 'MID'),
    ...inverterLines(2, 'MID', 'OUT'),
    'R9 22000 1=OUT 2=b1',
    'J1 1=IN',
  ];
  const steps = wayBack(signalFlow(sampleCircuit(lines)), 'OUT');
  expect(steps.map(({ depth, net }) => `${depth} ${net}`)).toEqual([
    '0 OUT',
    '1 b2',
    '2 MID',
    '3 b1',
    '4 IN',
  ]);
  expect(steps.at(-1)!.drives).toMatchObject([{ way: 'outside', by: 'B/J1.1', from: [] }]);
});

test('a supply ends the way, but is followed back itself', () => {
  const flow = signalFlow(
    sampleCircuit('FS1 1 1=-12V 2=F\nR1 1000 1=F 2=A\nR2 1000 1=A 2=0V\nQ1 PN e=E b=A c=-12V'),
  );
  expect(wayBack(flow, 'E').map(({ net }) => net)).toEqual(['E', 'A', 'F']);
  expect(wayBack(flow, 'F').map(({ net }) => net)).toEqual(['F', '-12V']);
});
