// Sounds for an invented concert, each added into a buffer: plucked string, bell, bowed string and voice, percussion, speech.
// Plausible, not faithful: what matters is spectra, attacks, decays and noise like those of music. Not for what is played (score.ts).
// Methods are common practice (string algorithm of K. Karplus and A. Strong 1983, additive bells, formant filters; certainty M).
import type { Random } from '../signal/index.ts';

export interface Note {
  /** frames; the sound may ring on after `frames` */
  readonly start: number;
  readonly frames: number;
  readonly hz: number;
  /** amplitude at the beginning and at the end, full scale = 1 */
  readonly from: number;
  readonly to: number;
}

export type Instrument = (out: Float64Array, note: Note, rateHz: number, random: Random) => void;

const noise = (random: Random) => random.uint32() / 2 ** 31 - 1;

/** A noise-filled delay line that loses its highs on every turn. */
export const pluck: Instrument = (out, note, rateHz, random) => {
  const period = rateHz / note.hz - 0.5;
  const size = Math.floor(period);
  const line = new Float64Array(size + 1);
  for (let i = 0; i <= size; i++) line[i] = note.from * noise(random);
  const share = period - size;
  const loss = 0.001 ** (1 / (note.hz * (1.2 + 220 / note.hz)));
  const end = Math.min(out.length, note.start + Math.round(rateHz * 3.5));
  const fade = Math.round(rateHz * 0.05);
  let before = 0;
  for (let n = note.start, i = 0; n < end; n++) {
    const now = line[i];
    out[n] += end - n < fade ? (now * (end - n)) / fade : now;
    const next = i === size ? line[0] : line[i + 1];
    const tuned = now + share * (before - now);
    line[i] = loss * (0.5 * tuned + 0.5 * next);
    before = now;
    i = i === size ? 0 : i + 1;
  }
};

/** Ratios, strengths and relative lives of the partials of a bell. */
const BELL = [
  [0.56, 0.7, 1],
  [0.92, 1, 0.9],
  [1.19, 0.9, 0.65],
  [1.71, 0.6, 0.55],
  [2, 0.7, 0.4],
  [2.74, 0.5, 0.3],
  [3.76, 0.35, 0.2],
  [5.43, 0.25, 0.12],
] as const;

export const bell: Instrument = (out, note, rateHz, random) => {
  for (const [ratio, strength, life] of BELL) {
    const w = (2 * Math.PI * note.hz * ratio * (1 + 0.002 * noise(random))) / rateHz;
    if (w > 0.9 * Math.PI) continue;
    const seconds = 4.5 * life;
    const shrink = 0.001 ** (1 / (seconds * rateHz));
    const [c, s] = [shrink * Math.cos(w), shrink * Math.sin(w)];
    let [x, y] = [note.from * 0.25 * strength, 0];
    const end = Math.min(out.length, note.start + Math.round(seconds * rateHz));
    for (let n = note.start; n < end; n++) {
      out[n] += y;
      const turned = x * c - y * s;
      y = x * s + y * c;
      x = turned;
    }
  }
};

/** Harmonics with vibrato and noise of the bow; `tilt` is the strength of each harmonic against the one below. */
function sustained(tilt: number, noisiness: number, vibrato: number): Instrument {
  return (out, note, rateHz, random) => {
    // harmonics below the Nyquist frequency, and none that is 54 dB under the first
    const audible = Math.min(24, Math.ceil(Math.log(0.002) / Math.log(tilt)));
    const top = Math.max(1, Math.min(audible, Math.floor((0.42 * rateHz) / (note.hz * (1 + vibrato)))));
    const attack = Math.min(note.frames / 3, 0.09 * rateHz);
    const end = Math.min(out.length, note.start + note.frames);
    const wobble = (2 * Math.PI * (4.8 + random.uniform())) / rateHz;
    const w = (2 * Math.PI * note.hz) / rateHz;
    let [phase, breath] = [2 * Math.PI * random.uniform(), 0];
    for (let n = note.start; n < end; n++) {
      const at = n - note.start;
      const envelope = Math.min(1, at / attack, (note.frames - at) / attack);
      const level = envelope * (note.from + ((note.to - note.from) * at) / note.frames);
      phase += w * (1 + vibrato * Math.sin(wobble * at));
      const twice = 2 * Math.cos(phase);
      let [older, sine, weight, sum] = [0, Math.sin(phase), 1, 0];
      for (let k = 1; k <= top; k++) {
        sum += weight * sine;
        weight *= tilt;
        const next = twice * sine - older;
        older = sine;
        sine = next;
      }
      breath += 0.5 * (noise(random) - breath);
      out[n] += level * ((1 - tilt) * sum + noisiness * breath);
    }
  };
}

export const bowed = sustained(0.82, 0.06, 0.004);
export const voice = sustained(0.6, 0.035, 0.009);

/** A thump and a burst of noise; low notes thump, high ones hiss. */
export const percussion: Instrument = (out, note, rateHz, random) => {
  const hiss = Math.min(1, note.hz / 4000);
  const noiseShrink = Math.exp(-1 / ((0.03 + 0.12 * hiss) * rateHz));
  const thumpShrink = Math.exp(-1 / (0.12 * rateHz));
  const end = Math.min(out.length, note.start + Math.round(0.9 * rateHz));
  let [noiseLevel, thumpLevel, phase, low] = [note.from * (0.4 + 0.6 * hiss), note.from * (1 - hiss), 0, 0];
  for (let n = note.start; n < end; n++) {
    phase += (2 * Math.PI * (50 + 90 * (thumpLevel / note.from))) / rateHz;
    const white = noise(random);
    low += 0.25 * (white - low);
    out[n] += thumpLevel * Math.sin(phase) + noiseLevel * (hiss * (white - low) + (1 - hiss) * low);
    noiseLevel *= noiseShrink;
    thumpLevel *= thumpShrink;
  }
};

/** First three formants of some vowels in Hz (common tables, rounded; certainty M). */
const VOWELS = [
  [730, 1090, 2440],
  [530, 1840, 2480],
  [270, 2290, 3010],
  [570, 840, 2410],
  [300, 870, 2240],
] as const;

/** One syllable: a hiss of a consonant, then pulses through three resonators. */
export const syllable: Instrument = (out, note, rateHz, random) => {
  const vowel = VOWELS[random.integer(VOWELS.length)];
  const filters = vowel.map((hz, k) => resonator(hz, 60 + 40 * k, rateHz));
  const hissFrames = Math.round(note.frames * 0.25 * random.uniform());
  const end = Math.min(out.length, note.start + note.frames);
  let [phase, glide, last] = [0, 1, 0];
  for (let n = note.start; n < end; n++) {
    const at = n - note.start;
    const rest = note.frames - at;
    const white = noise(random);
    let source = 0.012 * white;
    if (at < hissFrames) source += 0.12 * (white - last);
    else {
      glide -= 0.12 / note.frames;
      phase += (note.hz * glide) / rateHz;
      if (phase >= 1) phase -= 1;
      // a pulse that opens slowly and closes at once
      source += (phase < 0.6 ? phase * phase * (0.6 - phase) * 30 : 0) - 0.35;
    }
    last = white;
    const envelope = Math.min(1, at / (0.012 * rateHz), rest / (0.03 * rateHz));
    out[n] += note.from * envelope * (filters[0](source) + 0.6 * filters[1](source) + 0.35 * filters[2](source));
  }
};

function resonator(hz: number, widthHz: number, rateHz: number): (x: number) => number {
  const r = Math.exp((-Math.PI * widthHz) / rateHz);
  const a = 2 * r * Math.cos((2 * Math.PI * hz) / rateHz);
  const b = -r * r;
  const scale = 1 - r;
  let [y1, y2, x2, x1] = [0, 0, 0, 0];
  return (x) => {
    // zeros at 0 Hz and Nyquist keep the peak gain near one
    const y = scale * (x - x2) + a * y1 + b * y2;
    x2 = x1;
    x1 = x;
    y2 = y1;
    y1 = y;
    return y;
  };
}
