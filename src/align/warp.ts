// Reads a recording between its samples, on another clock's grid: one table for many windows. Float64, for measuring places
// and likeness only; never for samples that are delivered (signal/resample.ts makes whole signals).

/** x at start, start + step, start + 2 step … in frames of x; zero outside x. */
export type Warp = (x: Float64Array, start: number, frames: number) => Float64Array;

/** Points of the table per frame; straight lines between them err below -110 dB. */
const FINE = 1024;
const HALF_TAPS = 48;
/** Kaiser's beta for about 100 dB (his design formula, as in signal/resample.ts). */
const BETA = 0.1102 * (100 - 8.7);

/** `step`: frames of x per output frame. Above 1 the band is narrowed to the new Nyquist frequency. */
export function warpBy(step: number): Warp {
  const band = Math.min(1, 1 / step);
  const reach = Math.ceil(HALF_TAPS / band);
  const table = kernelTable(band, reach);
  return (x, start, frames) => {
    const out = new Float64Array(frames);
    for (let n = 0; n < frames; n++) {
      const position = start + n * step;
      const centre = Math.floor(position);
      const last = Math.min(x.length - 1, centre + reach);
      let sum = 0;
      for (let k = Math.max(0, centre - reach + 1); k <= last; k++) {
        const at = Math.abs(position - k) * FINE;
        const low = at | 0;
        sum += x[k] * (table[low] + (at - low) * (table[low + 1] - table[low]));
      }
      out[n] = sum;
    }
    return out;
  };
}

function kernelTable(band: number, reach: number): Float64Array {
  const table = new Float64Array((reach + 1) * FINE + 2);
  const top = besselI0(BETA);
  for (let i = 0; i < table.length; i++) {
    const u = i / FINE;
    const inside = 1 - (u / reach) ** 2;
    const sinc = u === 0 ? 1 : Math.sin(Math.PI * band * u) / (Math.PI * band * u);
    table[i] = inside > 0 ? (band * sinc * besselI0(BETA * Math.sqrt(inside))) / top : 0;
  }
  return table;
}

/** Modified Bessel function of the first kind, order 0, by its power series. */
function besselI0(x: number): number {
  const quarter = (x * x) / 4;
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-15; k++) sum += term *= quarter / (k * k);
  return sum;
}
