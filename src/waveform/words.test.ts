import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  COMMON_TRIGGER,
  inTimeOfFirst,
  type LogicTrace,
  logicEdges,
  logicTrace,
  stateAt,
  stateDifferences,
  type Trace,
  type WordFrame,
  wordComparison,
  words,
} from './index.ts';

/** A line with a state a cell of `period` seconds from `start`. */
function line(cells: string, period = 1, start = 0): LogicTrace {
  const changes = [...cells]
    .map((state, k) => ({ state, k }))
    .filter(({ state, k }) => state !== cells[k - 1]);
  return {
    name: 'L',
    width: 1,
    instants: Float64Array.from(changes, ({ k }) => start + k * period),
    states: changes.map(({ state }) => state),
    end: start + cells.length * period,
  };
}

function analogue(values: readonly number[]): Trace {
  return { name: 'A', unit: 'V', timebase: { start: 0, step: 1 }, values: Float32Array.from(values) };
}

const cell = fc.constantFrom('0', '1');
const frame: WordFrame = {
  timing: { period: 1 },
  start: 0,
  length: 4,
  order: 'least significant first',
};

describe('a logic trace', () => {
  it('of pulses has their states, changed at the mid instants', () => {
    const values = [0, 0, 0, 2, 4, 4, 4, 4, 2, 0, 0, 0];
    const { states, instants, end } = logicTrace(analogue(values), { levels: { low: 0, high: 4 } });
    expect(states).toEqual(['0', '1', '0']);
    expect([...instants]).toEqual([0, 3, 8]);
    expect(end).toBe(11);
    expect(logicTrace(analogue(values), { sense: 'negative' }).states).toEqual(['1', '0', '1']);
  });

  it('is unknown in gaps, and where it has one level only', () => {
    const values = [0, 0, 4, 4, Number.NaN, Number.NaN, 0, 0, 4, 4, 0, 0];
    const { states, instants } = logicTrace(analogue(values));
    expect(states).toEqual(['0', '1', 'x', '0', '1', '0']);
    expect([...instants]).toEqual([0, 1.5, 4, 6, 7.5, 9.5]);
    expect(logicTrace(analogue([5, 5, 5])).states).toEqual(['x']);
    expect(logicTrace(analogue([5, 5, 5]), { levels: { low: 0, high: 5 } }).states).toEqual(['1']);
    expect(logicTrace(analogue([])).states).toEqual([]);
  });

  it('does not change for noise within the hysteresis', () => {
    const { states } = logicTrace(analogue([0, 0, 0.5, 2.1, 1.9, 2.2, 4, 4, 4, 3.6, 4, 0, 0]), {
      hysteresis: 0.3,
    });
    expect(states).toEqual(['0', '1', '0']);
  });

  it('holds a state from its instant to before the next, and is unknown outside', () => {
    const trace = line('0110z');
    expect([-1, 0, 0.9, 1, 2.9, 3, 4.5, 5.1].map((t) => stateAt(trace, t)).join('')).toBe('x00110zx');
  });

  it('has edges between 0 and 1 only', () => {
    const trace = line('0x10z101');
    expect([...logicEdges(trace, 'rising')]).toEqual([7]);
    expect([...logicEdges(trace, 'falling')]).toEqual([3, 6]);
    const bus = { ...trace, width: 2, instants: Float64Array.of(0, 1, 2), states: ['00', '10', '11'] };
    expect([...logicEdges(bus, 'rising', 1)]).toEqual([1]);
    expect(() => logicEdges(bus, 'rising', 2)).toThrow(/bit 2 of a trace of 2/);
  });
});

describe('words', () => {
  it('come back as they were sent, in either order and for any period', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(cell, { minLength: 5, maxLength: 5 }), { minLength: 1, maxLength: 12 }),
        fc.double({ min: 1e-6, max: 3, noNaN: true }),
        fc.boolean(),
        (sent, period, first) => {
          const order = first ? 'least significant first' : 'most significant first';
          const inTime = sent.map((bits) => (first ? bits.toReversed() : bits).join('')).join('');
          const read = words(line(inTime, period, 7), { timing: { period }, start: 7, length: 5, order });
          expect(read.map(({ bits }) => bits)).toEqual(sent.map((bits) => bits.join('')));
        },
      ),
    );
  });

  it('are read at the edges of a clock, wherever these are', () => {
    const data = line('0011101');
    const clock = line('01010101010101', 0.5, 0.1);
    const timing = { clock, edge: 'rising' as const };
    const [first, ...more] = words(data, { ...frame, timing, length: 3, order: 'most significant first' });
    expect(first!.bits).toBe('001');
    expect([...first!.instants].map((t) => Math.round(10 * t) / 10)).toEqual([0.6, 1.6, 2.6]);
    expect(more.map(({ bits }) => bits)).toEqual(['110']);
  });

  it('of a bus, or without length or period, are refused', () => {
    expect(() => words({ ...line('01'), width: 2 }, frame)).toThrow(/2 bits wide/);
    expect(() => words(line('01'), { ...frame, length: 0 })).toThrow(/length 0/);
    expect(() => words(line('01'), { ...frame, timing: { period: 0 } })).toThrow(/period 0/);
  });
});

describe('a comparison of words', () => {
  it('names the first bit that differs, with its instants', () => {
    const first = line('010011001010');
    const second = line('010011101011', 1.01, 50);
    const {
      differences,
      undecided,
      words: count,
    } = wordComparison(first, second, frame, {
      ...frame,
      start: 50,
      timing: { period: 1.01 },
    });
    expect(count).toBe(3);
    expect(undecided).toBe(0);
    expect(differences).toHaveLength(2);
    expect(differences[0]).toMatchObject({ word: 1, bit: 2, instant: 6.5, first: '0', second: '1' });
    expect(differences[0]!.secondInstant).toBeCloseTo(50 + 6.5 * 1.01, 9);
    expect(differences[1]).toMatchObject({ word: 2, bit: 3 });
  });

  it('finds exactly the bits that were changed', () => {
    fc.assert(
      fc.property(
        fc.array(cell, { minLength: 32, maxLength: 32 }),
        fc.uniqueArray(fc.nat(31), { maxLength: 6 }),
        fc.double({ min: -5, max: 5, noNaN: true }),
        fc.double({ min: 0.99, max: 1.01, noNaN: true }),
        (cells, changed, offset, rate) => {
          const faulty = cells.map((c, k) => (changed.includes(k) ? (c === '1' ? '0' : '1') : c));
          const map = { offset, rate };
          const second = line(faulty.join(''), rate, offset);
          const { differences } = wordComparison(line(cells.join('')), second, frame, map);
          expect(differences.map(({ word, bit }) => 4 * word + bit)).toEqual(changed.sort((a, b) => a - b));
        },
      ),
    );
  });

  it('holds x for anything, and z for itself alone', () => {
    const { differences, undecided } = wordComparison(line('0x1z01zz'), line('xx1z0z10'), frame);
    expect(undecided).toBe(2);
    expect(differences.map(({ word, bit }) => [word, bit])).toEqual([
      [1, 1],
      [1, 2],
      [1, 3],
    ]);
  });

  it("takes the first one's clock over into the second one's time", () => {
    const clock = line('0101010101010101', 0.5, 0.2);
    const timing = { clock, edge: 'rising' as const };
    const second = line('01001101', 1.005, 12);
    const compared = wordComparison(
      line('01001100'),
      second,
      { ...frame, timing },
      { offset: 12, rate: 1.005 },
    );
    expect(compared.words).toBe(2);
    expect(compared.differences).toMatchObject([{ word: 1, bit: 3 }]);
  });
});

describe('states of two logic traces', () => {
  it('differ where they do so for longer than the tolerance', () => {
    const [first, second] = [line('00111100'), line('00011000')];
    expect(stateDifferences(first, second, COMMON_TRIGGER, 0.5)).toEqual([
      { from: 2, to: 3, first: '1', second: '0' },
      { from: 5, to: 6, first: '1', second: '0' },
    ]);
    expect(stateDifferences(first, second, COMMON_TRIGGER, 1)).toEqual([]);
    expect(stateDifferences(first, line('00xxxx00'), COMMON_TRIGGER, 0)).toEqual([]);
  });

  it('of one trace in another time do not differ once the time is brought back', () => {
    const first = line('001101');
    const second = line('001101', 1.01, 3);
    expect(stateDifferences(first, second, { offset: 3, rate: 1.01 }, 1e-9)).toEqual([]);
    expect(inTimeOfFirst(second, { offset: 3, rate: 1.01 }).end).toBeCloseTo(6, 12);
    expect(() => stateDifferences(first, { ...first, width: 2 }, COMMON_TRIGGER, 0)).toThrow(/1 bits, L 2/);
  });
});
