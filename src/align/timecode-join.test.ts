// Captures joined by timecode alone: offset and its stated uncertainty against the truth, and the joins that must be refused.
import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { Random, readTimecode, TimecodeDecoder, timecodeSummary } from '../signal/index.ts';
import { makeTimecode, TIMECODE_RATES, wordsFrom } from '../signal/testing/made-timecode.ts';
import type { Alignment } from './placement.ts';
import { joinTimecode, type TimecodeFacts, timecodeContradictions } from './timecode-join.ts';
import { timecodeOffset } from './timecode-offset.ts';

const RATE = rate(48_000);
const [, , RATE_25, DROP] = TIMECODE_RATES;

function coded(plane: Int32Array) {
  const decoder = new TimecodeDecoder(48_000);
  decoder.push(plane);
  const reading = readTimecode(decoder.finish(), 48_000, plane.length);
  return reading ? { rate: RATE, code: timecodeSummary(reading, 48_000) } : null;
}

function capture(words: ReturnType<typeof wordsFrom>, from: number, framesPerSecond = 25, seed = 1, noise = 0) {
  const { plane } = makeTimecode(words, { rateHz: 48_000, framesPerSecond });
  const random = new Random(seed);
  const own = plane.subarray(from).map((x) => Math.round(x + noise * random.gaussian()));
  const found = coded(own);
  if (!found) throw new Error('the test made no timecode');
  return found;
}

const apart = (count: number): Alignment => ({
  reference: 0,
  placements: Array.from({ length: count }, (_, i) => ({
    ...{ capture: i, relation: 'unrelated', segments: [], driftPpm: null, uncertaintyFrames: null },
    ...{ method: '', reason: 'no tape channel in common', group: i, gain: 1 },
    ...{ comparedFrames: 0, differingFrames: 0, channelPairs: [] },
  })),
  slips: [],
  loops: [],
  groups: Array.from({ length: count }, (_, i) => [i]),
});

const WORDS = wordsFrom([10, 0, 0], 300, RATE_25);

describe('the offset by timecode', () => {
  it('is the truth within the uncertainty it states, over noise and starts', () => {
    for (const [n, from] of [0, 1, 1920, 12_345, 100_007].entries()) {
      for (const noise of [0, 300, 3000]) {
        const first = capture(WORDS, 5000, 25, 2 * n + 1, noise);
        const second = capture(WORDS, from, 25, 2 * n + 2, noise);
        const found = timecodeOffset(first, second);
        if ('refused' in found) throw new Error(found.refused);
        expect(Math.abs(found.offset - (from - 5000))).toBeLessThanOrEqual(found.uncertaintyFrames);
        expect(found.uncertaintyFrames).toBeLessThanOrEqual(2);
        expect(Math.abs(found.driftPpm)).toBeLessThan(found.driftErrorPpm + 0.2);
      }
    }
  });

  it('goes over midnight and over drop frames', () => {
    const words = wordsFrom([23, 59, 55], 300, DROP);
    const first = capture(words, 0, DROP.framesPerSecond);
    // Begins after midnight.
    const second = capture(words, 300_000, DROP.framesPerSecond);
    expect(timecodeOffset(first, second)).toMatchObject({ offset: 300_000 });
    expect(timecodeOffset(second, first)).toMatchObject({ offset: -300_000 });
  });

  it('of codes that follow each other is where the code would have gone on', () => {
    for (const gap of [1, 50, 3000]) {
      const first = capture(WORDS.slice(0, 150), 0, 25, 1, 300);
      const all = wordsFrom([10, 0, 0], 300 + gap, RATE_25);
      const second = capture(all.slice(150 + gap), 0, 25, 2, 300);
      const found = timecodeOffset(first, second);
      if ('refused' in found) throw new Error(found.refused);
      expect(found).toMatchObject({ words: 0 });
      expect(Math.abs(found.gapWords - gap)).toBeLessThanOrEqual(3);
      expect(Math.abs(found.offset - (150 + gap) * 1920)).toBeLessThanOrEqual(found.uncertaintyFrames);
      const back = timecodeOffset(second, first);
      expect('offset' in back && Math.abs(back.offset + (150 + gap) * 1920) <= back.uncertaintyFrames).toBe(true);
    }
  });

  it('is refused where the clocks differ, and the difference is said', () => {
    const found = timecodeOffset(capture(WORDS, 0), capture(WORDS, 100, 25 * (1 + 20e-6)));
    expect(found).toMatchObject({ refused: expect.stringMatching(/changes by 1\d\.\d frames.*\(-?(19|20)\.\d+ ±/) });
  });

  it('is refused where nothing is common, and where the same code stands twice', () => {
    const other = capture(wordsFrom([12, 0, 0], 100, RATE_25), 0);
    expect(timecodeOffset(capture(WORDS, 0), other)).toMatchObject({
      refused: expect.stringContaining('fewer than 25'),
    });
    const twice = capture([...WORDS.slice(0, 100), ...WORDS.slice(0, 100)], 0);
    const once = capture(WORDS.slice(0, 100), 0);
    expect(timecodeOffset(twice, once)).toMatchObject({ refused: expect.stringContaining('more than once') });
  });

  it('is refused between different rates of file', () => {
    const first = capture(WORDS, 0);
    expect(timecodeOffset(first, { ...first, rate: rate(44_100) })).toHaveProperty('refused');
  });
});

describe('captures that share no channel', () => {
  const facts = (second: ReturnType<typeof capture> | null): TimecodeFacts[] => [
    { coded: capture(WORDS, 5000), pass: 1, name: 'p1-north.wav' },
    { coded: second, pass: 1, name: 'p1-south.wav' },
  ];

  it('are placed by timecode, with the uncertainty, never exactly', () => {
    const joined = joinTimecode(apart(2), facts(capture(WORDS, 12_345)), [500_000, 400_000]);
    expect(joined.groups).toEqual([[0, 1]]);
    const [, placed] = joined.placements;
    expect(placed).toMatchObject({
      group: 0,
      method: 'timecode',
      segments: [{ start: 0, length: 400_000, offset: 7345 }],
    });
    expect(placed.uncertaintyFrames).toBeGreaterThanOrEqual(1);
    expect(placed.reason).toMatch(
      /placed by timecode, ± \d frames.*7345 frames after p1-north\.wav.*No samples confirm it/,
    );
  });

  it('and are not the reference either, share a timeline of their own', () => {
    const other: TimecodeFacts = { coded: null, pass: 2, name: 'p2.wav' };
    const joined = joinTimecode(apart(3), [other, ...facts(capture(WORDS, 12_345))], [10, 500_000, 400_000]);
    expect(joined.groups).toEqual([[0], [1, 2]]);
    expect(joined.placements.map(({ group, segments }) => [group, segments.map(({ offset }) => offset)])).toEqual([
      [0, []],
      [1, [0]],
      [1, [7345]],
    ]);
  });

  it('stay apart where one has none, or other clocks, and say why', () => {
    expect(joinTimecode(apart(2), facts(null), [1, 1])).toEqual(apart(2));
    const refused = joinTimecode(apart(2), facts(capture(WORDS, 0, 25.001)), [1, 1]);
    expect(refused.groups).toHaveLength(2);
    expect(refused.placements[1].reason).toMatch(/timecode does not join it with p1-north\.wav: by timecode/);
  });

  it('whose samples say otherwise than their timecode are told', () => {
    const joined = { ...joinTimecode(apart(2), facts(capture(WORDS, 12_345)), [500_000, 400_000]) };
    const bySamples = (offset: number): Alignment => ({
      ...joined,
      placements: joined.placements.map((placement, i) => ({
        ...placement,
        method: 'equal windows of samples',
        segments: [{ start: 0, length: 400_000, offset: i * offset }],
      })),
    });
    expect(timecodeContradictions(bySamples(7345), facts(capture(WORDS, 12_345)))).toEqual([]);
    expect(timecodeContradictions(bySamples(9345), facts(capture(WORDS, 12_345)))).toHaveLength(1);
  });
});
