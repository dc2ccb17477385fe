export interface Line {
  readonly slope: number;
  readonly intercept: number;
  /** Standard error of the slope; NaN below three points, where it cannot be told. */
  readonly slopeError: number;
}

/**
 * The straight line of least squares.
 *
 * @returns `undefined` where all of x is one value, or there is only one point
 * @source textbook; held against the NIST reference data set Norris in the outside tests
 */
export function leastSquares(x: readonly number[], y: readonly number[]): Line | undefined {
  const n = x.length;
  const mean = (list: readonly number[]): number => list.reduce((a, b) => a + b, 0) / n;
  const [mx, my] = [mean(x), mean(y)];
  const sxx = x.reduce((sum, one) => sum + (one - mx) ** 2, 0);
  if (!(sxx > 0)) return undefined;
  const slope = x.reduce((sum, one, i) => sum + (one - mx) * (y[i]! - my), 0) / sxx;
  const rest = x.reduce((sum, one, i) => sum + (y[i]! - my - slope * (one - mx)) ** 2, 0);
  const slopeError = n > 2 ? Math.sqrt(rest / (n - 2) / sxx) : Number.NaN;
  return { slope, intercept: my - slope * mx, slopeError };
}
