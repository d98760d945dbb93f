// The single numbers of a measurement, in the order every face lists them: what each is called, its unit, where it stands. Numbers that
// go over level or frequency are in measure-curves.ts.
import type { ChannelMeasurement, Measured } from '../../measure/index.ts';
import type { MeasuredCapture } from './measure-document.ts';

export interface Quantity {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly digits: number;
  of(channel: ChannelMeasurement, capture: MeasuredCapture): Measured;
}

const NOTHING: Measured = { value: null, uncertainty: null };

export const QUANTITIES: readonly Quantity[] = [
  quantity('dynamic-range', 'Dynamic range (AES17: -60 dBFS, CCIR-RMS)', 'dB', 1, (c) => c.levels.dynamicRangeDb),
  quantity('dynamic-range-a', 'Dynamic range, A-weighted', 'dB', 1, (c) => c.levels.dynamicRangeADb),
  quantity('dynamic-range-plain', 'Dynamic range, unweighted', 'dB', 1, (c) => c.levels.dynamicRangePlainDb),
  quantity('thdn', 'THD+N at -1 dBFS or the loudest clean step', 'dB', 1, (c) => c.levels.thdnDb),
  quantity('effective-bits', 'Effective bits, loud', 'bit', 2, (c) => c.levels.effectiveBits),
  quantity('effective-bits-quiet', 'Effective bits, at -60 dBFS', 'bit', 2, (c) => c.levels.effectiveBitsQuiet),
  quantity('idle', 'Idle noise, unweighted', 'dBFS', 1, (c) => c.idle.noiseDb),
  quantity('idle-a', 'Idle noise, A-weighted', 'dBFS', 1, (c) => c.idle.noiseADb),
  quantity('idle-ccir', 'Idle noise, CCIR-RMS', 'dBFS', 1, (c) => c.idle.noiseCcirDb),
  quantity('hum', 'Hum (50 or 60 Hz and harmonics)', 'dBFS', 1, (c) => c.idle.humDb),
  quantity('gain', 'Gain', 'dB', 2, (c) => c.levels.gainDb),
  quantity('clipping', 'Clips when sent', 'dBFS', 2, (c) => c.levels.clippingDb),
  quantity('recommended-peak', 'Highest peaks to send (3 dB headroom)', 'dBFS', 1, (c) => c.levels.recommendedPeakDb),
  quantity('low-edge', 'Response, lower -3 dB edge', 'Hz', 0, (c) => c.response.lowEdgeHz),
  quantity('high-edge', 'Response, upper -3 dB edge', 'Hz', 0, (c) => c.response.highEdgeHz),
  quantity('flatness', 'Largest deviation inside the band', 'dB', 2, (c) => c.response.flatnessDb),
  quantity('modulation', 'Intermodulation 61 + 7993 Hz, 4:1', 'dB', 1, (c) => c.modulationDb),
  quantity('difference-tone', 'Intermodulation 13001 + 13999 Hz', 'dB', 1, (c) => c.differenceDb),
  quantity('multitone', 'Noise and distortion under 30 tones', 'dB', 1, (c) => c.multitoneDb),
  quantity('crosstalk', 'Crosstalk from the other channel at 997 Hz', 'dB', 1, (c) => crosstalkAt(c, 997)),
  quantity('true-rate', 'Frames in a second of the programme', 'Hz', 3, (_, capture) => capture.clock.trueRateHz),
  quantity('rate-error', 'The same against the label', 'ppm', 3, (_, capture) => capture.clock.errorPpm),
];

function quantity(id: string, label: string, unit: string, digits: number, of: Quantity['of']): Quantity {
  return { id, label, unit, digits, of };
}

function crosstalkAt(channel: ChannelMeasurement, hz: number): Measured {
  return channel.separation.crosstalk.find((one) => one.hz === hz)?.levelDb ?? NOTHING;
}

/** "97.06 ± 0.65", "below -101.5", "at least 0.0", "none". Digits as told, more where the uncertainty is finer than they show. */
export function measuredText(one: Measured, digits: number): string {
  if (one.value === null) return 'none';
  const value = plain(one.value, digits);
  if (one.limit === 'at-most') return `below ${value}`;
  if (one.limit === 'at-least') return `at least ${value}`;
  return `${value} ± ${plain(Math.max(one.uncertainty ?? 0, 10 ** -digits / 2), digits)}`;
}

function plain(value: number, digits: number): string {
  const text = value.toFixed(digits);
  return Number(text) === 0 ? (0).toFixed(digits) : text;
}
