/** Where a point's readings over the years stand on a small plot, in pixels. Time runs to the right, volts upwards. */

export interface HistoryReading {
  readonly id: number;
  readonly value: number;
  readonly takenAt: string;
  /** The unit that is watched, not the one beside it. */
  readonly own: boolean;
}

export interface HistoryPlot {
  readonly marks: readonly {
    readonly id: number;
    readonly x: number;
    readonly y: number;
    readonly own: boolean;
  }[];
  /** Edges of the sound band. */
  readonly band: { readonly top: number; readonly bottom: number } | undefined;
  readonly years: readonly { readonly x: number; readonly label: string }[];
  readonly levels: readonly { readonly y: number; readonly volts: number }[];
}

export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

const YEAR_MS = 365.25 * 24 * 3600 * 1000;
/** The plot never shows less than this, so that millivolts of noise do not look like a drift. */
const LEAST_VOLTS = 0.1;
const LEAST_MS = YEAR_MS / 4;

export function historyPlot(
  readings: readonly HistoryReading[],
  sound: { readonly value: number; readonly sigma: number } | null,
  frame: Frame,
): HistoryPlot {
  const dated = readings
    .map((one) => ({ ...one, at: Date.parse(one.takenAt) }))
    .filter(({ at }) => !Number.isNaN(at));
  const times = dated.map(({ at }) => at);
  const values = dated.map(({ value }) => value);
  if (sound) values.push(sound.value - 2 * sound.sigma, sound.value + 2 * sound.sigma);
  const time = widened(Math.min(...times), Math.max(...times), LEAST_MS, 0.06);
  const volts = widened(Math.min(...values), Math.max(...values), LEAST_VOLTS, 0.12);
  const x = (at: number): number =>
    frame.left + ((at - time.low) / (time.high - time.low)) * (frame.width - frame.left - frame.right);
  const y = (value: number): number =>
    frame.top + ((volts.high - value) / (volts.high - volts.low)) * (frame.height - frame.top - frame.bottom);
  return {
    marks: dated.map(({ id, value, at, own }) => ({ id, own, x: x(at), y: y(value) })),
    band: sound
      ? { top: y(sound.value + 2 * sound.sigma), bottom: y(sound.value - 2 * sound.sigma) }
      : undefined,
    years: yearsBetween(time.low, time.high).map(({ at, label }) => ({ x: x(at), label })),
    levels: levelsBetween(volts.low, volts.high).map((value) => ({ y: y(value), volts: value })),
  };
}

function widened(low: number, high: number, least: number, share: number): { low: number; high: number } {
  const middle = (low + high) / 2;
  const half = Math.max(high - low, least) * (0.5 + share);
  return { low: middle - half, high: middle + half };
}

/** First days of years, or of months where there is no more than a year, at most six. */
function yearsBetween(low: number, high: number): { at: number; label: string }[] {
  const from = new Date(low);
  const months = (high - low) / (YEAR_MS / 12);
  const step = [1, 2, 3, 6, 12, 24, 60, 120, 240].find((one) => months / one <= 6) ?? 600;
  const found: { at: number; label: string }[] = [];
  const first = from.getUTCFullYear() * 12 + from.getUTCMonth();
  for (let month = Math.ceil(first / step) * step; ; month += step) {
    const [year, within] = [Math.floor(month / 12), month % 12];
    const at = Date.UTC(year, within, 1);
    if (at > high) return found;
    if (at >= low) found.push({ at, label: step >= 12 ? String(year) : `${MONTHS[within]} ${year}` });
  }
}

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'June', 'July', 'Aug', 'Sept', 'Oct', 'Nov', 'Dec'];

/** Round volts, three to six of them. */
function levelsBetween(low: number, high: number): number[] {
  const span = high - low;
  const decade = 10 ** Math.floor(Math.log10(span));
  const step =
    [0.2, 0.25, 0.5, 1, 2, 2.5].map((one) => one * decade).find((one) => span / one <= 5) ?? decade;
  const found: number[] = [];
  for (let n = Math.ceil(low / step); n * step <= high; n++) found.push(Number((n * step).toPrecision(9)));
  return found;
}
