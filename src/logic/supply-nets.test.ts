import { expect, test } from 'vitest';
import { sampleCircuit } from './sample-circuit.ts';
import { supplyNets } from './supply-nets.ts';

/** What is made of the rails, in the order of their making. */
const made = (lines: string) =>
  [...supplyNets(sampleCircuit(lines))].filter(([, order]) => order > 0).map(([net]) => net);

test('a supply goes through a fuse, and through switch and choke to a reservoir', () => {
  expect(made('FS1 1 1=-12V 2=A\nR1 1000 1=A 2=OUT')).toEqual(['A']);
  expect(made('FS1 1 1=-12V 2=A\nS1 1=A 2=B\nL1 0.1 1=B 2=C\nC1 1e-4 1=0V 2=C\nR1 1000 1=C 2=OUT')).toEqual([
    'A',
    'B',
    'C',
  ]);
});

test('a key that joins a signal to a rail makes no supply of it', () => {
  expect(made('S1 1=0V 2=KEY\nR1 2200 1=KEY 2=-12V\nR2 33000 1=KEY 2=b1\nQ1 PN e=0V b=b1 c=OUT')).toEqual([]);
});

test('a filter that feeds two collectors and their bases is a supply; its first resistor leads to the rail', () => {
  const stages = 'R2 3300 1=F 2=c1\nR3 56000 1=F 2=b1\nR4 3300 1=F 2=c2';
  expect(made(`R1 330 1=-12V 2=F\nC1 1e-4 1=0V 2=F\n${stages}`)).toEqual(['F']);
  expect(made(`R1 330 1=-12V 2=F\nC1 1e-8 1=0V 2=F\n${stages}`)).toEqual([]);
});

test('an emitter with its bypass capacitor, and a base with a slow capacitor, are none', () => {
  expect(made('Q1 PN e=E b=B c=C\nR1 1000 1=E 2=0V\nC1 47u 1=0V 2=E'.replace('47u', '4.7e-5'))).toEqual([]);
  expect(
    made('Q1 PN e=0V b=B c=C\nC1 1e-4 1=0V 2=B\nR1 1000 1=B 2=X\nR2 1000 1=B 2=Y\nR3 1000 1=B 2=Z'),
  ).toEqual([]);
});

test('a slow capacitor between two stages is none, though it is fed through a resistor and feeds one', () => {
  expect(
    made('Q1 PN e=0V b=A c=N\nR1 3300 1=N 2=-12V\nC1 1e-4 1=0V 2=N\nR2 6800 1=N 2=b2\nQ2 PN e=0V b=b2 c=OUT'),
  ).toEqual([]);
});

test('a zener with its resistor holds a reference', () => {
  expect(made('Z1 6 a=REF k=0V\nR1 1000 1=REF 2=-12V\nQ1 PN e=REF b=B c=C')).toEqual(['REF']);
});
