// Tones in dBFS (peak) and silences one after the other, as EBU Tech 3341 and 3342 describe their test signals. 24 bit.
import type { Rate } from '../../base/index.ts';
import { rateHz } from '../../base/index.ts';

export const BITS = 24;
export const FULL = 2 ** (BITS - 1);

/** [level in dBFS or -Infinity, seconds] */
export type Segment = readonly [number, number];

/** One channel; the tone runs on through changes of level. */
export function toneSegments(segments: readonly Segment[], rate: Rate, frequencyHz = 1000): Int32Array {
  const hz = rateHz(rate);
  const lengths = segments.map(([, seconds]) => Math.round(seconds * hz));
  const plane = new Int32Array(lengths.reduce((sum, length) => sum + length, 0));
  let at = 0;
  for (const [k, [levelDb]] of segments.entries()) {
    const amplitude = FULL * 10 ** (levelDb / 20);
    for (const end = at + lengths[k]; at < end; at++) {
      const value = Math.round(amplitude * Math.sin((2 * Math.PI * frequencyHz * at) / hz));
      plane[at] = Math.min(FULL - 1, value);
    }
  }
  return plane;
}

/** A tone whose phase is given at its first frame, with raised-cosine fades of 0.1 s at both ends. */
export function fadedTone(cyclesPerFrame: number, phaseDegrees: number, amplitude: number, frames: number): Int32Array {
  const fade = 4800;
  const phase = (phaseDegrees * Math.PI) / 180;
  return Int32Array.from({ length: frames }, (_, i) => {
    const edge = Math.min(1, i / fade, (frames - 1 - i) / fade);
    const gain = amplitude * (0.5 - 0.5 * Math.cos(Math.PI * edge));
    return Math.round(FULL * gain * Math.sin(2 * Math.PI * cyclesPerFrame * i + phase));
  });
}
