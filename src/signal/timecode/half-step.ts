// Twice the samples: each second one is computed by a windowed sinc between its neighbours, so that edges of a signal close to the limit of
// the sampling rate can be placed. Not for sound (its passband ends at 0.9 of the limit).

const REACH = 16;

/** State with a life: push all samples in order. The output begins `REACH` samples of the input late, counted from before the first. */
export class HalfStep {
  readonly #taps = halfTaps();
  #held = new Float64Array(2 * REACH);
  #out = new Float64Array(0);

  /** Output samples that stand before the first of the input. */
  static readonly leadSamples = 2 * REACH;

  /** The output belonging to so many more samples of input, twice as many. A view that the next call reuses. */
  push(samples: Float64Array, length: number): Float64Array {
    const held = 2 * REACH;
    const all = new Float64Array(held + length);
    all.set(this.#held);
    all.set(samples.subarray(0, length), held);
    if (this.#out.length < 2 * length) this.#out = new Float64Array(2 * length);
    const [out, taps] = [this.#out, this.#taps];
    for (let i = 0; i < length; i++) {
      let sum = 0;
      for (let k = 0; k < REACH; k++) sum += taps[k] * (all[i + REACH - k] + all[i + REACH + 1 + k]);
      out[2 * i] = all[i + REACH];
      out[2 * i + 1] = sum;
    }
    this.#held = all.slice(length);
    return out.subarray(0, 2 * length);
  }
}

/** sinc at 0.5, 1.5, ... under a raised cosine, scaled so that a constant stays what it is. */
function halfTaps(): Float64Array {
  const taps = Float64Array.from({ length: REACH }, (_, k) => {
    const x = Math.PI * (k + 0.5);
    return (Math.sin(x) / x) * (0.5 + 0.5 * Math.cos(x / (REACH + 0.5)));
  });
  const sum = 2 * taps.reduce((a, b) => a + b, 0);
  return taps.map((tap) => tap / sum);
}
