/** How twins differ, in sentences: for the head of the page, and for the ear. */

import type {
  Alignment,
  BitDifference,
  Comparison,
  Difference,
  NoAlignment,
  NoComparison,
  StateDifference,
} from '../../waveform/index.ts';
import { quantity } from './scale.ts';

/** `At +16.6 µs South lies 6.04 V higher, for 12 µs.` */
export function differenceSentence(difference: Difference, second: string, unit: string): string {
  const { kind, from, to, meanVolts, seconds } = difference;
  const at = `At ${instant(from)}`;
  const lasts = `for ${quantity(to - from, 's', 3)}`;
  const by = quantity(Math.abs(kind === 'level' ? meanVolts : difference.volts), unit || 'V', 3);
  switch (kind) {
    case 'level':
      return `${at} ${second} lies ${by} ${meanVolts > 0 ? 'higher' : 'lower'}, ${lasts}.`;
    case 'timing':
      return `${at} an edge of ${second} is ${quantity(Math.abs(seconds ?? 0), 's', 3)} ${(seconds ?? 0) > 0 ? 'late' : 'early'}.`;
    case 'missing pulse':
      return `${at} an edge is missing in ${second}: it is ${by} off, ${lasts}.`;
    case 'extra pulse':
      return `${at} ${second} has an edge too many: it is ${by} off, ${lasts}.`;
    case 'shape':
      return `${at} ${second} has another shape: up to ${by} off, ${lasts}.`;
  }
}

/** As short as a list wants it. */
export function differenceWords({ kind, meanVolts, volts, seconds }: Difference, unit: string): string {
  if (kind === 'timing') {
    return `${quantity(Math.abs(seconds ?? 0), 's', 3)} ${(seconds ?? 0) > 0 ? 'late' : 'early'}`;
  }
  if (kind === 'level') return `level ${quantity(meanVolts, unit || 'V', 3, '+')}`;
  const words =
    kind === 'missing pulse' ? 'edge missing' : kind === 'extra pulse' ? 'edge too many' : 'shape';
  return `${words} ${quantity(volts, unit || 'V', 3, '+')}`;
}

/** Sentence over the whole of a comparison. */
export function comparisonSentence(
  found: Comparison | NoComparison,
  first: string,
  second: string,
  unit: string,
): string {
  if ('reason' in found) {
    return found.reason === 'no overlap'
      ? `${first} and ${second} have no time in common.`
      : 'There are not enough samples to compare.';
  }
  const [one] = found.differences;
  if (!one) {
    const level = quantity(found.amplitudeTolerance, unit || 'V', 2);
    const time = quantity(found.timingTolerance, 's', 2);
    return `${second} goes with ${first} all along, within ${level} and ${time}.`;
  }
  return differenceSentence(one, second, unit);
}

export function noAlignmentWords({ reason }: NoAlignment): string {
  switch (reason) {
    case 'no samples':
      return 'There are not enough samples to lay them on each other.';
    case 'one level only':
      return 'One of them does not move, so there is nothing to lay them on each other by.';
    case 'nothing alike':
      return 'They have nothing alike to be laid on each other by.';
    case 'no overlap':
      return 'They have no time in common.';
  }
}

/** How the second was laid on the first. */
export function alignmentWords({
  map,
  offsetUncertainty,
  rateUncertainty,
  likeness,
  rival,
}: Alignment): string {
  const parts = [
    `moved by ${quantity(map.offset, 's', 4, '+')}${offsetUncertainty > 0 ? ` ± ${quantity(offsetUncertainty, 's', 2)}` : ''}`,
  ];
  if (map.rate !== 1) {
    const share = (map.rate - 1) * 100;
    const open = rateUncertainty > 0 ? ` ± ${(100 * rateUncertainty).toPrecision(2)}` : '';
    parts.push(`clock ${Math.abs(share).toPrecision(3)}${open} % ${share > 0 ? 'slower' : 'faster'}`);
  }
  parts.push(`${Math.round(100 * likeness)} % alike`);
  if (rival !== undefined) parts.push(`${quantity(rival, 's', 4, '+')} would fit nearly as well`);
  return parts.join('; ');
}

export function bitSentence(difference: BitDifference, second: string, length: number): string {
  const { word, bit, instant: at, first, second: has } = difference;
  const significance =
    bit === 0 ? ', the least significant' : bit === length - 1 ? ', the most significant' : '';
  return `In word ${word + 1}, bit ${bit}${significance}, at ${instant(at)} ${second} has ${has} in place of ${first}.`;
}

export function stateSentence({ from, to, first, second: has }: StateDifference, second: string): string {
  return `At ${instant(from)} ${second} is at ${has} in place of ${first}, for ${quantity(to - from, 's', 3)}.`;
}

export function instant(seconds: number): string {
  return quantity(seconds, 's', 5, '+');
}
