import { describe, expect, it } from 'vitest';
import type { Difference } from '../../waveform/index.ts';
import { alignmentWords, bitSentence, comparisonSentence, differenceSentence } from './sentences.ts';

const AT = { from: 16.6e-6, to: 28.6e-6, volts: 6.04, meanVolts: 5.9 };

describe('a difference', () => {
  it.each<[Partial<Difference> & Pick<Difference, 'kind'>, string]>([
    [{ kind: 'level' }, 'At +16.6 µs South lies 5.9 V higher, for 12 µs.'],
    [{ kind: 'level', meanVolts: -5.9 }, 'At +16.6 µs South lies 5.9 V lower, for 12 µs.'],
    [{ kind: 'timing', seconds: 2e-6 }, 'At +16.6 µs an edge of South is 2 µs late.'],
    [{ kind: 'timing', seconds: -2e-6 }, 'At +16.6 µs an edge of South is 2 µs early.'],
    [{ kind: 'missing pulse' }, 'At +16.6 µs an edge is missing in South: it is 6.04 V off, for 12 µs.'],
    [{ kind: 'extra pulse' }, 'At +16.6 µs South has an edge too many: it is 6.04 V off, for 12 µs.'],
    [{ kind: 'shape' }, 'At +16.6 µs South has another shape: up to 6.04 V off, for 12 µs.'],
  ])('of kind %o is named with place and size', (part, words) => {
    expect(differenceSentence({ ...AT, ...part }, 'South', 'V')).toBe(words);
  });

  it('there is none within the tolerances, which are named', () => {
    const found = {
      differences: [],
      count: 0,
      from: 0,
      to: 1,
      rms: 0,
      amplitudeTolerance: 0.05,
      timingTolerance: 2e-7,
    };
    expect(comparisonSentence(found, 'North', 'South', 'V')).toBe(
      'South goes with North all along, within 50 mV and 200 ns.',
    );
  });

  it('of words is named by word, bit and time', () => {
    const bit = { word: 2, bit: 0, instant: 1e-3, secondInstant: 1e-3, first: '0', second: '1' };
    expect(bitSentence(bit, 'South', 8)).toBe(
      'In word 3, bit 0, the least significant, at +1 ms South has 1 in place of 0.',
    );
  });
});

it('how a capture was laid on the other says by how much, how well, and whether it could be otherwise', () => {
  const found = {
    map: { offset: 3e-6, rate: 1.002 },
    offsetUncertainty: 1e-8,
    rateUncertainty: 1e-5,
    likeness: 0.98,
  };
  expect(alignmentWords({ ...found, rival: 1e-4 })).toBe(
    'moved by +3 µs ± 10 ns; clock 0.200 ± 0.0010 % slower; 98 % alike; +100 µs would fit nearly as well',
  );
});
