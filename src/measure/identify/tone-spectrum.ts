// The spectrum beside one steady tone of a capture, with the noise around every bin, so that lines can be weighed against it. Shared by what looks for
// harmonics of quiet tones (quiet-steps.ts) and for folded lines (rate-lines.ts). Not for levels (analyse/tone-reading.ts).
import type { FrameSource } from '../../base/index.ts';
import { fftPlan, fftSize } from '../../signal/index.ts';
import { readStretch } from '../analyse/stretch.ts';
import type { Placement } from '../locate/placement.ts';
import type { Section, Tone } from '../programme/plan.ts';
import { fitTones } from '../spectrum/tone-fit.ts';

export interface ToneSpectrum {
  readonly hz: number;
  readonly sentDb: number;
  readonly binHz: number;
  /** squared magnitude of each bin up to half the rate; the tone itself is taken away */
  readonly power: Float64Array;
  /** what a bin that holds no line is expected to have, from the surroundings */
  readonly noise: Float64Array;
  /** power of the bin at a line of mean square 1 */
  readonly ofLine: number;
}

/** Seconds left out at both ends of a tone: fades, filters, the pilots' error. */
const MARGIN = 0.06;
/** Wide enough for a median of many bins, narrow enough for the slope of a filter. */
const NOISE_HZ = 300;
/** One strong line must not hide the noise; many lines together are noise to whoever looks elsewhere. */
const MOST_OF_NOISE = 20;

export async function toneSpectrum(
  source: FrameSource,
  place: Placement,
  section: Section,
  tone: Tone,
  channel: number,
): Promise<ToneSpectrum> {
  const { planes, perSecond } = await readStretch(source, place, section, MARGIN);
  const { residual } = fitTones(planes[channel], [tone.hz / perSecond]);
  const size = 2 * fftSize(residual.length);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  let sum = 0;
  for (let n = 0; n < residual.length; n++) {
    const weight = 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / residual.length);
    sum += weight;
    re[n] = weight * residual[n];
  }
  fftPlan(size).forward(re, im);
  const power = new Float64Array(size / 2);
  for (let k = 0; k < power.length; k++) power[k] = re[k] * re[k] + im[k] * im[k];
  const binHz = perSecond / size;
  const noise = surroundings(power, Math.round(NOISE_HZ / binHz));
  return { hz: tone.hz, sentDb: tone.levelDb, binHz, power, noise, ofLine: (sum * sum) / 2 };
}

/** Mean of stretches of `width` bins without what towers above them, as the level of all of their bins. */
function surroundings(power: Float64Array, width: number): Float64Array {
  const out = new Float64Array(power.length);
  for (let from = 0; from < power.length; from += width) {
    const part = power.subarray(from, from + width);
    // the powers of noise are spread so that their mean is 1 / ln 2 of their median
    const most = (MOST_OF_NOISE * part.slice().sort()[part.length >> 1]) / Math.LN2;
    let sum = 0;
    for (const p of part) sum += Math.min(most, p);
    out.fill(sum / part.length, from, from + width);
  }
  return out;
}
