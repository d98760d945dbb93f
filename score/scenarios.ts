// The damage scenarios of the score: how samples are lost and how the deck covers them. Own choice of lengths; lattices from
// formats.md 4.8 and 5.6.
import type { Random } from '../src/signal/index.ts';
import type { ConcealMethod, Loss } from '../src/simulate/index.ts';

export interface Scenario {
  readonly id: string;
  /** class the deck's covering belongs to */
  readonly kind: string;
  readonly lengths: readonly number[];
  readonly method: (random: Random) => ConcealMethod;
  /** which frames of a burst are lost, counted from its start; all when left out */
  readonly lost?: (offset: number) => boolean;
}

const ROUNDINGS = ['floor', 'nearest', 'toward-zero', 'ceil'] as const;
const line = (random: Random): ConcealMethod => ({ kind: 'line', rounding: ROUNDINGS[random.integer(4)] });

export const SCENARIOS: readonly Scenario[] = [
  { id: 'line', kind: 'interpolated', lengths: [2, 3, 4, 6, 8, 12, 16, 24, 48], method: line },
  { id: 'every-2nd', kind: 'interpolated', lengths: [33, 101, 720, 1440], method: line, lost: (i) => i % 2 === 0 },
  { id: '3-of-5', kind: 'interpolated', lengths: [48, 198, 1598], method: line, lost: (i) => i % 5 < 3 },
  { id: '1-of-15', kind: 'interpolated', lengths: [301, 1591], method: line, lost: (i) => i % 15 === 0 },
  { id: 'hold', kind: 'held', lengths: [2, 3, 4, 6, 8, 12, 24, 48, 96], method: () => ({ kind: 'hold' }) },
  {
    id: 'mute',
    kind: 'muted',
    lengths: [24, 96, 525, 735, 1440],
    method: () => ({ kind: 'mute', fadeOutFrames: 0, fadeInFrames: 0, releaseFrames: 0 }),
  },
  {
    id: 'mute-ramped',
    kind: 'muted',
    lengths: [525, 735, 1440, 4800],
    method: (random) => ({ kind: 'mute', fadeOutFrames: 48 * random.integer(5), fadeInFrames: 96, releaseFrames: 0 }),
  },
  {
    id: 'repeat-field',
    kind: 'repeated',
    lengths: [24, 48, 96, 240, 525, 735],
    method: () => ({ kind: 'repeat', blockFrames: 735 }),
  },
  {
    id: 'repeat-frame',
    kind: 'repeated',
    lengths: [64, 720, 1440],
    method: () => ({ kind: 'repeat', blockFrames: 1440 }),
  },
];

/** About one burst in `every` frames, at random places, never touching each other. */
export function burstsOf(scenario: Scenario, channel: number, frames: number, every: number, random: Random): Loss[] {
  const losses: Loss[] = [];
  for (let at = every / 2; at < frames; ) {
    const length = scenario.lengths[random.integer(scenario.lengths.length)];
    const start = Math.floor(at);
    if (start + length + 2000 > frames) break;
    const { lost } = scenario;
    losses.push({
      channel,
      start,
      length,
      pattern: scenario.id,
      cause: 'score',
      ...(lost ? { lost: (frame: number) => lost(frame - start) } : {}),
    });
    at += length + every * (0.5 + random.uniform());
  }
  return losses;
}
