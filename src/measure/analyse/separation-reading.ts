// Which channel of the programme a captured channel holds, and how much of the other one: tones that were sent in one channel alone.
import { fitTones } from '../spectrum/tone-fit.ts';
import { type Measured, measured, NOTHING } from './measured.ts';

export interface SoloTone {
  /** channel of the programme that was sent alone */
  readonly sent: 1 | 2;
  readonly hz: number;
  readonly amplitude: number;
  /** one standard deviation of the amplitude */
  readonly sigma: number;
}

export interface SeparationReading {
  /** 0: both alike (summed, or one cable for both); null where neither was heard */
  readonly programmeChannel: 0 | 1 | 2 | null;
  /** level of the other channel's tone against this channel's own, dB */
  readonly crosstalk: readonly { readonly hz: number; readonly levelDb: Measured }[];
}

export function readSolo(samples: Float64Array, perSecond: number, sent: 1 | 2, hz: number): SoloTone {
  if (hz / perSecond >= 0.49) return { sent, hz, amplitude: 0, sigma: 0 };
  const fit = fitTones(samples, [hz / perSecond]);
  return { sent, hz, amplitude: fit.amplitudes[0], sigma: Math.sqrt((2 * fit.variance) / Math.max(1, samples.length)) };
}

export function separation(solos: readonly SoloTone[]): SeparationReading {
  const strength = (sent: 1 | 2) =>
    solos.filter((one) => one.sent === sent).reduce((sum, one) => sum + one.amplitude ** 2, 0);
  const [one, two] = [strength(1), strength(2)];
  const floor = solos.reduce((sum, solo) => sum + 100 * solo.sigma ** 2, 0);
  if (Math.max(one, two) <= floor) return { programmeChannel: null, crosstalk: [] };
  // 6 dB apart: less is a mix of both
  if (one < 4 * two && two < 4 * one) return { programmeChannel: 0, crosstalk: [] };
  const own = one > two ? 1 : 2;
  const crosstalk = solos
    .filter((solo) => solo.sent === own)
    .flatMap((solo) => {
      const other = solos.find((candidate) => candidate.sent !== own && candidate.hz === solo.hz);
      return other && solo.amplitude > 10 * solo.sigma ? [{ hz: solo.hz, levelDb: ratio(other, solo) }] : [];
    });
  return { programmeChannel: own, crosstalk };
}

function ratio(leaked: SoloTone, own: SoloTone): Measured {
  if (leaked.amplitude < 4 * leaked.sigma || leaked.amplitude === 0) {
    const bound = Math.max(leaked.amplitude, 4 * leaked.sigma);
    if (bound === 0) return NOTHING;
    return { value: 20 * Math.log10(bound / own.amplitude), uncertainty: null, limit: 'at-most' };
  }
  const spread = Math.hypot(leaked.sigma / leaked.amplitude, own.sigma / own.amplitude);
  return measured(20 * Math.log10(leaked.amplitude / own.amplitude), 20 * Math.log10(1 + 3 * spread) + 0.01);
}
