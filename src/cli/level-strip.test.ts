import { describe, expect, it } from 'vitest';
import type { Axis } from './axis.ts';
import { levelStrip, type Marks } from './level-strip.ts';
import { paint } from './terminal.ts';

/** A cell a volt: −12 is cell 0, 0 V cell 12, +6 cell 18. */
const AXIS: Axis = { low: -12, high: 6, marks: [-12, 0, 6] };

function strip(marks: Marks, unicode = true): string {
  return levelStrip(marks, AXIS, 19, unicode, paint(false));
}

/** A sound band from −8 to −4. */
const BAND = { sound: -6, sigma: 1 };

describe('the level strip', () => {
  it.each<[string, Marks, string, string]>([
    ['the band alone, and 0 V, when nothing was read', BAND, '    ╞═══╡   ┊      ', '    [===]   :      '],
    [
      'a ring for the healthy unit, a dot for a sound one',
      { ...BAND, healthy: -7, value: -5, z: 1 },
      '    ╞○═•╡   ┊      ',
      '    [o=x]   :      ',
    ],
    [
      'a target when the twins agree',
      { ...BAND, healthy: -6, value: -6.2, z: -0.2 },
      '    ╞═◉═╡   ┊      ',
      '    [=@=]   :      ',
    ],
    [
      'a larger dot with a thin tail when it is doubtful',
      { ...BAND, healthy: -6, value: -2, z: 3.9 },
      '    ╞═○═╡─● ┊      ',
      '    [=o=]-X :      ',
    ],
    [
      'an arrow from the band to the reading when it departs',
      { ...BAND, healthy: -6, value: 0.2, z: 6.2 },
      '    ╞═○═╡━━━▶      ',
      '    [=o=]--->      ',
    ],
    [
      'an arrow that points the way the point went',
      { ...BAND, value: -11, z: -5 },
      ' ◀━━╞═══╡   ┊      ',
      ' <--[===]   :      ',
    ],
    [
      'a head alone for a departure that ends within the band as drawn',
      { sound: -6, sigma: 0.01, healthy: -6, value: -5.9, z: 10 },
      '     ╞▶╡    ┊      ',
      '     [>]    :      ',
    ],
    [
      'a stop at the end, and a sign outside it, for a reading off the axis',
      { ...BAND, value: 21.4, z: 27 },
      '    ╞═══╡━━━━━━━━▶»',
      '    [===]-------->>',
    ],
    [
      'the same at the other end',
      { sound: 0, sigma: 1, value: -60, z: -60 },
      '«◀━━━━━━━━╞═══╡    ',
      '<<--------[===]    ',
    ],
    [
      'broken edges where the circuit is not traced',
      { ...BAND, learnt: true, healthy: -6 },
      '    ╎ ○ ╎   ┊      ',
      '    ( o )   :      ',
    ],
    [
      'hatching where the band takes over half the axis',
      { sound: -3, sigma: 2.5 },
      '    ╞░░░░░░░░░╡    ',
      '    [~~~~~~~~~]    ',
    ],
    ['no band where nothing is expected', { healthy: -6 }, '      ○     ┊      ', '      o     :      '],
    [
      'two edges round the mean of the narrowest band, also at the end of the axis',
      { sound: -12, sigma: 0 },
      '╞═╡         ┊      ',
      '[=]         :      ',
    ],
  ])('shows %s', (_, marks, unicode, ascii) => {
    expect(strip(marks)).toBe(unicode);
    expect(strip(marks, false)).toBe(ascii);
  });

  it('says the same without colour', () => {
    const marks = { ...BAND, healthy: -6, value: 0.2, z: 6.2 };
    const coloured = levelStrip(marks, AXIS, 19, true, paint(true));
    expect(coloured).not.toBe(strip(marks));
    // biome-ignore lint/suspicious/noControlCharactersInRegex: that is what a colour is
    expect(coloured.replaceAll(/\u001b\[\d+m/g, '')).toBe(strip(marks));
  });
});
