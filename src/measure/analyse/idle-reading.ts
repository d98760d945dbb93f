// Noise without signal: plain and weighted levels, its spectrum in sixths of octaves, mains hum, and whether it is anything at all.
import { bandPower, powerSpectrum } from '../spectrum/power-spectrum.ts';
import { aWeight, ccirRmsWeight } from '../spectrum/weighting.ts';
import { FULL_SCALE_SINE, type Measured, measured, powerDb } from './measured.ts';
import { BAND_HIGH_HZ, BAND_LOW_HZ } from './tone-reading.ts';

export interface SpectrumPoint {
  readonly hz: number;
  /** level in a sixth of an octave around it, dBFS */
  readonly levelDb: Measured;
}

export interface IdleReading {
  /** every sample is the same: the path from the last quantiser on is digital */
  readonly isConstant: boolean;
  /** mean, parts of full scale */
  readonly dc: Measured;
  readonly noiseDb: Measured;
  readonly noiseADb: Measured;
  readonly noiseCcirDb: Measured;
  /** sum of 50 or 60 Hz and its harmonics to 300 Hz, whichever is stronger, with which it is */
  readonly humDb: Measured;
  readonly humHz: 50 | 60;
  readonly spectrum: readonly SpectrumPoint[];
  /** mean square over everything up to half the rate, without the mean; for the identification */
  readonly power: number;
}

export function readIdle(samples: Float64Array, perSecond: number): IdleReading {
  const mean = samples.reduce((sum, x) => sum + x, 0) / Math.max(1, samples.length);
  const rest = samples.map((x) => x - mean);
  const spectrum = powerSpectrum(rest, perSecond, 32_768);
  const high = Math.min(BAND_HIGH_HZ, perSecond / 2);
  const level = (weight?: (hz: number) => number) => {
    const { power, spread } = bandPower(spectrum, BAND_LOW_HZ, high, weight);
    return powerDb(power, FULL_SCALE_SINE, spread);
  };
  const all = bandPower(spectrum, 0, perSecond / 2).power;
  const [hum50, hum60] = [hum(50), hum(60)];
  function hum(base: number) {
    let power = 0;
    for (let hz = base; hz <= 300; hz += base) {
      power += bandPower(spectrum, hz - 4, hz + 4).power;
    }
    return power;
  }
  return {
    isConstant: samples.length > 0 && samples.every((x) => x === samples[0]),
    dc: measured(mean, 3 * Math.sqrt(all / Math.max(1, samples.length))),
    noiseDb: level(),
    noiseADb: level(aWeight),
    noiseCcirDb: level(ccirRmsWeight),
    humDb: powerDb(Math.max(hum50, hum60), FULL_SCALE_SINE, 0.15),
    humHz: hum60 > hum50 ? 60 : 50,
    spectrum: sixths(high).map((hz) => {
      const { power, spread } = bandPower(spectrum, hz * 2 ** (-1 / 12), Math.min(high, hz * 2 ** (1 / 12)));
      return { hz, levelDb: powerDb(power, FULL_SCALE_SINE, spread) };
    }),
    power: all,
  };
}

function sixths(high: number): number[] {
  const out: number[] = [];
  for (let hz = 25; hz < high; hz *= 2 ** (1 / 6)) out.push(hz);
  return out;
}
