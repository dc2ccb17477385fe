/** Captures as the server lists them. */

export interface CaptureChannel {
  readonly index: number;
  readonly name: string;
  readonly unit: string;
  /** Empty where nobody has said. */
  readonly point: string;
  readonly kind: 'trace' | 'logic';
  readonly samples: number;
  readonly start: number;
  readonly end: number;
  readonly step: number | null;
  readonly min: number | null;
  readonly max: number | null;
}

export interface CaptureEntry {
  readonly id: number;
  readonly file: string;
  readonly kind: 'text' | 'wav' | 'vcd';
  readonly unit: string;
  readonly state: string;
  readonly takenAt: string;
  readonly instrument: string;
  readonly note: string;
  readonly channels: readonly CaptureChannel[];
}
