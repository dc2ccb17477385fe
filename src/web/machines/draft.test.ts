import { describe, expect, it } from 'vitest';
import { type Draft, EMPTY_BOARD, EMPTY_DRAFT, newMachineOf } from './draft.ts';

const DRAFT: Draft = {
  ...EMPTY_DRAFT,
  name: 'Ferry turnstile',
  rails: [
    { net: '-12V', volts: '−12,5' },
    { net: '', volts: '' },
  ],
  units: [
    { id: 'town', health: 'healthy' },
    { id: 'island', health: 'faulty' },
  ],
  boards: [
    { ...EMPTY_BOARD, name: 'COUNT', contacts: '1-3 -12V', testPoints: 'TP1', inputs: '1', outputs: 'TENS' },
  ],
};

function troubles(draft: Draft): Readonly<Record<string, string>> {
  const made = newMachineOf(draft);
  return 'troubles' in made ? Object.fromEntries(made.troubles) : {};
}

describe('a machine from nothing', () => {
  it('is what was typed, without the rows that were left empty', () => {
    expect(newMachineOf(DRAFT)).toEqual({
      machine: {
        name: 'Ferry turnstile',
        reference: '0V',
        rails: [{ net: '-12V', volts: -12.5 }],
        units: DRAFT.units,
        boards: [
          {
            name: 'COUNT',
            pins: ['1=COUNT.1', '2=COUNT.2', '3=COUNT.3', '4=-12V'],
            testPoints: ['TP1'],
            inputs: ['COUNT.1'],
            outputs: ['TENS'],
          },
        ],
        states: [{ name: 'at rest', steps: 'Switch on, touch nothing.' }],
      },
    });
  });

  it('needs a name, a unit, a board with something to read, and a state', () => {
    expect(Object.keys(troubles({ ...EMPTY_DRAFT, states: [] }))).toEqual([
      'name',
      'units.0.id',
      'boards.0.name',
      'states.0.name',
    ]);
    expect(troubles({ ...DRAFT, boards: [{ ...EMPTY_BOARD, name: 'COUNT' }] })).toHaveProperty([
      'boards.0.contacts',
    ]);
  });

  it('says of each field what is wrong in it', () => {
    expect(troubles({ ...DRAFT, rails: [{ net: '-12V', volts: '-12x' }] })).toHaveProperty(['rails.0.volts']);
    expect(troubles({ ...DRAFT, boards: [{ ...DRAFT.boards[0]!, name: 'A/B' }] })).toHaveProperty([
      'boards.0.name',
    ]);
    expect(troubles({ ...DRAFT, units: [DRAFT.units[0]!, DRAFT.units[0]!] })).toHaveProperty(['units.1.id']);
  });
});
