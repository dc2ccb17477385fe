export interface LampCurve {
  /** Ratio of cold to hot conductance. */
  readonly cold: number;
  /** Volts at which it is hot. */
  readonly rated: number;
}

/**
 * Current and slope of a lamp: a filament's resistance rises about with the root of the voltage.
 *
 * @param hot  conductance at the rated voltage, siemens
 * @param d    volts
 */
export function lampCurrent(hot: number, d: number, lamp: LampCurve): { current: number; slope: number } {
  const w = Math.sqrt(Math.abs(d) / lamp.rated + 1e-4);
  const span = 1 - 1 / lamp.cold;
  const ratio = 1 / lamp.cold + span * (w - 0.01);
  const current = (hot * d) / ratio;
  return { current, slope: hot / ratio - (((current / ratio) * span) / (2 * w * lamp.rated)) * Math.sign(d) };
}
