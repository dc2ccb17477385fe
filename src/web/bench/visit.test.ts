import { describe, expect, it } from 'vitest';
import { meterSigma } from './meter.ts';
import { spokenPoint } from './speech.ts';
import { changed, type Visit } from './visit.ts';

describe('the meter', () => {
  const instruments = [{ id: 'meter A', ohms: 1e7, gain: 0.5, random: 1.2, volts: 0.005 }];

  it('is off by gain, by chance and by a fixed part, as root of squares', () => {
    expect(meterSigma({ instruments }, 'meter A', -10)).toBeCloseTo(Math.hypot(0.05, 0.12, 0.005));
  });

  it('that is not known is off by one percent and ten millivolts', () => {
    expect(meterSigma({ instruments }, undefined, -10)).toBeCloseTo(0.11);
    expect(meterSigma({ instruments }, 'lost', undefined)).toBeCloseTo(0.01);
  });
});

describe('a point aloud', () => {
  it.each([
    ['ADD/Q5.c', 'A D D, Q 5, collector'],
    ['TAL/D12.k', 'T A L, D 12, cathode'],
    ['BUS/J1.14', 'B U S, J 1, pin 14'],
    ['-12V', 'minus 12 V'],
  ])('%s is %s', (point, words) => {
    expect(spokenPoint(point)).toBe(words);
  });
});

describe('a visit', () => {
  const fresh: Visit = { letters: new Map(), unreachable: new Set(), confirmed: new Set(), taken: [] };

  it('remembers what cannot be reached until it is said again', () => {
    const once = changed(fresh, { kind: 'unreachable', point: 'Q1.b' });
    expect([...once.unreachable]).toEqual(['Q1.b']);
    expect([...changed(once, { kind: 'unreachable', point: 'Q1.b' }).unreachable]).toEqual([]);
  });

  it('takes back the last reading first', () => {
    const two = [1, 2].reduce(
      (visit, reading) => changed(visit, { kind: 'taken', reading, unit: 'east', point: 'Q1.b' }),
      fresh,
    );
    expect(two.taken.at(-1)!.reading).toBe(2);
    expect(changed(two, { kind: 'withdrawn', reading: 2 }).taken.map(({ reading }) => reading)).toEqual([1]);
  });

  it('is the same when a ranking brings nobody new', () => {
    const ranked = changed(fresh, { kind: 'ranked', keys: ['a', 'b'] });
    expect(changed(ranked, { kind: 'ranked', keys: ['b', 'a'] })).toBe(ranked);
  });
});
