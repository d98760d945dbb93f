// Real recordings put one behind the other with known gaps: every gap found to 10 ms, nothing invented in the recordings, also where they are quiet. The
// truth is where the test put them.
import { describe, expect, it, test } from 'vitest';
import { blocksOf, rate } from '../../base/index.ts';
import { loadMusic, needMusic, REAL_MUSIC } from '../../media/testing/music.ts';
import type { Skipping } from '../../media/testing/tools.ts';
import { Random } from '../../signal/index.ts';
import { makeTimecode, TIMECODE_RATES, wordsFrom } from '../../signal/testing/made-timecode.ts';
import { ProgrammeFinder } from './programme-finder.ts';

const HZ = 48_000;
const NAMES = ['guitar', 'choir', 'electric-guitar', 'violins', 'tabla', 'flute'];
const WITHIN = 0.01 * HZ;

function find(planes: readonly Int32Array[], blockFrames = 65_536, sets = [planes.map((_, c) => c + 1)]) {
  const info = { name: 'test', channels: planes.length, frames: planes[0].length, rate: rate(HZ), bits: 16 };
  const finder = new ProgrammeFinder(info, { gapSeconds: 1 });
  for (const block of blocksOf(planes, blockFrames)) finder.push(block);
  return finder.finish(sets);
}

async function recordings(context: Skipping): Promise<Int32Array[][]> {
  const all: Int32Array[][] = [];
  for (const name of NAMES) {
    const { planes, bits } = await loadMusic(await needMusic(context, name), { rateHz: HZ, channels: 2 });
    all.push(planes.map((plane) => plane.map((x) => x >> (bits - 16))));
  }
  return all;
}

/**
 * With gaps of noise of this root mean square in steps; 0: digital silence. Rounded, as a recorder's converter leaves it.
 * `colour`: pole of the filter of the first order that makes white noise fall towards the top; 0 leaves it white.
 */
function concatenated(all: readonly Int32Array[][], gapSeconds: number, noise: number, gain: number, colour = 0) {
  const gap = Math.round(gapSeconds * HZ);
  const random = new Random(7);
  const edges: { end: number; start: number }[] = [];
  const frames = all.reduce((sum, [left]) => sum + left.length + gap, -gap);
  const planes = [new Int32Array(frames), new Int32Array(frames)];
  let at = 0;
  for (const [n, own] of all.entries()) {
    if (n > 0) {
      edges.push({ end: at, start: at + gap });
      for (const plane of planes) {
        let value = 0;
        for (let i = 0; i < gap; i++) {
          value = colour * value + Math.sqrt(1 - colour ** 2) * noise * random.gaussian();
          plane[at + i] = Math.round(value);
        }
      }
      at += gap;
    }
    for (const [c, plane] of planes.entries())
      plane.set(
        own[c].map((x) => Math.round(x * gain)),
        at,
      );
    at += own[0].length;
  }
  return { planes, edges };
}

describe('real recordings with gaps between them', () => {
  test.for([
    [2, 0, 1, 0],
    [0.6, 0, 1, 0],
    [2, 0, 0.03, 0],
    [2, 0.5, 1, 0],
    [2, 3, 1, 0],
    [3, 1, 0.3, 0],
    [2.5, 3, 1, 0.9],
    [2.5, 6, 1, 0.99],
  ] as const)(
    'of %d s with noise of %d steps, gain %d, pole %s: each found, none else',
    async ([seconds, noise, gain, colour], context) => {
      const { planes, edges } = concatenated(await recordings(context), seconds, noise, gain, colour);
      const found = find(planes).boundaries[0].filter(({ sureness }) => sureness !== 'possible');
      // Where a recording ends in noise of its own and the gap steps down from it, that step may as well be a recorder's start.
      const isThere = (frame: number) =>
        edges.some(
          ({ end, start }) => Math.abs(frame - start) <= WITHIN || (noise > 0 && Math.abs(frame - end) <= WITHIN),
        );
      expect(found.map(({ frame }) => isThere(frame))).toEqual(edges.map(() => true));
      if (noise === 0) expect(found.every(({ sureness }) => sureness === 'sure')).toBe(true);
    },
  );

  test('short silence between them is told as possible only', async (context) => {
    const { planes, edges } = concatenated(await recordings(context), 0.1, 0, 1);
    const [found] = find(planes).boundaries;
    for (const { start } of edges) {
      const near = found.find(({ frame }) => Math.abs(frame - start) <= WITHIN);
      expect(near?.why).toMatch(/digital silence of 0\.10 s/);
    }
    expect(found.filter(({ sureness }) => sureness === 'sure')).toEqual([]);
  });

  test('are the same whatever the size of the blocks', async (context) => {
    const { planes } = concatenated((await recordings(context)).slice(0, 2), 2, 1, 1);
    const whole = find(planes);
    for (const blockFrames of [97, 192, 30_001]) expect(find(planes, blockFrames)).toEqual(whole);
  });

  test('in pairs of channels of their own are told apart', async (context) => {
    const all = await recordings(context);
    const first = concatenated(all.slice(0, 2), 2, 0, 1);
    const second = concatenated(all.slice(2, 4), 2, 0, 1);
    const frames = Math.max(first.planes[0].length, second.planes[0].length);
    const long = (plane: Int32Array) => {
      const whole = new Int32Array(frames);
      whole.set(plane);
      return whole;
    };
    const { boundaries } = find([...first.planes, ...second.planes].map(long), 65_536, [
      [1, 2],
      [3, 4],
    ]);
    for (const [s, { edges }] of [first, second].entries()) {
      const [found] = boundaries[s];
      expect(Math.abs(found.frame - edges[0].start)).toBeLessThanOrEqual(WITHIN);
    }
  });
});

describe('nothing is proposed as a cut', () => {
  test.for(REAL_MUSIC.map(({ name }) => name))('inside %s, loud or quiet', async (name, context) => {
    const { planes, bits } = await loadMusic(await needMusic(context, name), { rateHz: HZ, channels: 2 });
    for (const gain of [1, 0.03, 0.003]) {
      const random = new Random(3);
      const quiet = planes.map((plane) =>
        plane.map((x) => Math.round(gain * 2 ** (16 - bits) * x + (gain < 1 ? 0.5 * random.gaussian() : 0))),
      );
      expect(find(quiet).boundaries[0].filter(({ sureness }) => sureness !== 'possible')).toEqual([]);
    }
  });

  it('in silence, noise, one frame', () => {
    const random = new Random(1);
    for (const plane of [
      new Int32Array(1),
      new Int32Array(200_000),
      new Int32Array(500_000).map(() => random.integer(99)),
    ]) {
      expect(find([plane]).boundaries).toEqual([[]]);
    }
  });
});

describe('timecode', () => {
  it('that jumps is a boundary to the sample, and its channel is not listened to', () => {
    const words = [...wordsFrom([1, 0, 0], 150, TIMECODE_RATES[2]), ...wordsFrom([1, 10, 0], 150, TIMECODE_RATES[2])];
    const { plane, starts } = makeTimecode(words, { rateHz: HZ, framesPerSecond: 25 });
    const random = new Random(2);
    const sound = plane.map(() => Math.round(2000 * random.gaussian()));
    const { boundaries, codeChannels } = find([sound, plane]);
    expect(codeChannels).toEqual([2]);
    expect(boundaries[0]).toHaveLength(1);
    expect(Math.abs(boundaries[0][0].frame - starts[150])).toBeLessThan(2);
    expect(boundaries[0][0]).toMatchObject({ sureness: 'sure', why: 'timecode jumps from 01:00:05:24 to 01:10:00:00' });
  });
});

describe('a change without a gap', () => {
  test('from quiet to loud for good is possible, at its place', async (context) => {
    const { planes, bits } = await loadMusic(await needMusic(context, 'seashore'), { rateHz: HZ, channels: 2 });
    const [own] = planes.map((plane) => plane.map((x) => x >> (bits - 16)));
    const plane = new Int32Array(4 * own.length);
    for (let n = 0; n < 4; n++) plane.set(n < 2 ? own.map((x) => x >> 4) : own, n * own.length);
    const [found] = find([plane]).boundaries;
    const near = found.find(({ frame }) => Math.abs(frame - 2 * own.length) < HZ);
    expect(near).toMatchObject({ sureness: 'possible', why: expect.stringContaining('level +') });
  });
});
