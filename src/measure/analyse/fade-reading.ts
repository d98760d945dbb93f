// The tone that fades from -60 to -120 dBFS: how far its level is from where it should be, half a second at a time.
// Not for steady tones (tone-reading.ts).
import { FADE_HZ, type Section } from '../programme/plan.ts';
import { waveOf } from '../programme/waveform.ts';
import { type Measured, measured, NOTHING, spreadDb } from './measured.ts';
import type { Stretch } from './stretch.ts';

export interface FadePoint {
  readonly sentDb: number;
  /** of the tone, dBFS */
  readonly levelDb: Measured;
}

const WINDOW_SECONDS = 0.5;

export function readFade(stretch: Stretch, channel: number, section: Section): FadePoint[] {
  const { sound } = section;
  if (sound.kind !== 'fade') throw new Error('not a fade');
  const { perSecond, from } = stretch;
  const wave = waveOf(section);
  const quarter = 1 / (4 * FADE_HZ);
  const window = Math.floor(WINDOW_SECONDS * perSecond);
  const points: FadePoint[] = [];
  for (let at = 0; at + window <= stretch.planes[channel].length; at += window) {
    const middle = from + (at + window / 2) / perSecond;
    const sentDb = sound.fromDb + ((sound.toDb - sound.fromDb) * middle) / section.length;
    const times = Float64Array.from({ length: window }, (_, n) => from + (at + n) / perSecond);
    const gain = fitWave(
      stretch.planes[channel].subarray(at, at + window),
      times.map((t) => wave(t)),
      times.map((t) => wave(t + quarter)),
    );
    points.push({
      sentDb,
      levelDb:
        gain.value > 0
          ? measured(sentDb + 20 * Math.log10(gain.value), spreadDb(gain.sigma / gain.value) + 0.01)
          : NOTHING,
    });
  }
  return points;
}

/** Amplitude of a wave and its quarter-turn (nearly orthogonal) in samples, against the wave's own; one standard deviation. */
function fitWave(x: Float64Array, wave: Float64Array, turned: Float64Array): { value: number; sigma: number } {
  const mean = x.reduce((sum, value) => sum + value, 0) / x.length;
  let [ww, tt, xw, xt, xx] = [0, 0, 0, 0, 0];
  for (let n = 0; n < x.length; n++) {
    const value = x[n] - mean;
    ww += wave[n] ** 2;
    tt += turned[n] ** 2;
    xw += value * wave[n];
    xt += value * turned[n];
    xx += value * value;
  }
  if (ww === 0) return { value: 0, sigma: 0 };
  const left = Math.max(0, xx - (xw * xw) / ww - (xt * xt) / tt) / x.length;
  return { value: Math.hypot(xw / ww, xt / tt), sigma: Math.sqrt(left / ww) };
}
