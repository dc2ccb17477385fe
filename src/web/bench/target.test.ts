import { describe, expect, it } from 'vitest';
import type { BenchRow, MachineView, NextView, PointView } from '../../server/index.ts';
import { type Asked, targetOf } from './target.ts';

function point(name: string, gated = false): PointView {
  return {
    point: name,
    net: name,
    board: '',
    group: '',
    minutes: 1,
    note: '',
    caution: '',
    gated,
    family: 0,
  };
}

const MACHINE = {
  families: [
    {
      from: -12,
      to: 0,
      rails: [
        { net: '-12V', volts: -12 },
        { net: 'MAIN', volts: 0 },
      ],
    },
  ],
  points: [point('MAIN', true), point('Q1.b'), point('-12V'), point('Q1.c')],
} as unknown as MachineView;

function next(name: string, state = 'held'): NextView {
  return { state, point: name, bits: 1, minutes: 1, caution: '', shows: [] };
}

function asked(change: Partial<Asked> = {}): Asked {
  return {
    machine: MACHINE,
    state: 'held',
    rows: [],
    next: [],
    unreachable: new Set(),
    chosen: undefined,
    steps: 0,
    ...change,
  };
}

const read = (name: string) => ({ point: name, reading: { value: 1 } }) as unknown as BenchRow;

describe('what is asked for', () => {
  it('is the best next reading', () => {
    expect(targetOf(asked({ next: [next('Q1.c'), next('Q1.b')] }))).toMatchObject({
      point: { point: 'Q1.c' },
      change: false,
      label: 'Touch next',
    });
  });

  it('asks for another state first where the reading is in another state', () => {
    expect(targetOf(asked({ next: [next('Q1.c', 'free')] }))).toMatchObject({ state: 'free', change: true });
  });

  it('is in the state that was chosen by hand, until something has been read in it', () => {
    const two = [next('Q1.c', 'free'), next('Q1.b')];
    expect(targetOf(asked({ next: two, stay: true }))).toMatchObject({
      point: { point: 'Q1.b' },
      change: false,
    });
    expect(targetOf(asked({ next: [two[0]!], stay: true }))).toMatchObject({
      point: { point: '-12V' },
      state: 'held',
      change: false,
    });
  });

  it('is what was chosen by hand, in the state that the machine is in', () => {
    expect(targetOf(asked({ chosen: 'Q1.b', next: [next('Q1.c', 'free')] }))).toMatchObject({
      point: { point: 'Q1.b' },
      state: 'held',
      change: false,
    });
  });

  it('leaves for last what cannot be reached', () => {
    const two = [next('Q1.c'), next('Q1.b')];
    expect(targetOf(asked({ next: two, unreachable: new Set(['Q1.c']) }))!.point.point).toBe('Q1.b');
    const none = new Set(['Q1.c', 'Q1.b']);
    expect(targetOf(asked({ next: two, unreachable: none }))!.label).toBe('Touch next, if it can be reached');
  });

  it('steps on to the next best and round again', () => {
    const two = [next('Q1.c'), next('Q1.b')];
    expect([0, 1, 2].map((steps) => targetOf(asked({ next: two, steps }))!.point.point)).toEqual([
      'Q1.c',
      'Q1.b',
      'Q1.c',
    ]);
  });

  it('without an answer begins with a rail that is not dangerous, then goes by signal order', () => {
    expect(targetOf(asked())).toMatchObject({ point: { point: '-12V' }, label: 'Begin with' });
    expect(targetOf(asked({ rows: [read('-12V')] }))).toMatchObject({
      point: { point: 'Q1.b' },
      label: 'Not read yet',
    });
    expect(targetOf(asked({ rows: [read('-12V'), read('Q1.b'), read('Q1.c')] }))!.point.point).toBe('MAIN');
  });

  it('without an answer begins with a rail that has no caution, where there is one', () => {
    const points = [{ ...point('-12V'), caution: 'the reservoir holds its charge' }, point('MAIN')];
    expect(targetOf(asked({ machine: { ...MACHINE, points } }))!.point.point).toBe('MAIN');
  });

  it('does not ask again for what has just been read', () => {
    expect(targetOf(asked({ taken: new Set(['-12V']) }))!.point.point).toBe('Q1.b');
  });

  it('is nothing where the machine has no point', () => {
    expect(targetOf(asked({ machine: { ...MACHINE, points: [] } }))).toBeUndefined();
  });
});
