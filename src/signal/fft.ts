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

/** Tables for one length; throws a plain Error unless `size` is a power of two from 1 to 2^26. */
export function fftPlan(size: number): Fft {
  if (!Number.isInteger(Math.log2(size)) || size < 1 || size > 2 ** 26) throw new Error(`no transform of size ${size}`);
  const cos = new Float64Array(Math.max(1, size / 2));
  const sin = new Float64Array(cos.length);
  for (let k = 0; k < cos.length; k++) {
    cos[k] = Math.cos((2 * Math.PI * k) / size);
    sin[k] = Math.sin((2 * Math.PI * k) / size);
  }
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

function butterflies(re: Float64Array, im: Float64Array, cos: Float64Array, sin: Float64Array): void {
  const size = re.length;
  for (let half = 1; half < size; half *= 2) {
    const stride = size / (2 * half);
    for (let at = 0; at < size; at += 2 * half) {
      for (let k = 0, w = 0; k < half; k++, w += stride) {
        const p = at + k;
        const q = p + half;
        const c = cos[w];
        const s = sin[w];
        const r = re[q] * c + im[q] * s;
        const m = im[q] * c - re[q] * s;
        re[q] = re[p] - r;
        im[q] = im[p] - m;
        re[p] += r;
        im[p] += m;
      }
    }
  }
}
