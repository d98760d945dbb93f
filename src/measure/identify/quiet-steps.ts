// The size of a device's finest steps, from the harmonics of quiet tones: a tone that crosses few steps comes out with a pattern of harmonics that changes with
// its level in a way only one step size makes. Seen far below noise that was added behind the device, since every harmonic is a line.
// Not for tones that cross many steps (rate-lines.ts), nor for the noise as a whole (noise-fit.ts).
import { sineTerms, stepHarmonics } from './sine-steps.ts';
import type { ToneSpectrum } from './tone-spectrum.ts';

export interface StepProfile {
  /** natural logarithm of the odds for steps of each size against no steps; sizes fall from `STEP_FROM_DB` by `STEP_BY_DB` */
  readonly strengths: Float64Array;
}

export interface FoundStep {
  /** against the full scale of the programme, dB */
  readonly stepDb: number;
  readonly strength: number;
}

/** From this strength on steps are spoken of: chance gives 4 at most. */
export const LEAST_STEP_STRENGTH = 12;
/** Above the step of 8 bits recorded as softly as is allowed for (noise-fit.ts). */
const STEP_FROM_DB = -36;
const STEP_TO_DB = -116;
const STEP_BY_DB = 0.1;
/** Peak of a tone in steps, dB: between a tone that crosses one riser and one that crosses fifty. */
const PEAK_FROM_DB = -10;
const PEAK_TO_DB = 22;
/** Lower orders are made by analogue stages too. */
const LEAST_ORDER = 4;
const MOST_ORDER = 20;
/** Noise ahead of the converter and offset against a riser, in steps; above 0.4 nothing is left to see, and offsets mirror at a half. */
const SIGMAS: readonly number[] = [0.04, 0.1, 0.16, 0.22, 0.28, 0.34, 0.4];
const OFFSETS: readonly number[] = Array.from({ length: 9 }, (_, k) => k / 16);
/** Steps of real converters are uneven, filters bend: a harmonic may be off by this share. */
const UNEVEN = 0.25;
/** So many harmonics are something else altogether, of any size within a range of so many nats. */
const STRANGE = 0.05;
const STRANGE_NATS = 14;

interface Harmonic {
  readonly order: number;
  /** mean squares as fractions of full scale */
  readonly power: number;
  readonly noise: number;
  /** logarithm of the density were it noise */
  readonly asNoise: number;
}

interface Shape {
  /** by peak of the tone in steps of `STEP_BY_DB`, then by order: mean square of the harmonic for steps of 1 */
  readonly powers: readonly Float64Array[];
}

/** `gain`: amplitude in the capture of what was sent at full scale. Orders above `topHz` are left out. */
export function stepProfile(spectra: readonly ToneSpectrum[], gain: number, topHz: number): StepProfile {
  const tones = spectra.map((one) => ({ sentDb: one.sentDb, harmonics: harmonicsOf(one, topHz) }));
  const strengths = new Float64Array(Math.round((STEP_FROM_DB - STEP_TO_DB) / STEP_BY_DB) + 1);
  for (const shape of shapes()) {
    for (let k = 0; k < strengths.length; k++) {
      const stepDb = STEP_FROM_DB - k * STEP_BY_DB;
      const power = (gain * 10 ** (stepDb / 20)) ** 2;
      let sum = 0;
      for (const { sentDb, harmonics } of tones) {
        const expected = shape.powers[Math.round((sentDb - stepDb - PEAK_FROM_DB) / STEP_BY_DB)];
        if (expected) for (const one of harmonics) sum += strengthOf(one, power * expected[one.order]);
      }
      // the mean of all shapes' odds is at least the best one's share
      strengths[k] = Math.max(strengths[k], sum - Math.log(SIGMAS.length * OFFSETS.length));
    }
  }
  return { strengths };
}

/** The strongest size between two, where any is better than none. */
export function strongestStep({ strengths }: StepProfile, fromDb = STEP_TO_DB, toDb = STEP_FROM_DB): FoundStep {
  let best: FoundStep = { stepDb: fromDb, strength: 0 };
  for (let k = 0; k < strengths.length; k++) {
    const stepDb = STEP_FROM_DB - k * STEP_BY_DB;
    if (stepDb >= fromDb - 1e-9 && stepDb <= toDb + 1e-9 && strengths[k] > best.strength) {
      best = { stepDb, strength: strengths[k] };
    }
  }
  return best;
}

function harmonicsOf(spectrum: ToneSpectrum, topHz: number): Harmonic[] {
  const out: Harmonic[] = [];
  for (let order = LEAST_ORDER; order <= MOST_ORDER && order * spectrum.hz < topHz; order++) {
    const bin = Math.round((order * spectrum.hz) / spectrum.binHz);
    const [power, noise] = [spectrum.power[bin] / spectrum.ofLine, spectrum.noise[bin] / spectrum.ofLine];
    if (!(power > 0) || !(noise > 0)) continue;
    out.push({ order, power, noise, asNoise: Math.log(density(power, noise, 0)) });
  }
  return out;
}

/** Every pattern that noise ahead of the steps and an offset can give. */
function* shapes(): Generator<Shape> {
  const peaks = Array.from({ length: Math.round((PEAK_TO_DB - PEAK_FROM_DB) / STEP_BY_DB) + 1 }, (_, k) => {
    return sineTerms(10 ** ((PEAK_FROM_DB + k * STEP_BY_DB) / 20), MOST_ORDER);
  });
  for (const sigma of SIGMAS) {
    for (const offset of OFFSETS) {
      yield { powers: peaks.map((terms) => stepHarmonics(terms, offset, sigma).map((x) => (x * x) / 2)) };
    }
  }
}

function strengthOf({ power, noise, asNoise }: Harmonic, expected: number): number {
  return Math.log(density(power, noise + UNEVEN ** 2 * expected, expected)) - asNoise;
}

/** Of a line's power amid noise (S. O. Rice; certainty M), with a share of anything else. */
function density(power: number, noise: number, line: number): number {
  const x = (2 * Math.sqrt(power * line)) / noise;
  const rice = Math.exp(logBesselI0(x) - (power + line) / noise) / noise;
  return (1 - STRANGE) * rice + STRANGE / (STRANGE_NATS * power);
}

function logBesselI0(x: number): number {
  if (x > 4) return x - 0.5 * Math.log(2 * Math.PI * x) + 1 / (8 * x);
  const y = (x * x) / 4;
  return Math.log(1 + y * (1 + (y / 4) * (1 + (y / 9) * (1 + (y / 16) * (1 + (y / 25) * (1 + y / 36))))));
}
