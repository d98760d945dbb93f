// The damage of the score: in what word the sound lies on the tape, how samples are lost, how the deck covers them. Losses by
// chance are here; those in the rhythm of a format come from format-scenarios.ts. Lengths are own choice, lattices those of
// formats.md 4.8 and 5.6.
import { type Rate, rate, type SegmentLaw } from '../src/base/index.ts';
import type { Random } from '../src/signal/index.ts';
import type { ConcealMethod, ConcealPolicy, Loss } from '../src/simulate/index.ts';
import { findLaw } from '../src/tape/index.ts';

export interface Scenario {
  readonly id: string;
  /** rows of the table that are summed: "16 bit", "companded", a format's family … */
  readonly group: string;
  readonly word: Word;
  readonly losses: (channels: number, frames: number, random: Random) => Loss[];
  readonly policy: (random: Random) => ConcealPolicy;
  /** one burst per loss, however its lattice tears it into runs; otherwise one per unbroken stretch of one kind */
  readonly joins: boolean;
  /** counted by spectrum and length as well: the scenarios that measure the limit of detection */
  readonly isFine?: boolean;
}

export interface Word {
  /** the recording's own where left out */
  readonly rate?: Rate;
  readonly linearBits: 14 | 16 | 20 | 24 | 10;
  readonly law?: SegmentLaw;
}

interface Pattern {
  readonly id: string;
  readonly lengths: readonly number[];
  readonly method: (random: Random) => ConcealMethod;
  /** which frames of a burst are lost, counted from its start; all when left out */
  readonly lost?: (offset: number) => boolean;
  readonly domain?: 'codes' | undefined;
}

const ROUNDINGS = ['floor', 'nearest', 'toward-zero', 'ceil'] as const;
const line = (random: Random): ConcealMethod => ({ kind: 'line', rounding: ROUNDINGS[random.integer(4)] });
const mute = (fadeOutFrames: number, fadeInFrames: number): ConcealMethod => ({
  kind: 'mute',
  fadeOutFrames,
  fadeInFrames,
  releaseFrames: 0,
});
const repeat = (blockFrames: number) => (): ConcealMethod => ({ kind: 'repeat', blockFrames });

const LINE: Pattern = { id: 'line', lengths: [2, 3, 4, 6, 8, 12, 16, 24, 48], method: line };
const EVERY_2ND: Pattern = { id: 'every-2nd', lengths: [33, 101, 720, 1440], method: line, lost: (i) => i % 2 === 0 };
const HOLD: Pattern = { id: 'hold', lengths: [2, 3, 4, 6, 8, 12, 24, 48, 96], method: () => ({ kind: 'hold' }) };
const MUTE: Pattern = { id: 'mute', lengths: [24, 96, 525, 735, 1440], method: () => mute(0, 0) };
const REPEAT_FIELD: Pattern = { id: 'repeat-field', lengths: [24, 48, 96, 240, 525, 735], method: repeat(735) };

const EVERYWHERE: readonly Pattern[] = [LINE, EVERY_2ND, HOLD, MUTE, REPEAT_FIELD];
const IN_16_BIT: readonly Pattern[] = [
  ...EVERYWHERE,
  { id: '3-of-5', lengths: [48, 198, 1598], method: line, lost: (i) => i % 5 < 3 },
  { id: '1-of-15', lengths: [301, 1591], method: line, lost: (i) => i % 15 === 0 },
  {
    id: 'mute-ramped',
    lengths: [525, 735, 1440, 4800],
    method: (random) => mute(48 * random.integer(5), 96),
  },
  { id: 'repeat-frame', lengths: [64, 720, 1440], method: repeat(1440) },
  { id: 'repeat-buffer', lengths: [64, 256, 1024], method: repeat(1024) },
];

const SIXTEEN: Word = { linearBits: 16 };
const LONG_PLAY: Word = { linearBits: 16, law: findLaw('nonlinear-12'), rate: rate(32_000) };
const EIGHT_MM: Word = { linearBits: 10, law: findLaw('eight-mm'), rate: rate(4_500_000, 143) };
const IN_CODES = { patterns: [LINE, EVERY_2ND], domain: 'codes' } as const;

interface WordGroup {
  readonly group: string;
  readonly word: Word;
  readonly patterns: readonly Pattern[];
  /** where the deck counts: before the expansion of a law, or (left out) after it */
  readonly domain?: 'codes';
}

const WORDS: readonly WordGroup[] = [
  { group: '16 bit', word: SIXTEEN, patterns: IN_16_BIT },
  { group: '20 bit', word: { linearBits: 20, rate: rate(48_000) }, patterns: EVERYWHERE },
  { group: '24 bit', word: { linearBits: 24, rate: rate(48_000) }, patterns: EVERYWHERE },
  { group: '12 bit nonlinear', word: LONG_PLAY, patterns: EVERYWHERE },
  { group: '12 bit nonlinear, in codes', word: LONG_PLAY, ...IN_CODES },
  { group: '8 mm law', word: EIGHT_MM, patterns: EVERYWHERE },
  { group: '8 mm law, in codes', word: EIGHT_MM, ...IN_CODES },
];

/** One burst in so many frames, on average. */
const EVERY = 6000;

/** In every word length and law, concealed after expansion and before it. */
export function chanceScenarios(): Scenario[] {
  return WORDS.flatMap(({ group, word, patterns, domain }) =>
    patterns.map((pattern) => scenarioOf(`${group} ${pattern.id}`, group, word, { ...pattern, domain })),
  );
}

/** Rows of every short length, however hopeless: what can be seen at all, by level and spectrum. */
export function limitScenarios(): Scenario[] {
  const lengths = [1, 2, 3, 4, 6, 8, 12, 16, 24, 48];
  const patterns: Pattern[] = [
    { id: 'line', lengths, method: line },
    { id: 'hold', lengths, method: () => ({ kind: 'hold' }) },
  ];
  return patterns.map((p) => ({ ...scenarioOf(`limit ${p.id}`, 'limits', SIXTEEN, p, 2500), isFine: true }));
}

function scenarioOf(id: string, group: string, word: Word, pattern: Pattern, every = EVERY): Scenario {
  return {
    id,
    group,
    word,
    joins: true,
    losses: (channels, frames, random) =>
      Array.from({ length: channels }, (_, c) => burstsOf(pattern, c + 1, frames, every, random)).flat(),
    policy: (random) => ({
      rules: [{ upTo: Number.POSITIVE_INFINITY, method: pattern.method(random) }],
      domain: pattern.domain ?? 'samples',
    }),
  };
}

/** At random places, never touching each other. */
function burstsOf(pattern: Pattern, channel: number, frames: number, every: number, random: Random): Loss[] {
  const losses: Loss[] = [];
  for (let at = every / 2; at < frames; ) {
    const length = pattern.lengths[random.integer(pattern.lengths.length)];
    const start = Math.floor(at);
    if (start + length + 2000 > frames) break;
    const { lost, id } = pattern;
    const isLost = lost ? { lost: (frame: number) => lost(frame - start) } : {};
    losses.push({ channel, start, length, pattern: id, cause: 'score', ...isLost });
    at += length + every * (0.5 + random.uniform());
  }
  return losses;
}
