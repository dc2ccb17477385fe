import { describe, expect, it } from 'vitest';
import type { ReasonView, SuspectView } from '../../server/index.ts';
import { offsOf, weighed, whySentences } from './reasons.ts';

function reason(point: string, value: number, sound: number, fault: number, weight: number): ReasonView {
  return { state: 'held', point, value, sound, soundSigma: 0.2, fault, faultSigma: 0.1, weight };
}

function suspect(...reasons: ReasonView[]): SuspectView {
  return {
    key: 'SUM/Q5:short-ce',
    parts: ['SUM/Q5'],
    modes: ['short-ce'],
    words: 'short, collector to emitter',
    severity: '',
    probability: 0.9,
    reasons,
    indistinct: [],
    confirm: [],
  };
}

describe('why a suspect is one', () => {
  it('is its strongest reading, beside what a sound unit and what the fault would show', () => {
    const one = suspect(reason('Q6.b', 0.83, -0.27, 0.8, 3), reason('Q5.c', -0.06, -6.15, -0.05, 14));
    expect(whySentences(one, 'held')).toEqual([
      'Q5.c reads −0.06 V: a sound unit would read −6.15, this fault −0.05.',
      'One more reading speaks for it.',
    ]);
  });

  it('names the state where it is another than the one shown', () => {
    const one = suspect(reason('Q5.c', -0.06, -6.15, -0.05, 14));
    expect(whySentences(one, 'free')[0]).toContain('−0.06 V in held');
  });

  it('says what speaks against it', () => {
    const one = suspect(reason('Q5.c', -0.06, -6.15, -0.05, 14), reason('Q9.b', -1.6, -1.6, -2.6, -9));
    expect(whySentences(one, 'held').at(-1)).toBe(
      'Against it: Q9.b reads −1.60 V, 10 spreads from what this fault would show.',
    );
  });

  it('is silent about a reading that the fault would show, too', () => {
    const one = suspect(reason('Q5.c', -0.06, -6.15, -0.05, 14), reason('Q9.b', -1.6, -1.6, -1.6, -2));
    expect(whySentences(one, 'held')).toHaveLength(1);
  });

  it('is the kind of part alone where no reading speaks for it', () => {
    expect(whySentences(suspect(reason('Q1.b', 0, 0, 0, 0.1)), 'held')).toEqual([
      'No reading speaks for it yet; it is here because such parts fail.',
    ]);
  });
});

describe('reasons', () => {
  it('are off by so many spreads of each side', () => {
    expect(offsOf(reason('Q5.c', -0.05, -6.05, -0.15, 1))).toEqual({
      sound: expect.closeTo(30),
      fault: expect.closeTo(1),
    });
  });

  it('of hardly any weight are neither for nor against', () => {
    const { for: pro, against } = weighed([
      reason('A', 0, 0, 0, 0.2),
      reason('B', 0, 0, 0, -0.2),
      reason('C', 0, 0, 0, 2),
    ]);
    expect(pro.map(({ point }) => point)).toEqual(['C']);
    expect(against).toEqual([]);
  });
});
