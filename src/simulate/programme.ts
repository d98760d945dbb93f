// An invented concert, synthesised: something to record on a simulated tape when no recording is at hand. Music-like sound on
// every channel, pauses with room noise, a crescendo, loud and quiet parts. Not for test signals (measure/).
import { type Rate, rateHz } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import type { Sound } from './encode.ts';
import { INSTRUMENTS, notesOf, type Part, type Timing } from './score.ts';

export interface ProgrammeSpec {
  readonly channels: number;
  readonly seconds: number;
  readonly rate: Rate;
  readonly bits: number;
  readonly seed: number;
  /** rms of the room noise in steps of a 16-bit word (of the word itself when it is shorter). Default 2.5 */
  readonly noiseSteps?: number;
}

/** With one or two channels every part is heard; else channels take the parts in turn, with some of the neighbours. */
const PARTS: readonly Part[] = [
  'low strings',
  'voice',
  'plucked',
  'bells',
  'percussion',
  'speaker',
  'high strings',
  'harp',
];
const BLEED = 0.05;
const BLEED_DELAY_SECONDS = 0.009;

/** Peaks lie between -6 and -1 dBFS, nothing clips. The same spec gives the same samples (given one JavaScript engine). */
export function synthesiseProgramme(spec: ProgrammeSpec): Sound {
  const { channels, seconds, rate, bits } = spec;
  const random = new Random(spec.seed);
  const frames = Math.round(seconds * rateHz(rate));
  const timing = { rateHz: rateHz(rate), seconds, beatSeconds: 0.42 + 0.15 * random.fork('tempo').uniform() };
  const dry = Array.from({ length: channels }, (_, c) => {
    const out = new Float64Array(frames);
    for (const part of partsOf(c, channels)) play(out, part, timing, random.fork(`channel ${c} ${part}`));
    return normalise(out);
  });
  const delay = Math.round(BLEED_DELAY_SECONDS * timing.rateHz);
  const planes = dry.map((own, c) => {
    const neighbours = dry.filter((_, k) => Math.abs(k - c) === 1);
    return finish(own, neighbours, delay, spec, random.fork(`room ${c}`));
  });
  return { planes, bits, rate };
}

function partsOf(channel: number, channels: number): readonly Part[] {
  if (channels > 2) return [PARTS[channel % PARTS.length]];
  return PARTS.filter((_, k) => channels === 1 || k % 2 === channel);
}

function play(out: Float64Array, part: Part, timing: Timing, random: Random): void {
  for (const [k, note] of notesOf(part, timing, random.fork('notes')).entries()) {
    INSTRUMENTS[part](out, note, timing.rateHz, random.fork(`note ${k}`));
  }
}

function normalise(out: Float64Array): Float64Array {
  const peak = peakOf(out);
  if (peak > 0) for (let n = 0; n < out.length; n++) out[n] /= peak;
  return out;
}

function peakOf(samples: Float64Array): number {
  let peak = 0;
  for (let n = 0; n < samples.length; n++) peak = Math.max(peak, Math.abs(samples[n]));
  return peak;
}

/** Own sound, the neighbours late and soft, room noise; rounded to the word. */
function finish(
  own: Float64Array,
  neighbours: readonly Float64Array[],
  delay: number,
  spec: ProgrammeSpec,
  random: Random,
): Int32Array {
  const mix = own.slice();
  for (const other of neighbours) for (let n = delay; n < mix.length; n++) mix[n] += BLEED * other[n - delay];
  normalise(mix);
  const peakDb = -6 + 4.8 * random.uniform();
  const full = 2 ** (spec.bits - 1) - 1;
  const scale = full * 10 ** (peakDb / 20);
  const rms = (spec.noiseSteps ?? 2.5) * 2 ** Math.max(0, spec.bits - 16);
  // triangular noise (variance 1/6) through y += 0.6 (x - y): variance 0.6 / 1.4 of the input, duller as rooms are
  const strength = rms * Math.sqrt((6 * 1.4) / 0.6);
  const plane = new Int32Array(mix.length);
  let room = 0;
  for (let n = 0; n < mix.length; n++) {
    room += 0.6 * (random.triangular() - room);
    plane[n] = Math.max(-full - 1, Math.min(full, Math.round(scale * mix[n] + strength * room)));
  }
  return plane;
}
