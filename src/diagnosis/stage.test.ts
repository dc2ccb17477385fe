import { describe, expect, it } from 'vitest';
import { readMachine } from '../machine/index.ts';
import { flowOf, loopsOf } from './stage.ts';

/** An untraced board whose stages somebody has drawn: from A to B, round between B and C, and on to D. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'ticket counter',
    reference: '0V',
    rails: [],
    units: [{ id: 'east', health: 'healthy' }],
  }),
  'parts.csv': 'board,ref,kind,type,value,tolerance,pins\nX,J1,connector,,,,1=A 2=B 3=C 4=D 5=0V\n',
  'flow.csv': 'board,stage,inputs,outputs,breaks\nX,gate,A C,B,\nX,store,B,C,C\nX,driver,C,D,\n',
};

describe('loops of stages', () => {
  it('hold the stages that feed themselves, and none that only stands before or behind', () => {
    const bytes = new Map(
      Object.entries(FILES).map(([name, text]) => [name, new TextEncoder().encode(text)]),
    );
    const { machine } = readMachine(bytes);
    const loops = loopsOf(flowOf(machine!));
    expect(loops.map((loop) => loop.map(({ name }) => name))).toEqual([['X/gate', 'X/store']]);
    expect(loops[0]!.map(({ breaks }) => breaks)).toEqual(['', 'C']);
  });
});
