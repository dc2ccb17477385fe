/** The one scale that every strip of a page is read against. */

export interface Tick {
  readonly volts: number;
  /** Engraved with its figure; the others are short. */
  readonly label: string;
}

export interface Axis {
  /** Ends of the scale, a little beyond the outer rails. */
  readonly low: number;
  readonly high: number;
  /** Ends of the line that is drawn: the outer rails. */
  readonly from: number;
  readonly to: number;
  /** Where a thin upright runs through all rows: rails other than 0 V. */
  readonly rails: readonly number[];
}

export interface Family {
  readonly from: number;
  readonly to: number;
  readonly rails: readonly { readonly volts: number }[];
}

/** Beyond the outer rails, volts, or this share of the whole where that is more. */
const OVER_VOLTS = 0.7;
const OVER_SHARE = 0.04;
/** Pixels at each end that belong to no level: room for what is off the axis. */
export const PAD = 14;
/** The lens shows the mean and so many spreads either way. */
const LENS_SPREADS = 12;

/** From the most negative to the most positive rail of one supply family, and a little over. */
export function axisOf({ from, to, rails }: Family): Axis {
  const span = to - from;
  // A family of one rail at 0 V, or none, still needs a scale.
  const [first, last] = span > 0 ? [from, to] : [from - 1, to + 1];
  const over = Math.max(OVER_VOLTS, OVER_SHARE * (last - first));
  const uprights = [first, last, ...rails.map(({ volts }) => volts)].filter((volts) => volts !== 0);
  return {
    low: first - over,
    high: last + over,
    from: first,
    to: last,
    rails: [...new Set(uprights)].sort((a, b) => a - b),
  };
}

/** A scale of its own for a point whose band is a few millivolts. */
export function lensAxis({ value, sigma }: { readonly value: number; readonly sigma: number }): Axis {
  const half = LENS_SPREADS * Math.max(sigma, 1e-6);
  return { low: value - half, high: value + half, from: value - half, to: value + half, rails: [] };
}

/** Place of a level on a strip `width` pixels wide; a level beyond the ends stands beyond them. */
export function xOf(axis: Axis, width: number, volts: number): number {
  return PAD + ((volts - axis.low) / (axis.high - axis.low)) * (width - 2 * PAD);
}

/** Volts in a pixel. */
function voltsPerPixel(axis: Axis, width: number): number {
  return (axis.high - axis.low) / Math.max(1, width - 2 * PAD);
}

/** Figures nearer than this run together; on a wide strip they stand further apart. */
const LABEL_GAP = 46;
const WIDE_GAP = 58;
const MOST_GAP = 130;
const SHORT_GAP = 7;

/**
 * What is engraved on a scale: figures at round volts, at 0 and at both ends, and short ticks between. Steps that meet both ends
 * are preferred, so that a scale from −24 to +12 goes by sixes and not by fives.
 */
export function engraving(axis: Axis, width: number, unit: 'V' | 'mV' = 'V'): readonly Tick[] {
  const scale = unit === 'mV' ? 1000 : 1;
  const perPixel = voltsPerPixel(axis, width) * scale;
  const [from, to] = [axis.from * scale, axis.to * scale];
  const steps = roundSteps(Math.min(WIDE_GAP, Math.max(LABEL_GAP, width / 9)) * perPixel);
  const meets = (step: number) => [from, to].every((end) => isWhole(end / step));
  const step = steps.find((one) => one / perPixel <= MOST_GAP && meets(one)) ?? steps[0]!;
  const labelled = new Set(multiples(step, from, to));
  const ends = axis.rails.length > 0 ? [from, to].filter((end) => !isWhole(end / step)) : [];
  for (const end of ends) {
    for (const one of labelled) if (Math.abs(one - end) < LABEL_GAP * perPixel) labelled.delete(one);
  }
  for (const end of ends) labelled.add(end);
  const short = shortStep(step, perPixel);
  const all = new Set([
    ...labelled,
    ...multiples(step, from, to),
    ...(short ? multiples(short, from, to) : []),
  ]);
  const last = Math.max(...labelled);
  return [...all]
    .sort((a, b) => a - b)
    .map((volts) => ({
      volts: volts / scale,
      label: labelled.has(volts) ? figure(volts) + (volts === last ? ` ${unit}` : '') : '',
    }));
}

function figure(volts: number): string {
  const size = String(Number(Math.abs(volts).toPrecision(6)));
  return `${volts < 0 ? '−' : volts > 0 ? '+' : ''}${size}`;
}

/** Round steps from `least` on, the smallest first. */
function roundSteps(least: number): number[] {
  const decade = 10 ** Math.floor(Math.log10(least));
  return [1, 10, 100]
    .flatMap((more) => [1, 2, 3, 5, 6].map((n) => n * more * decade))
    .filter((step) => step >= least)
    .slice(0, 6);
}

/** A third, a fifth, a half or a quarter of the step, whatever leaves room and is round. */
function shortStep(step: number, perPixel: number): number | undefined {
  const lead = Number(step.toExponential(3).slice(0, 1));
  const parts = lead === 3 ? [3] : lead === 6 ? [6, 3, 2] : lead === 2 ? [4, 2] : [10, 5, 2];
  return parts.map((n) => step / n).find((one) => one / perPixel >= SHORT_GAP);
}

function multiples(step: number, from: number, to: number): number[] {
  const found: number[] = [];
  const first = Math.ceil(from / step - 1e-9);
  for (let n = first; n * step <= to + 1e-9 * step; n++) found.push(Number((n * step).toPrecision(12)));
  return found;
}

function isWhole(ratio: number): boolean {
  return Math.abs(ratio - Math.round(ratio)) < 1e-9;
}
