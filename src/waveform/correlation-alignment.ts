/** Alignment of two traces by the correlation of their samples. */

import { centred, evenSeries, Scales } from './even-series.ts';
import { meanStep } from './extent.ts';
import { coarseAlignment, fineAlignment } from './fine-alignment.ts';
import { crossCorrelation } from './fourier.ts';
import type { Alignment, AlignmentOptions, NoAlignment } from './time-map.ts';
import type { Trace } from './trace.ts';

/** Samples of a series that is transformed; longer ones are taken coarser as far as their pulses allow. */
const TRANSFORMED = 32_768;
/** Samples that a state must keep when a series is taken coarser. */
const SAMPLES_A_STATE = 4;
/** Offsets that are tried in full. */
const TRIED = 3;
/** Pieces of a long series, and samples in each, from which the length of its states is taken. */
const PIECES = 8;
const PIECE = 16_384;
/** A peak lower than this share of the highest is not tried. */
const WORTH_TRYING = 0.7;
/** Less likeness than this is none. */
const LEAST_LIKENESS = 0.3;
/** Another offset as good as this share of the best is named as its rival. */
const RIVAL = 0.95;
/** Local energy counts as at least this share of the mean one: silence is not like anything. */
const LEAST_ENERGY = 0.1;

/**
 * The time map under which two traces are most alike, to a fraction of a sample.
 *
 * Correlation at a coarse scale finds where, a least-squares fit at finer and finer scales how exactly. With a difference of rates
 * allowed, the correlation is of a stretch of the first trace so short that the difference moves its ends by no more than a quarter
 * of a state; the fit then grows from there.
 *
 * @returns  seconds from first to second; a reason where neither moves, or nothing is alike
 */
export function alignByCorrelation(
  first: Trace,
  second: Trace,
  options: AlignmentOptions = {},
): Alignment | NoAlignment {
  const step = Math.max(meanStep(first), meanStep(second));
  if (!(step > 0) || first.values.length < 8 || second.values.length < 8) return { reason: 'no samples' };
  const [one, two] = [evenSeries(first, step), evenSeries(second, step)];
  const [a, b] = [one.values, two.values];
  const [states, others] = [stateSamples(a), stateSamples(b)];
  if (states === undefined || others === undefined) return { reason: 'one level only' };
  const state = Math.min(states, others);

  const most = options.rate ?? 0;
  const allowed = most > 0 ? Math.min(a.length, Math.max(16, Math.ceil(state / most / 2))) : a.length;
  const wanted = Math.ceil(Math.max(a.length, b.length) / TRANSFORMED);
  const factor = Math.max(1, Math.min(wanted, Math.floor(state / SAMPLES_A_STATE)));
  const stretch = liveliest(a, allowed);
  const [as, bs] = [new Scales(a), new Scales(b)];
  const begin = Math.floor(stretch / factor);
  const piece = centred(as.at(factor).subarray(begin, begin + Math.ceil(allowed / factor)));
  const whole = centred(bs.at(factor));
  const tried = peaks(piece, whole, (lag) => {
    const seconds = two.start - one.start + (lag - begin) * factor * step;
    return options.within === undefined || Math.abs(seconds) <= options.within + factor * step;
  });
  // At the ends of the stretch the difference of rates is most of a quarter of a state: more than an edge lasts.
  const scale = most > 0 ? Math.max(factor, Math.floor(state / SAMPLES_A_STATE)) : factor;
  const sought = most > 0 ? { centre: stretch + allowed / 2, known: allowed, most } : undefined;
  const fits = tried
    .map(({ lag }) => coarseAlignment(as, bs, { start: (lag - begin) * factor, rate: 1 }, scale, sought))
    .filter((fit) => fit !== undefined)
    .sort((p, q) => q.likeness * Math.sqrt(q.pairs) - p.likeness * Math.sqrt(p.pairs));
  if (!fits[0]) return { reason: 'nothing alike' };
  const best = fineAlignment(as, bs, fits[0], most > 0);
  if (best.likeness < LEAST_LIKENESS) return { reason: 'nothing alike' };
  // Sample i at one.start + i step is at two.start + (start + rate i) step.
  const seconds = ({ start, rate }: { start: number; rate: number }): number =>
    two.start + start * step - rate * one.start;
  const rival = fits.find(
    (fit) =>
      Math.abs(fit.map.start - best.map.start) > state &&
      fit.likeness * Math.sqrt(fit.pairs) > RIVAL * fits[0]!.likeness * Math.sqrt(fits[0]!.pairs),
  );
  return {
    map: { offset: seconds(best.map), rate: best.map.rate },
    offsetUncertainty: best.shiftUncertainty * step,
    rateUncertainty: best.rateUncertainty,
    likeness: best.likeness,
    ...(rival ? { rival: seconds(rival.map) } : {}),
  };
}

/**
 * Mean samples between passes of the mean, with a hysteresis of half a standard deviation; undefined for what does not move. From
 * pieces spread over a long series, or from all of it where these stand still.
 */
function stateSamples(values: Float32Array): number | undefined {
  if (values.length <= PIECES * PIECE) return passes([values]);
  const hop = Math.floor((values.length - PIECE) / (PIECES - 1));
  const pieces = Array.from({ length: PIECES }, (_, k) => values.subarray(k * hop, k * hop + PIECE));
  const found = passes(pieces);
  return found !== undefined && found < PIECE ? found : passes([values]);
}

function passes(pieces: readonly Float32Array[]): number | undefined {
  const pivot = pieces[0]!.find((v) => v - v === 0) ?? 0;
  let sum = 0;
  let squares = 0;
  let count = 0;
  for (const values of pieces) {
    for (let i = 0; i < values.length; i++) {
      const off = values[i]! - pivot;
      if (off - off !== 0) continue;
      sum += off;
      squares += off * off;
      count++;
    }
  }
  const mean = sum / count;
  const spread = Math.sqrt(squares / count - mean * mean);
  if (!(spread > 0)) return undefined;
  let passed = pieces.length;
  for (const values of pieces) {
    let side = 0;
    for (let i = 0; i < values.length; i++) {
      const off = values[i]! - pivot - mean;
      const now = off > spread / 2 ? 1 : off < -spread / 2 ? -1 : 0;
      if (now === 0 || now === side) continue;
      if (side !== 0) passed++;
      side = now;
    }
  }
  return count / passed;
}

/** Start of the stretch that varies most, of those that lie half a stretch apart; nearer to the middle where equal. */
function liveliest(values: Float32Array, length: number): number {
  if (length >= values.length) return 0;
  const variance = (start: number): number => {
    let [sum, squares, count] = [0, 0, 0];
    const stride = Math.max(1, length >> 10);
    for (let i = start; i < start + length; i += stride) {
      const v = values[i]!;
      if (v - v !== 0) continue;
      sum += v;
      squares += v * v;
      count++;
    }
    return count > 0 ? squares / count - (sum / count) ** 2 : 0;
  };
  const middle = (values.length - length) >> 1;
  let [best, most] = [middle, 1.2 * variance(middle)];
  const hop = Math.max(1, length >> 1, Math.floor(values.length / 200));
  for (let start = 0; start + length <= values.length; start += hop) {
    const here = variance(start);
    if (here > most) [best, most] = [start, here];
  }
  return best;
}

/**
 * Lags at which the correlation has its highest peaks, as shares of the energies that overlap.
 *
 * `c / sqrt(Ea Eb)` with the energy of all of `a` and of the part of `b` beside it: an offset that leaves little of `a` overlapping
 * counts for less.
 */
function peaks(
  a: Float32Array,
  b: Float32Array,
  permitted: (lag: number) => boolean,
): { lag: number; score: number }[] {
  const sums = crossCorrelation(a, b);
  const energy = new Float64Array(b.length + 1);
  for (let i = 0; i < b.length; i++) energy[i + 1] = energy[i]! + b[i]! ** 2;
  const own = a.reduce((sum, v) => sum + v * v, 0);
  const mean = energy[b.length]! / b.length;
  const scores = sums.map((sum, k) => {
    const lag = k - a.length + 1;
    const [begin, end] = [Math.max(0, lag), Math.min(b.length, lag + a.length)];
    const beside = Math.max(energy[end]! - energy[begin]!, LEAST_ENERGY * mean * a.length);
    return sum / Math.sqrt(own * beside);
  });
  const found: { lag: number; score: number }[] = [];
  for (let k = 0; k < scores.length; k++) {
    const score = scores[k]!;
    if (score <= 0 || score < (scores[k - 1] ?? 0) || score <= (scores[k + 1] ?? 0)) continue;
    if (found.length === TRIED && score <= found[TRIED - 1]!.score) continue;
    if (!permitted(k - a.length + 1) || score < WORTH_TRYING * (found[0]?.score ?? 0)) continue;
    found.push({ lag: k - a.length + 1, score });
    found.sort((p, q) => q.score - p.score);
    found.length = Math.min(found.length, TRIED);
  }
  return found;
}
