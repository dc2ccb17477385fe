/** Which stretch of a running condition is looked at, and whether it repeats. */
import { type Condition, type DriveWave, nextBreak, voltsAt } from '../../machine/index.ts';

/** What a condition's drives say of its time. */
export interface Span {
  /** Seconds. */
  readonly from: number;
  readonly to: number;
  /** The drives repeat from `from` on, once a span: what is looked at is the state that repeats with them. */
  readonly repeats: boolean;
}

/** The drives' common period may be so many times the longest one of them. */
const MOST_TURNS = 64;
/** Turns of the slowest drive that are looked at where there is no common period. */
const TURNS_LOOKED_AT = 4;
/** Periods that differ by less, relatively, are multiples of each other. */
const SAME = 1e-6;
/** Steps after the last edge, times the longest one between two edges. */
const AFTER = 5;
/** What is looked at where nothing says anything: an oscillator that nobody gave a watch has one; a wave that never moves, seconds. */
const NOTHING_MOVES = 1e-3;
/** Edges looked at of a wave that ends. */
const MOST_EDGES = 100_000;

/** The stretch of a condition whose captured waves are samples. */
export function spanOf({ drives, watch }: Condition): Span {
  if (watch !== undefined) return { ...watch, repeats: false };
  const waves = drives.flatMap(({ wave }) =>
    wave === undefined || wave.kind === 'capture' || wave.kind === 'constant' ? [] : [wave],
  );
  const periods = waves.map(periodOf);
  const period = periods.includes(undefined) ? undefined : commonPeriod(periods as number[]);
  if (period !== undefined && waves.length > 0) {
    const begin = Math.max(0, ...waves.map(beginOf));
    const from = period * Math.ceil(begin / period - SAME);
    return { from, to: from + period, repeats: true };
  }
  // All repeat and never together: some turns of the slowest, from where all have begun.
  if (waves.length > 0 && !periods.includes(undefined)) {
    const from = Math.max(0, ...waves.map(beginOf));
    return { from, to: from + TURNS_LOOKED_AT * Math.max(...(periods as number[])), repeats: false };
  }
  return { from: 0, to: endOf(waves), repeats: false };
}

/** Seconds after which a wave begins again; undefined where it ends. */
function periodOf(wave: DriveWave): number | undefined {
  if (wave.kind === 'pulses') return wave.count === undefined ? wave.period : undefined;
  if (wave.kind === 'bits') return wave.repeat ? wave.bits.length * wave.bit : undefined;
  if (wave.kind === 'constant' || !wave.repeat) return undefined;
  return wave.instants[wave.instants.length - 1]! - wave.instants[0]!;
}

function beginOf(wave: DriveWave): number {
  if (wave.kind === 'constant') return 0;
  return wave.kind === 'samples' ? wave.instants[0]! : wave.delay;
}

function commonPeriod(periods: readonly number[]): number | undefined {
  const longest = Math.max(...periods);
  for (let turns = 1; turns <= MOST_TURNS; turns++) {
    const whole = turns * longest;
    if (periods.every((p) => Math.abs(whole / p - Math.round(whole / p)) < SAME * (whole / p))) return whole;
  }
  return undefined;
}

function endOf(waves: readonly DriveWave[]): number {
  let last = 0;
  let longest = 0;
  for (const wave of waves) {
    // One that repeats beside one that ends says nothing of the end.
    if (periodOf(wave) !== undefined) continue;
    let before = 0;
    let edges = 0;
    for (let t = nextBreak(wave, -1e-15); Number.isFinite(t) && edges < MOST_EDGES; t = nextBreak(wave, t)) {
      longest = Math.max(longest, t - before);
      before = t;
      edges++;
    }
    last = Math.max(last, before);
  }
  return longest > 0 ? last + AFTER * longest : NOTHING_MOVES;
}

/** What a drive's net rests at before time 0, as a wave; of one that does not move its level. */
export function restOf(drive: Condition['drives'][number]): DriveWave {
  return { kind: 'constant', volts: drive.volts };
}

/** How a drive moves from time 0 on. @throws Error for a captured wave whose samples nobody has handed in: a fault of the caller */
export function waveOf(drive: Condition['drives'][number]): DriveWave {
  const { wave, volts } = drive;
  if (wave === undefined) return { kind: 'constant', volts };
  if (wave.kind === 'capture') throw new Error(`the samples of ${wave.file} are not there`);
  return wave;
}

/** Whether a drive stands elsewhere before time 0 than where its wave begins. */
export function jumpsAtStart(drive: Condition['drives'][number]): boolean {
  return drive.wave !== undefined && Math.abs(voltsAt(waveOf(drive), 0) - drive.volts) > 1e-9;
}

/** A running condition can be followed: the samples of its captured waves are there. */
export function isFollowable({ drives }: Condition): boolean {
  return drives.every(({ wave }) => wave?.kind !== 'capture');
}
