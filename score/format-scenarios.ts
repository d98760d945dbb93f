// One scenario for every loss pattern of every tape format and every way a deck may cover it: a head gone for a while, or a
// track lost here and there, at the format's own rate, word and law. The patterns are data of src/tape.
import type { Random } from '../src/signal/index.ts';
import { type ConcealMethod, frameLengthsOf, headLosses, type Loss } from '../src/simulate/index.ts';
import { findLaw, type LossPattern, listFormats, lossMask, type TapeFormat } from '../src/tape/index.ts';
import type { Scenario, Word } from './scenarios.ts';

export function formatScenarios(): Scenario[] {
  return listFormats().flatMap((format) =>
    format.losses.flatMap((pattern) => coversOf(pattern).map((cover) => scenarioOf(format, pattern, cover))),
  );
}

/** Runs of up to `upTo` are drawn as lines, longer ones covered by `long`. */
interface Cover {
  readonly id: string;
  readonly upTo: number;
  readonly long: ConcealMethod;
}

const MUTE: ConcealMethod = { kind: 'mute', fadeOutFrames: 0, fadeInFrames: 0, releaseFrames: 0 };
/** A deck draws lines over at most so many samples. Own choice: the longest run of the lattices. */
const SHORT = 4;

/** Lattices of single samples are drawn or held; whole fields are muted, held, drawn or played again. */
function coversOf(pattern: LossPattern): Cover[] {
  const hold: Cover = { id: 'held', upTo: 0, long: { kind: 'hold' } };
  // Where one lattice joins the next a run may be longer: a deck that draws lines does not mute a sample more.
  if (longestRun(pattern) <= SHORT) return [{ id: 'drawn', upTo: Number.POSITIVE_INFINITY, long: MUTE }, hold];
  return [
    { id: 'drawn, else muted', upTo: SHORT, long: MUTE },
    { id: 'drawn, else held', upTo: SHORT, long: { kind: 'hold' } },
    { id: 'drawn throughout', upTo: Number.POSITIVE_INFINITY, long: MUTE },
    { id: 'drawn, else played again', upTo: SHORT, long: { kind: 'repeat', blockFrames: pattern.period / 2 } },
  ];
}

const ROUNDINGS = ['floor', 'nearest', 'toward-zero', 'ceil'] as const;

function scenarioOf(format: TapeFormat, pattern: LossPattern, { id, upTo, long }: Cover): Scenario {
  return {
    id: `${format.id} ${pattern.id} ${id}`,
    group: format.family,
    word: wordOf(format),
    joins: false,
    losses: (channels, frames, random) => lossesOf(format, pattern, channels, frames, random),
    policy: (random) => ({
      rules: [
        { upTo, method: { kind: 'line', rounding: ROUNDINGS[random.integer(4)] } },
        { upTo: Number.POSITIVE_INFINITY, method: long },
      ],
    }),
  };
}

function wordOf({ signal }: TapeFormat): Word {
  const law = signal.law.value === 'linear' ? {} : { law: findLaw(signal.law.value) };
  return { linearBits: signal.linearBits.value as Word['linearBits'], rate: signal.rates.value[0], ...law };
}

/** Seconds a head stays away: a grain of dirt, a scratch, a clog that clears. Own choice. */
const AWAY_SECONDS = [0.02, 0.05, 0.1, 0.3];
const BETWEEN_SECONDS = 0.7;

/** A head is gone for some time, again and again; of a track pattern one frame at a time. */
function lossesOf(format: TapeFormat, pattern: LossPattern, channels: number, frames: number, random: Random): Loss[] {
  const first = format.signal.rates.value[0];
  const hz = first.num / first.den;
  const frameLengths = frameLengthsOf(format);
  const mean = frameLengths ? frameLengths.reduce((a, b) => a + b, 0) / frameLengths.length : pattern.period;
  const origin = random.integer(pattern.period);
  const numbers = Array.from({ length: channels }, (_, c) => c + 1);
  const losses: Loss[] = [];
  for (let at = 0.3 * hz; at < frames; ) {
    const away = AWAY_SECONDS[random.integer(AWAY_SECONDS.length)] * hz;
    const length = Math.round(pattern.cause === 'one-track' ? mean : away);
    if (at + length + 2000 > frames) break;
    const start = Math.floor(at);
    const place = { pattern, channels: numbers, start, length, origin };
    losses.push(...headLosses(frameLengths ? { ...place, frameLengths } : place));
    at += length + BETWEEN_SECONDS * hz * (0.5 + random.uniform());
  }
  return losses;
}

function longestRun(pattern: LossPattern): number {
  let longest = 0;
  for (let unit = 0; unit < pattern.cycles.length; unit++) {
    for (let channel = 1; channel <= 8; channel++) {
      const mask = lossMask(pattern, channel, unit);
      if (mask.every((lost) => lost === 0)) continue;
      for (let i = 0, run = 0; i < 2 * mask.length; i++) {
        run = mask[i % mask.length] ? run + 1 : 0;
        longest = Math.max(longest, run);
      }
    }
  }
  return longest;
}
