/** Fast Fourier transform, for correlations. */

/**
 * Transform in place, `X[k] = sum_n x[n] exp(-2 pi i k n / N)`; no scaling.
 *
 * @param re, im  real and imaginary parts; their length a power of two
 * @source J. W. Cooley, J. W. Tukey, Mathematics of Computation 19 (1965) 297-301 (from memory): radix 2, decimation in time
 */
function transform(re: Float64Array, im: Float64Array): void {
  const n = re.length;
  reorder(re);
  reorder(im);
  // First two stages at once: their factors are 1 and -i.
  if (n >= 4) {
    for (let i = 0; i < n; i += 4) {
      const [a, b, c, d] = [re[i]!, re[i + 1]!, re[i + 2]!, re[i + 3]!];
      const [e, f, g, h] = [im[i]!, im[i + 1]!, im[i + 2]!, im[i + 3]!];
      re[i] = a + b + c + d;
      im[i] = e + f + g + h;
      re[i + 2] = a + b - c - d;
      im[i + 2] = e + f - g - h;
      re[i + 1] = a - b + (g - h);
      im[i + 1] = e - f - (c - d);
      re[i + 3] = a - b - (g - h);
      im[i + 3] = e - f + (c - d);
    }
  } else if (n === 2) {
    [re[0], re[1]] = [re[0]! + re[1]!, re[0]! - re[1]!];
    [im[0], im[1]] = [im[0]! + im[1]!, im[0]! - im[1]!];
  }
  const cos = new Float64Array(n >> 1);
  const sin = new Float64Array(n >> 1);
  for (let half = 4; half < n; half <<= 1) {
    for (let k = 0; k < half; k++) {
      cos[k] = Math.cos((Math.PI * k) / half);
      sin[k] = -Math.sin((Math.PI * k) / half);
    }
    for (let start = 0; start < n; start += half << 1) {
      for (let k = 0, i = start, j = start + half; k < half; k++, i++, j++) {
        const [c, s] = [cos[k]!, sin[k]!];
        const x = re[j]! * c - im[j]! * s;
        const y = re[j]! * s + im[j]! * c;
        re[j] = re[i]! - x;
        im[j] = im[i]! - y;
        re[i] = re[i]! + x;
        im[i] = im[i]! + y;
      }
    }
  }
}

/** Swaps entries into the order of their reversed bits. */
function reorder(x: Float64Array): void {
  const n = x.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
    const swapped = x[i]!;
    x[i] = x[j]!;
    x[j] = swapped;
  }
}

/**
 * Cross-correlation of two series at every lag,
 *
 *     c[L + na - 1] = sum_i a[i] b[i + L],        -(na - 1) <= L <= nb - 1
 *
 * by two transforms: the real series are the real and the imaginary part of one complex series, whose spectra part by symmetry.
 *
 * @returns  `na + nb - 1` sums; rounding about 1e-15 of the root of the product of both energies, times the logarithm of the length
 */
export function crossCorrelation(a: ArrayLike<number>, b: ArrayLike<number>): Float64Array {
  const length = a.length + b.length - 1;
  let n = 2;
  while (n < length) n *= 2;
  const re = new Float64Array(n);
  const im = new Float64Array(n);
  re.set(a);
  im.set(b);
  transform(re, im);
  // With Z = A + iB: A = (Z[k] + conj(Z[-k])) / 2 and B = (Z[k] - conj(Z[-k])) / 2i; wanted is conj(A) B.
  for (let k = 0; k <= n >> 1; k++) {
    const m = (n - k) % n;
    const [zr, zi, wr, wi] = [re[k]!, im[k]!, re[m]!, -im[m]!];
    const [ar, ai] = [(zr + wr) / 2, (zi + wi) / 2];
    const [br, bi] = [(zi - wi) / 2, -(zr - wr) / 2];
    const pr = ar * br + ai * bi;
    const pi = ar * bi - ai * br;
    // The inverse is the forward transform of the conjugate; the result is real.
    re[k] = pr;
    im[k] = -pi;
    re[m] = pr;
    im[m] = pi;
  }
  transform(re, im);
  const sums = new Float64Array(length);
  for (let L = 1 - a.length; L < b.length; L++) sums[L + a.length - 1] = re[(L + n) % n]! / n;
  return sums;
}
