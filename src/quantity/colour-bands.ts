import { formatValue } from './format.ts';
import { scaled, significand } from './prefix.ts';
import { type Parsed, quoted, type Refusal, refusal } from './refusal.ts';

/** Band colours in the standard's order; `none` is the bare body in place of a tolerance band. */
export const COLOURS = [
  'pink',
  'silver',
  'gold',
  'black',
  'brown',
  'red',
  'orange',
  'yellow',
  'green',
  'blue',
  'violet',
  'grey',
  'white',
  'none',
] as const;
export type Colour = (typeof COLOURS)[number];

export interface BandedValue {
  readonly ohms: number;
  /** Percent, either way. */
  readonly tolerance: number;
  /** Temperature coefficient in parts per million and kelvin; `undefined` unless there are six bands. */
  readonly ppmPerKelvin: number | undefined;
}

/*
 * The tables are those of IEC 60062 as it stands. Old parts keep to them for digits, multipliers and the tolerances gold,
 * silver and none; for the rest a period part may mean something else (common practice, no source):
 * - Body, end and dot: before bands, the body's colour was the first digit, the end's the second, the dot the multiplier.
 *   A missing dot has the colour of the body. Read them in that order as three bands.
 * - A fifth band after a gold or silver fourth is not a tolerance but a failure rate (military types) or a maker's
 *   grade (a pink one: high stability). Read such a part by its first four bands.
 * - A broad first band marks a wire-wound part; it is a digit all the same.
 * - Orange and yellow tolerances (0.05 and 0.02 %), grey 0.01 % and the pink multiplier came with later editions;
 *   older charts have grey 0.05 %. On a part of the 1960s such a reading is more likely a wrong end or a faded colour.
 * - Heat browns red and orange, and white yellows. When the value surprises, measure it with one lead lifted.
 */

/** Source for these three tables: IEC 60062 as reprinted on a chart page; grey 0.01 % from memory of the 2016 edition. */
const TOLERANCES: Readonly<Partial<Record<Colour, number>>> = {
  brown: 1,
  red: 2,
  orange: 0.05,
  yellow: 0.02,
  green: 0.5,
  blue: 0.25,
  violet: 0.1,
  grey: 0.01,
  gold: 5,
  silver: 10,
  none: 20,
};
const COEFFICIENTS: Readonly<Partial<Record<Colour, number>>> = {
  black: 250,
  brown: 100,
  red: 50,
  orange: 15,
  yellow: 25,
  green: 20,
  blue: 10,
  violet: 5,
  grey: 1,
};
/** Black is digit 0 and multiplier 1; gold, silver and pink are multipliers 0.1, 0.01 and 0.001. */
const BLACK = COLOURS.indexOf('black');

const ALIASES: Readonly<Record<string, Colour>> = { gray: 'grey', purple: 'violet' };

/**
 * What a resistor's bands say, read from the end where they crowd: two digits and a multiplier (3 bands), with a tolerance
 * (4), three digits, multiplier and tolerance (5), and a temperature coefficient (6). Three bands mean 20 %, as does
 * `none` in the fourth place. Colours in any case; gray and purple are taken for grey and violet. See the period notes above.
 */
export function valueFromBands(bands: readonly string[]): Parsed<BandedValue> {
  if (bands.length < 3 || bands.length > 6) {
    return refusal('band-count', `3 to 6 bands expected, got ${bands.length}`);
  }
  const colours: Colour[] = [];
  for (const band of bands) {
    const name = band.trim().toLowerCase();
    const colour = ALIASES[name] ?? COLOURS.find((known) => known === name);
    if (colour === undefined) {
      return refusal('unknown-colour', `colour ${quoted(band)} not known: one of ${COLOURS.join(' ')}`);
    }
    colours.push(colour);
  }
  const read = bandedValue(colours);
  if (read.ok) return read;
  const turned = bandedValue([...colours].reverse());
  if (!turned.ok) return read;
  const { ohms, tolerance } = turned.value;
  const other = `${formatValue(ohms, 'Ω')}, ${tolerance} %`;
  return refusal(read.code, `${read.reason}; from the other end the bands say ${other}`);
}

function bandedValue(colours: readonly Colour[]): Parsed<BandedValue> {
  const significant = colours.length < 5 ? 2 : 3;
  let mantissa = 0;
  for (let i = 0; i < significant; i++) {
    const digit = COLOURS.indexOf(colours[i]!) - BLACK;
    if (digit < 0 || digit > 9) return wrong(colours, i, 'a digit, black to white');
    if (digit === 0 && i === 0) return wrong(colours, i, 'the first digit, brown to white');
    mantissa = mantissa * 10 + digit;
  }
  const multiplier = colours[significant]!;
  if (multiplier === 'none') return wrong(colours, significant, 'a multiplier');
  const ohms = scaled(mantissa, COLOURS.indexOf(multiplier) - BLACK);

  const tolerance = TOLERANCES[colours[significant + 1] ?? 'none'];
  // A bare body in place of the tolerance goes with two digits only.
  if (tolerance === undefined || (significant === 3 && colours[4] === 'none')) {
    return wrong(colours, significant + 1, 'a tolerance');
  }
  const last = colours[5];
  const ppmPerKelvin = last === undefined ? undefined : COEFFICIENTS[last];
  if (last !== undefined && ppmPerKelvin === undefined) return wrong(colours, 5, 'a temperature coefficient');
  return { ok: true, value: { ohms, tolerance, ppmPerKelvin } };
}

function wrong(colours: readonly Colour[], index: number, wanted: string): Refusal {
  const among = `band ${index + 1} of ${colours.length}`;
  return refusal('wrong-colour', `${among} must be ${wanted}, found ${colours[index]}`);
}

export interface BandOptions {
  readonly bands: 3 | 4 | 5 | 6;
  /** Percent; 20 where it is not given and there are three or four bands. */
  readonly tolerance?: number;
  /** For six bands, and only there. */
  readonly ppmPerKelvin?: number;
}

/**
 * The bands of a resistor in reading order. With four bands and 20 % the last is `none`.
 *
 * @throws RangeError  when the value has more digits than bands for them, no multiplier reaches it, or a tolerance or coefficient has no colour
 */
export function bandsFromValue(ohms: number, options: BandOptions): readonly Colour[] {
  const { bands, tolerance = 20, ppmPerKelvin } = options;
  if (!(ohms > 0 && ohms < Number.POSITIVE_INFINITY)) {
    throw new RangeError(`resistance to code must be positive and finite, got ${ohms} ohms`);
  }
  const count = bands < 5 ? 2 : 3;
  const { digits, exponent } = significand(ohms, count);
  const power = exponent - count + 1;
  if (Math.abs(scaled(Number(digits), power) - ohms) > 1e-9 * ohms) {
    throw new RangeError(`${bands} bands hold ${count} significant digits, got ${ohms} ohms`);
  }
  const multiplier = COLOURS[power + BLACK];
  if (multiplier === undefined || multiplier === 'none') {
    throw new RangeError(
      `resistance beyond the multipliers 0.001 to 1e9 of ${bands} bands, got ${ohms} ohms`,
    );
  }
  const result: Colour[] = [...digits].map((digit) => COLOURS[Number(digit) + BLACK]!);
  result.push(multiplier);

  if (bands === 3) {
    if (tolerance !== 20) throw new RangeError(`three bands mean 20 %, got ${tolerance} %`);
  } else {
    result.push(
      colourOf(tolerance, TOLERANCES, `tolerance of ${tolerance} % has no colour for ${bands} bands`, bands),
    );
  }
  if (bands === 6 && ppmPerKelvin !== undefined) {
    result.push(
      colourOf(ppmPerKelvin, COEFFICIENTS, `coefficient of ${ppmPerKelvin} ppm/K has no colour`, bands),
    );
  } else if (bands === 6 || ppmPerKelvin !== undefined) {
    throw new RangeError(`a coefficient goes with six bands, got ${ppmPerKelvin} ppm/K and ${bands} bands`);
  }
  return result;
}

function colourOf(
  wanted: number,
  table: Readonly<Partial<Record<Colour, number>>>,
  complaint: string,
  bands: number,
): Colour {
  const colour = COLOURS.find((name) => table[name] === wanted);
  if (colour === undefined || (colour === 'none' && bands > 4)) throw new RangeError(complaint);
  return colour;
}
