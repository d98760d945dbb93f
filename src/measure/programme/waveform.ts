// The wave of every section as a function of time, so that a capture can be compared at whatever rate it was made.
// Not for whole samples or dither (write-programme.ts).
import { fadeAt, PILOT_DB, pilotAt } from './pilot.ts';
import type { Section, Sound, Tone } from './plan.ts';

/** Short enough to lose little of a step, long enough to make no click. */
export const TONE_FADE_SECONDS = 0.01;
const SWEEP_FADE_SECONDS = 0.05;

/** The section's wave at seconds from its own start; full scale is 1. Impulses have no wave here: they are single frames. */
export function waveOf(section: Section): (seconds: number) => number {
  const { sound, length } = section;
  switch (sound.kind) {
    case 'silence':
    case 'impulses':
      return () => 0;
    case 'pilot':
      return (t) => amplitude(PILOT_DB) * pilotAt(t, sound.codeSeconds);
    case 'tones':
      return tonesWave(sound.tones, length);
    case 'fade':
      return (t) =>
        amplitude(sound.fromDb + ((sound.toDb - sound.fromDb) * t) / length) *
        fadeAt(t, length, TONE_FADE_SECONDS) *
        Math.sin(2 * Math.PI * sound.hz * t);
    case 'sweep':
      return sweepWave(sound, length);
  }
}

export function amplitude(levelDb: number): number {
  return 10 ** (levelDb / 20);
}

function tonesWave(tones: readonly Tone[], length: number): (seconds: number) => number {
  const parts = tones.map(({ hz, levelDb, phase }) => ({ a: amplitude(levelDb), w: 2 * Math.PI * hz, phase }));
  return (t) => {
    let sum = 0;
    for (const { a, w, phase } of parts) sum += a * Math.sin(w * t + phase);
    return fadeAt(t, length, TONE_FADE_SECONDS) * sum;
  };
}

/** Exponential sweep after A. Farina (AES convention 108, 2000; certainty M). */
function sweepWave(sound: Extract<Sound, { kind: 'sweep' }>, length: number): (seconds: number) => number {
  const growth = Math.log(sound.toHz / sound.fromHz);
  const scale = (2 * Math.PI * sound.fromHz * length) / growth;
  const end = (length * Math.log(sound.topHz / sound.fromHz)) / growth;
  return (t) =>
    t < 0 || t >= end
      ? 0
      : amplitude(sound.levelDb) *
        fadeAt(t, end, SWEEP_FADE_SECONDS) *
        Math.sin(scale * (Math.exp((t * growth) / length) - 1));
}
