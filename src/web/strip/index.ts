/**
 * The level strip: a short axis from the most negative rail to the most positive, the sound band on it, the healthy unit as a
 * hollow ring, the unit at hand as a solid mark. Start with `axisOf` and `<Strip>`; `stripWords` is the same for the ear, and
 * `figures` writes the numbers that stand beside it. The geometry is pure and draws nothing.
 */
export { type Axis, axisOf, type Family, lensAxis } from './axis.ts';
export { percent, plusMinus, spreads, type Verdict, verdictOf, volts } from './figures.ts';
export type { Flag, Level, StripInput } from './geometry.ts';
export { Scale, Strip, Uprights } from './strip.tsx';
export { type StripNames, stripWords } from './words.ts';
