import { describe, expect, it } from 'vitest';
import type { CaptureChannel, CaptureEntry, MachineView } from '../../server/index.ts';
import { offered, pairs, triggered, twinsOf } from './sides.ts';

const MACHINE = {
  units: [
    { id: 'east', health: 'healthy' },
    { id: 'west', health: 'faulty' },
  ],
} as unknown as MachineView;

function channel(index: number, name: string, point: string): CaptureChannel {
  const facts = { unit: 'V', width: 0, samples: 10, step: 1, min: 0, max: 1 };
  return { ...facts, index, name, point, kind: 'trace', start: -1, end: 1 };
}

function capture(id: number, unit: string, state: string, channels: readonly CaptureChannel[]): CaptureEntry {
  const facts = { version: 1, file: `${id}.csv`, size: 1, takenAt: '', instrument: '', note: '' };
  return { ...facts, id, kind: 'text', unit, state, channels };
}

const WEST = capture(1, 'west', 'counting', [channel(0, 'CH1', 'Q4.c'), channel(1, 'CH2', 'Q5.c')]);
const EAST = capture(2, 'east', 'counting', [channel(0, 'CH1', 'Q5.c'), channel(1, 'CH2', 'Q4.c')]);

describe('channels of two captures', () => {
  it('belong together by their points, whatever they are called', () => {
    expect(pairs(EAST, WEST)).toEqual([
      { reference: 0, other: 1 },
      { reference: 1, other: 0 },
    ]);
  });

  it('belong together by name, then by place, where no point is said', () => {
    const one = capture(3, '', '', [channel(0, 'A', ''), channel(1, '', '')]);
    const two = capture(4, '', '', [channel(0, 'x', ''), channel(1, '', ''), channel(2, 'A', '')]);
    expect(pairs(one, two)).toEqual([
      { reference: 0, other: 2 },
      { reference: 1, other: 1 },
    ]);
  });

  it('are left alone where their points differ', () => {
    expect(pairs(WEST, capture(5, 'east', '', [channel(0, 'CH1', 'Q9.c')]))).toEqual([]);
  });
});

describe('the twin', () => {
  const elsewhere = capture(6, 'east', 'cleared', EAST.channels);
  const other = capture(7, 'east', 'counting', [channel(0, 'CH1', 'Q9.c')]);

  it('is offered by itself in the same state with a point in common', () => {
    expect(offered(WEST, [elsewhere, other, WEST, EAST], MACHINE)?.id).toBe(2);
    expect(offered(WEST, [elsewhere, other, WEST], MACHINE)).toBeUndefined();
  });

  it('may be chosen from all others, the likeliest first', () => {
    const own = capture(8, 'west', 'counting', WEST.channels);
    const order = twinsOf(WEST, [elsewhere, own, other, WEST, EAST], MACHINE).map(({ id }) => id);
    expect(order).toEqual([2, 8, 7, 6]);
  });
});

it('a trigger is common where both captures have it inside', () => {
  const late = capture(9, 'east', 'counting', [{ ...channel(0, 'CH1', ''), start: 0 }]);
  expect([triggered(WEST, EAST), triggered(WEST, late)]).toEqual([true, false]);
});
