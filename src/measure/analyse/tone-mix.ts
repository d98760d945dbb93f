// Several tones at once: intermodulation of two, and noise with distortion under many.
import { MULTITONE_HZ, TWIN_HIGH, TWIN_LOW } from '../programme/plan.ts';
import { bandPower, powerSpectrum } from '../spectrum/power-spectrum.ts';
import { fitTones } from '../spectrum/tone-fit.ts';
import { type Measured, NOTHING, powerDb } from './measured.ts';
import { BAND_HIGH_HZ, BAND_LOW_HZ } from './tone-reading.ts';

export interface TwoToneReading {
  /** 61 and 7993 Hz, 4:1: the side tones of the high one at 61 and 122 Hz distance, against it, dB */
  readonly modulationDb: Measured;
  /** 13001 and 13999 Hz alike: products of second and third order (998, 12003, 14997 Hz) against both tones, dB */
  readonly differenceDb: Measured;
}

export function readTwinLow(samples: Float64Array, perSecond: number): Measured {
  const { lowHz, highHz } = TWIN_LOW;
  const side = [-2, -1, 1, 2].map((k) => highHz + k * lowHz);
  return products(samples, perSecond, [lowHz, highHz], side, [1]);
}

export function readTwinHigh(samples: Float64Array, perSecond: number): Measured {
  const { lowHz, highHz } = TWIN_HIGH;
  return products(
    samples,
    perSecond,
    [lowHz, highHz],
    [highHz - lowHz, 2 * lowHz - highHz, 2 * highHz - lowHz],
    [0, 1],
  );
}

/** Level of the products against the tones named by `against`; a bound where noise alone could be as strong. */
function products(
  samples: Float64Array,
  perSecond: number,
  sent: readonly number[],
  made: readonly number[],
  against: readonly number[],
): Measured {
  const all = [...sent, ...made].map((hz) => hz / perSecond);
  if (all.some((turn) => turn >= 0.49)) return NOTHING;
  const fit = fitTones(samples, all);
  const reference = against.reduce((sum, k) => sum + fit.amplitudes[k] ** 2, 0);
  const power = made.reduce((sum, _, k) => sum + fit.amplitudes[sent.length + k] ** 2, 0);
  // amplitude squared that noise gives each product
  const own = (made.length * 4 * fit.variance) / samples.length;
  if (!(reference > 16 * own)) return NOTHING;
  if (power < 9 * own) {
    const bound = Math.max(power, 9 * own);
    return bound > 0 ? { value: 10 * Math.log10(bound / reference), uncertainty: null, limit: 'at-most' } : NOTHING;
  }
  return powerDb(power, reference, 2 * Math.sqrt(own / 2 / power));
}

/** Everything that is not one of the tones, against all of it, dB. */
export function readMultitone(samples: Float64Array, perSecond: number): Measured {
  const high = Math.min(BAND_HIGH_HZ, perSecond / 2);
  const turns = MULTITONE_HZ.filter((hz) => hz < 0.49 * perSecond).map((hz) => hz / perSecond);
  const fit = fitTones(samples, turns);
  const { power, spread } = bandPower(powerSpectrum(fit.residual, perSecond), BAND_LOW_HZ, high);
  const tones = fit.amplitudes.reduce((sum, a) => sum + (a * a) / 2, 0);
  return powerDb(power, tones + power, spread);
}
