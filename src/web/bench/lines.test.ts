import { describe, expect, it } from 'vitest';
import type { SuspectsView, SuspectView } from '../../server/index.ts';
import { suspectLines } from './lines.ts';

function view(
  shares: Readonly<Record<string, number>>,
  unexplained = 0.02,
  sound = 0,
  others = 0,
): SuspectsView {
  const suspects = Object.entries(shares).map(
    ([key, probability]): SuspectView => ({
      key,
      parts: [key],
      modes: ['open'],
      words: 'open',
      severity: '',
      probability,
      reasons: [],
      indistinct: [],
      confirm: [],
    }),
  );
  const rest = 1 - unexplained - sound - suspects.reduce((sum, { probability }) => sum + probability, 0);
  return {
    revision: 1,
    unit: 'east',
    preview: null,
    table: { state: 'ready', done: 0, total: 0, message: '' },
    suspects,
    others: { count: others, probability: rest },
    unexplained,
    sound,
    group: [],
    setAside: [],
    drawing: [],
    notes: [],
    next: [],
  };
}

const NOW = view({ Q5: 0.4, R14: 0.3, R12: 0.1, D3: 0.08, Q2: 0.05 }, 0.02, 0, 7);

describe('the lines of the ranking', () => {
  it('add up to one whole, now and with the value in the field', () => {
    const then = view({ R14: 0.9, Q5: 0.05, C1: 0.02 }, 0.01);
    for (const most of [1, 4, 12]) {
      const lines = suspectLines(NOW, then, most);
      expect(lines.reduce((sum, { now }) => sum + now, 0)).toBeCloseTo(1);
      expect(lines.reduce((sum, { after }) => sum + after!, 0)).toBeCloseTo(1, 4);
    }
  });

  it('keep the order of what is on record, whatever the preview makes of it', () => {
    const keys = suspectLines(NOW, view({ D3: 0.97 }), 4).map(({ key }) => key);
    expect(keys).toEqual(['Q5', 'R14', 'R12', 'D3', 'others', 'none']);
  });

  it('count the others, and name whoever would lead from among them', () => {
    expect(suspectLines(NOW, undefined, 4).find(({ key }) => key === 'others')!.text).toBe('8 others');
    const lines = suspectLines(NOW, view({ Q2: 0.9 }), 4);
    expect(lines.find(({ key }) => key === 'others')!.text).toBe('8 others, first Q2');
  });

  it('begin with none of these where that is the likeliest', () => {
    expect(suspectLines(view({ Q5: 0.1 }, 0.8), undefined, 4)[0]!.key).toBe('none');
  });

  it('say that nothing is wrong where that may be', () => {
    expect(suspectLines(view({ Q5: 0.1 }, 0.1, 0.7), undefined, 4).map(({ key }) => key)).toContain('sound');
    expect(suspectLines(NOW, undefined, 4).map(({ key }) => key)).not.toContain('sound');
  });
});
