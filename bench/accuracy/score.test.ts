import { describe, expect, it } from 'vitest';
import { trialBoard } from './boards/index.ts';
import { score } from './score.ts';
import { benchOf } from './trial.ts';

describe('one fault of a trial', () => {
  // Once missed for a resistor that was drawn six spreads of its severity away.
  it('is first on board DAC', { timeout: 120_000 }, () => {
    expect(score(benchOf(trialBoard('DAC')), 'all', 'all', 33).right).toBe(true);
  });
});

describe('two faults of a trial', () => {
  // Cases that were once missed: a single fault that only looked likely as long as it was not weighed, and a second one whose move is
  // small beside the first's.
  it.each([
    ['AMP', [25]],
    ['REG', [23]],
  ] as const)('are both among the first four on board %s', { timeout: 120_000 }, (name, trials) => {
    const bench = benchOf(trialBoard(name));
    for (const number of trials) expect(score(bench, 'double', 'all', number).right, `${number}`).toBe(true);
  });
});
