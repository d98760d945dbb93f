// A filter of finite length over a stretch that has its surroundings with it. Plain sums: lengths of a few hundred.

/** out[n] = sum over k of taps[k] * x[n + taps.length - 1 - k]: taps.length - 1 shorter than `x`. */
export function convolveInside(x: Float64Array, taps: Float64Array): Float64Array {
  const last = taps.length - 1;
  const out = new Float64Array(Math.max(0, x.length - last));
  const turned = taps.slice().reverse();
  for (let n = 0; n < out.length; n++) {
    // Four sums, so that no addition waits for the one before.
    let [a, b, c, d] = [0, 0, 0, 0];
    let k = 0;
    for (; k + 4 <= turned.length; k += 4) {
      a += turned[k] * x[n + k];
      b += turned[k + 1] * x[n + k + 1];
      c += turned[k + 2] * x[n + k + 2];
      d += turned[k + 3] * x[n + k + 3];
    }
    for (; k < turned.length; k++) a += turned[k] * x[n + k];
    out[n] = a + b + (c + d);
  }
  return out;
}
