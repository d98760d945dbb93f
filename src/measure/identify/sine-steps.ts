// What equal steps make of a sine, as lines: the size of each harmonic where few steps are crossed, and where so many are crossed that only the run of sizes
// over the orders can be foretold. Steps are 1 here. Not for laws or for noise as a whole (quantising-noise.ts).

/** Terms of the sawtooth's series; noise ahead of the steps wipes out the higher ones first. */
const TERMS = 6;
const PHASES = 1024;

/** Bessel functions by term of the series, then by order: what `stepHarmonics` needs of a sine of `peak` steps. */
export function sineTerms(peak: number, most: number): readonly Float64Array[] {
  return Array.from({ length: TERMS }, (_, j) => besselJ(2 * Math.PI * (j + 1) * peak, most));
}

/**
 * Peak of each harmonic (index = order) of the sine through a staircase whose risers lie `offset` of a step from zero, smoothed by noise of `sigma`
 * steps ahead of it. The error is the sawtooth's series; its sines of a sine are Bessel functions (Jacobi and Anger).
 */
export function stepHarmonics(terms: readonly Float64Array[], offset: number, sigma: number): Float64Array {
  const out = new Float64Array(terms[0].length);
  for (const [index, bessel] of terms.entries()) {
    const j = index + 1;
    const term = (2 / (Math.PI * j)) * Math.exp(-2 * (Math.PI * j * sigma) ** 2);
    const odd = term * Math.cos(2 * Math.PI * j * offset);
    const even = term * Math.sin(2 * Math.PI * j * offset);
    for (let k = 1; k < out.length; k++) out[k] += (k % 2 ? odd : even) * bessel[k];
  }
  return out.map(Math.abs);
}

/**
 * Mean square of the harmonics (index = order) where many steps are crossed, averaged over offsets and small changes of the peak: at each phase the error is
 * a sawtooth whose frequency is the number of steps crossed per turn.
 */
export function stepEnvelope(peak: number, sigma: number, most: number): Float64Array {
  const out = new Float64Array(most + 1);
  for (let n = 0; n < PHASES; n++) {
    const crossed = 2 * Math.PI * peak * Math.cos((Math.PI * (n + 0.5)) / (2 * PHASES));
    for (let j = 1; j <= TERMS && j * crossed < most; j++) {
      const power = Math.exp(-4 * (Math.PI * j * sigma) ** 2) / (2 * (Math.PI * j) ** 2 * PHASES);
      const low = Math.floor(j * crossed);
      out[low] += power * (low + 1 - j * crossed);
      out[low + 1] += power * (j * crossed - low);
    }
  }
  return out;
}

/** Bessel functions of the first kind, orders 0 to `most`, by running down from a high order (J. C. P. Miller; certainty M). */
export function besselJ(x: number, most: number): Float64Array {
  const out = new Float64Array(most + 1);
  if (x < 1e-9) {
    out[0] = 1;
    return out;
  }
  const high = Math.max(most, x);
  let [above, here, sum] = [0, 1e-280, 0];
  for (let k = 2 * Math.ceil((high + 15 + Math.sqrt(40 * high)) / 2); k >= 0; k--) {
    [above, here] = [here, ((2 * (k + 1)) / x) * here - above];
    if (k <= most) out[k] = here;
    if (k % 2 === 0) sum += k === 0 ? here : 2 * here;
    if (Math.abs(here) < 1e200) continue;
    above *= 1e-200;
    here *= 1e-200;
    sum *= 1e-200;
    for (let i = k; i <= most; i++) out[i] *= 1e-200;
  }
  return out.map((value) => value / sum);
}
