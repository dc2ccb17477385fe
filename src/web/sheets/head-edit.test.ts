import { describe, expect, it } from 'vitest';
import { HEAD_LISTS, listCells, withEntries, withoutEntries, withText } from './head-edit.ts';

const [RAILS, UNITS] = HEAD_LISTS as [(typeof HEAD_LISTS)[number], (typeof HEAD_LISTS)[number]];
const HEAD = { name: 'till', shelf: 3, rails: [{ net: '-12V', volts: -12, colour: 'red' }], units: [] };

describe('machine.json in cells', () => {
  it('shows the entries of a list, and writes numbers as numbers and unknown fields as they were', () => {
    expect(listCells(HEAD, RAILS)).toEqual([{ net: '-12V', volts: '-12', tolerance: '' }]);
    const written = withEntries(HEAD, RAILS, [
      { at: 0, cells: { volts: '-12,5' } },
      { at: 1, cells: { net: '+6V' } },
    ]);
    expect(written).toEqual({
      ...HEAD,
      rails: [{ net: '-12V', volts: -12.5, colour: 'red' }, { net: '+6V' }],
    });
  });

  it('keeps what is no number as it was typed, so that the checks can say so', () => {
    expect(withEntries(HEAD, RAILS, [{ at: 0, cells: { volts: 'twelve' } }]).rails).toMatchObject([
      { volts: 'twelve' },
    ]);
    expect(withText(HEAD, 'ambient', '21')).toMatchObject({ ambient: 21 });
    expect(withText({ ...HEAD, ambient: 21 }, 'ambient', '')).toEqual(HEAD);
  });

  it('a new unit is neither healthy nor faulty until somebody says so', () => {
    expect(withEntries(HEAD, UNITS, [{ at: 0, cells: { id: 'east' } }]).units).toEqual([
      { id: 'east', health: 'unknown' },
    ]);
  });

  it('entries are taken out by their place', () => {
    const three = { rails: [{ net: 'a' }, { net: 'b' }, { net: 'c' }] };
    expect(withoutEntries(three, RAILS, 0, 1)).toEqual({ rails: [{ net: 'c' }] });
  });
});
