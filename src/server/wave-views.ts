/** The shape of what is told of predicted waveforms. Seconds and volts; a wave goes straight between its instants. */

export interface WavesView {
  readonly revision: number;
  readonly state: string;
  /** Why there are no waveforms, a sentence; else empty. */
  readonly noAnswer: string;
  /** One turn of what repeats, else what is watched. */
  readonly from: number;
  readonly to: number;
  readonly repeats: boolean;
  /** The instants of all sound waves, rising; of all waves under the fault. */
  readonly instants: readonly number[];
  readonly faultInstants: readonly number[];
  readonly fault: {
    /** `PART:MODE`. */
    readonly key: string;
    readonly part: string;
    readonly words: string;
    /** Which of a graded mode stands for it; else empty. */
    readonly severity: string;
  } | null;
  readonly waves: readonly WaveOfPoint[];
}

export interface WaveOfPoint {
  readonly point: string;
  readonly caution: string;
  readonly volts: readonly number[];
  /** Nine in ten sound units are between these. */
  readonly low: readonly number[];
  readonly high: readonly number[];
  /** Empty where no fault is asked for. */
  readonly faultVolts: readonly number[];
}
