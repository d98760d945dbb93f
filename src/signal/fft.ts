// Fourier transform of power-of-two length in float64: plan once, transform in place. Not for other lengths.

export interface Fft {
  readonly size: number;
  /** X[k] = sum x[n] e^(-2 pi i k n / size), in place. */
  forward(re: Float64Array, im: Float64Array): void;
  /** x[n] = 1/size sum X[k] e^(+2 pi i k n / size), in place. */
  inverse(re: Float64Array, im: Float64Array): void;
}

/** Smallest power of two >= n. */
export function fftSize(n: number): number {
  let size = 1;
  while (size < n) size *= 2;
  return size;
}

/** Tables of lengths up to this are kept for the next one who asks: making them takes longer than a transform. */
const MOST_KEPT = 2 ** 16;
const kept = new Map<number, Tables>();

interface Tables {
  /** of 2 pi k / size, k below size / 2 */
  readonly cos: Float64Array;
  readonly sin: Float64Array;
}

/** Throws a plain Error unless `size` is a power of two from 1 to 2^26. */
export function fftPlan(size: number): Fft {
  if (!Number.isInteger(Math.log2(size)) || size < 1 || size > 2 ** 26) throw new Error(`no transform of size ${size}`);
  const { cos, sin } = tablesOf(size);
  const forward = (re: Float64Array, im: Float64Array) => {
    reorder(re, im);
    butterflies(re, im, cos, sin);
  };
  return {
    size,
    forward,
    inverse(re, im) {
      // the transform with the parts exchanged is the inverse without its factor
      forward(im, re);
      for (let n = 0; n < size; n++) {
        re[n] /= size;
        im[n] /= size;
      }
    },
  };
}

/** |X[k]|^2 for k = 0 .. size/2 of real values, zeros after them up to `size`: from one transform of half the length. */
export function powerSpectrum(values: Float64Array, size: number): Float64Array {
  const half = size / 2;
  const re = new Float64Array(half);
  const im = new Float64Array(half);
  for (let n = 0; 2 * n < values.length; n++) {
    re[n] = values[2 * n];
    im[n] = 2 * n + 1 < values.length ? values[2 * n + 1] : 0;
  }
  fftPlan(half).forward(re, im);
  const { cos, sin } = tablesOf(size);
  const powers = new Float64Array(half + 1);
  for (let k = 0; k < half; k++) {
    const m = (half - k) & (half - 1);
    // E of the even values and O of the odd ones, twice each; X = E + e^(-2 pi i k / size) O.
    const oddRe = im[k] + im[m];
    const oddIm = re[m] - re[k];
    const xr = re[k] + re[m] + oddRe * cos[k] + oddIm * sin[k];
    const xi = im[k] - im[m] + oddIm * cos[k] - oddRe * sin[k];
    powers[k] = (xr * xr + xi * xi) / 4;
  }
  powers[half] = (re[0] - im[0]) ** 2;
  return powers;
}

function tablesOf(size: number): Tables {
  const known = kept.get(size);
  if (known) return known;
  const cos = new Float64Array(Math.max(1, size / 2));
  const sin = new Float64Array(cos.length);
  for (let k = 0; k < cos.length; k++) {
    cos[k] = Math.cos((2 * Math.PI * k) / size);
    sin[k] = Math.sin((2 * Math.PI * k) / size);
  }
  if (size <= MOST_KEPT) kept.set(size, { cos, sin });
  return { cos, sin };
}

function reorder(re: Float64Array, im: Float64Array): void {
  const size = re.length;
  for (let i = 1, j = 0; i < size; i++) {
    let bit = size >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i >= j) continue;
    const r = re[i];
    const m = im[i];
    re[i] = re[j];
    im[i] = im[j];
    re[j] = r;
    im[j] = m;
  }
}

/** Two stages at a time, which halves the way to memory; the same sums in the same order as one by one. */
function butterflies(re: Float64Array, im: Float64Array, cos: Float64Array, sin: Float64Array): void {
  const size = re.length;
  let half = 1;
  if (Math.log2(size) % 2 === 1) {
    single(re, im);
    half = 2;
  }
  for (; half < size; half *= 4) double(re, im, cos, sin, half);
}

/** The first stage, whose factors are 1. */
function single(re: Float64Array, im: Float64Array): void {
  for (let p = 0; p < re.length; p += 2) {
    const r = re[p + 1];
    const m = im[p + 1];
    re[p + 1] = re[p] - r;
    im[p + 1] = im[p] - m;
    re[p] += r;
    im[p] += m;
  }
}

/** The stages that join halves of `half` and of 2 `half` elements. */
function double(re: Float64Array, im: Float64Array, cos: Float64Array, sin: Float64Array, half: number): void {
  const size = re.length;
  const stride = size / (4 * half);
  for (let at = 0; at < size; at += 4 * half) {
    for (let k = 0, w = 0; k < half; k++, w += stride) {
      const c1 = cos[2 * w];
      const s1 = sin[2 * w];
      const c2 = cos[w];
      const s2 = sin[w];
      const c3 = cos[w + half * stride];
      const s3 = sin[w + half * stride];
      const a = at + k;
      const b = a + half;
      const c = b + half;
      const d = c + half;
      const br = re[b] * c1 + im[b] * s1;
      const bi = im[b] * c1 - re[b] * s1;
      const dr = re[d] * c1 + im[d] * s1;
      const di = im[d] * c1 - re[d] * s1;
      const evenRe = re[a] + br;
      const evenIm = im[a] + bi;
      const oddRe = re[a] - br;
      const oddIm = im[a] - bi;
      const cr = re[c] + dr;
      const ci = im[c] + di;
      const er = re[c] - dr;
      const ei = im[c] - di;
      const tr = cr * c2 + ci * s2;
      const ti = ci * c2 - cr * s2;
      const ur = er * c3 + ei * s3;
      const ui = ei * c3 - er * s3;
      re[a] = evenRe + tr;
      im[a] = evenIm + ti;
      re[c] = evenRe - tr;
      im[c] = evenIm - ti;
      re[b] = oddRe + ur;
      im[b] = oddIm + ui;
      re[d] = oddRe - ur;
      im[d] = oddIm - ui;
    }
  }
}
