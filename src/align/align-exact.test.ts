// Bit-equal captures: offsets, damage, slips, word lengths, repeats, refusals. Truth: signals cut and slipped by the test.
import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import { align } from './align.ts';
import { damagePlanes, musicLike, noiseLike, slicePlanes, slipPlanes, sourceOf } from './testing/signals.ts';

const music = [musicLike(48_000 * 20, 1), musicLike(48_000 * 20, 2)];

function input(name: string, planes: readonly Int32Array[], extra: object = {}) {
  return { source: sourceOf(name, planes), ...extra };
}

describe('equal captures', () => {
  it.each([0, 1, 4711, 300_000])('finds a start %i frames later', async (offset) => {
    const result = await align([input('a', music), input('b', slicePlanes(music, offset))]);
    expect(result.placements[1]).toMatchObject({
      relation: 'bit-equal',
      gain: 1,
      driftPpm: 0,
      uncertaintyFrames: 0,
      differingFrames: 0,
    });
    expect(result.placements[1].segments).toEqual([{ start: 0, length: music[0].length - offset, offset }]);
    expect(result.placements[1].channelPairs).toEqual([
      [1, 1],
      [2, 2],
    ]);
    expect(result.placements[1].comparedFrames).toBeGreaterThan(10_000);
    expect(result.groups).toEqual([[0, 1]]);
  });

  it('gives a negative offset to a capture that began earlier, and honours the chosen reference', async () => {
    const inputs = [input('a', slicePlanes(music, 5000)), input('b', music)];
    expect((await align(inputs)).placements[1].segments[0].offset).toBe(-5000);
    const swapped = await align(inputs, { reference: 1 });
    expect(swapped.reference).toBe(1);
    expect(swapped.placements[0].segments[0].offset).toBe(5000);
    expect(swapped.placements[1].segments[0].offset).toBe(0);
  });

  it('places captures that overlap by three seconds only', async () => {
    const cut = 48_000 * 10;
    const result = await align([input('a', slicePlanes(music, 0, cut + 144_000)), input('b', slicePlanes(music, cut))]);
    expect(result.placements[1].segments[0].offset).toBe(cut);
  });

  it('sees through 30 % concealment of one read', async () => {
    const result = await align([input('a', music), input('b', slicePlanes(damagePlanes(music, 0.36, 5), 777))]);
    expect(result.placements[1].relation).toBe('bit-equal');
    expect(result.placements[1].segments).toEqual([{ start: 0, length: music[0].length - 777, offset: 777 }]);
    expect(result.slips).toEqual([]);
    const { comparedFrames, differingFrames } = result.placements[1];
    expect(differingFrames / comparedFrames).toBeGreaterThan(0.15);
    expect(differingFrames / comparedFrames).toBeLessThan(0.45);
  });

  it('takes 16 bits in a 24-bit file, and a wrong rate in its header, as the same numbers', async () => {
    const wide = slicePlanes(music, 900).map((plane) => plane.map((v) => v << 8));
    const result = await align([input('a', music), { source: sourceOf('b', wide, 24, 44_056) }]);
    expect(result.placements[1].relation).toBe('bit-equal');
    expect(result.placements[1].segments[0].offset).toBe(900);
    expect(result.placements[1].reason).toMatch(/rates in the headers differ/);
  });

  it('finds exchanged channels without a map, and says so in the pairs', async () => {
    const result = await align([input('a', music), input('b', [music[1], music[0]])]);
    expect(result.placements[1].channelPairs).toEqual([
      [1, 2],
      [2, 1],
    ]);
  });

  it('pairs like with like when both channels are the same', async () => {
    const mono = [music[0], music[0]];
    const result = await align([input('a', mono), input('b', slicePlanes(mono, 64))]);
    expect(result.placements[1].channelPairs).toEqual([
      [1, 1],
      [2, 2],
    ]);
  });

  it('does not depend on blocks nor on who collected the anchors', async () => {
    const { beginAnchors } = await import('./anchor-set.ts');
    const inputs = [input('a', music), input('b', slicePlanes(music, 4000))];
    const anchors = [];
    for (const { source } of inputs) {
      const session = beginAnchors(source.info);
      for await (const block of source.blocks({ blockFrames: 777 })) session.push(block);
      anchors.push(session.finish());
    }
    expect(await align(inputs, { anchors })).toEqual(await align(inputs));
  });
});

describe('slips', () => {
  it('places 100 losses and repeats of 1 to 512 frames exactly', async () => {
    const random = new Random(77);
    const edits = Array.from({ length: 100 }, (_, n) => ({
      frame: 6000 + n * 9300 + random.integer(6000),
      lost: (1 + random.integer(512)) * (n % 2 ? 1 : -1),
    }));
    const { planes, slips } = slipPlanes(music, edits);
    const result = await align([input('a', music), input('b', planes)]);
    expect(result.slips.map(({ at, lostFrames }) => ({ at, lostFrames }))).toEqual(slips);
    expect(result.slips.every((slip) => slip.capture === 1)).toBe(true);
    expect(result.placements[1].segments.length).toBe(101);
    expect(result.loops).toEqual([]);
  });

  it('places single-sample clock slips', async () => {
    const edits = Array.from({ length: 9 }, (_, n) => ({ frame: 50_000 + n * 96_000, lost: 1 }));
    const { planes, slips } = slipPlanes(music, edits);
    const result = await align([input('a', music), input('b', planes)]);
    expect(result.slips.map(({ at, lostFrames }) => ({ at, lostFrames }))).toEqual(slips);
    // 8 samples in 8 x 95 999 own frames = 10.42 ppm
    expect(result.placements[1].reason).toMatch(
      /9 slips one way, one in 2.00 s on average: like a clock 10.42 ppm off/,
    );
  });

  it('places slips that follow each other within milliseconds, and near both ends', async () => {
    const edits = [
      { frame: 900, lost: 7 },
      { frame: 400_000, lost: 3 },
      { frame: 400_300, lost: -12 },
      { frame: 400_700, lost: 2 },
      { frame: 959_300, lost: 5 },
    ];
    const { planes, slips } = slipPlanes(music, edits);
    const result = await align([input('a', music), input('b', planes)]);
    expect(result.slips.map(({ at, lostFrames }) => ({ at, lostFrames }))).toEqual(slips);
  });

  it('places a loss inside damage on the first frame after it that fits', async () => {
    const { planes } = slipPlanes(music, [{ frame: 300_000, lost: 40 }]);
    for (const plane of planes) plane.fill(0, 299_990, 300_500);
    const result = await align([input('a', music), input('b', planes)]);
    expect(result.slips).toMatchObject([{ capture: 1, at: 300_500, lostFrames: 40 }]);
  });
});

describe('who slipped', () => {
  const lost = slipPlanes(music, [{ frame: 400_000, lost: 25 }]);
  const repeated = slipPlanes(music, [{ frame: 400_000, lost: -25 }]);

  it('two captures: the reference repeated, so its second part moves back', async () => {
    const result = await align([input('a', repeated.planes), input('b', music)]);
    expect(result.slips).toMatchObject([{ capture: 0, at: repeated.slips[0].at, lostFrames: -25 }]);
    expect(result.placements[0].segments.map((s) => s.offset)).toEqual([0, -25]);
    expect(result.placements[1].segments).toEqual([{ start: 0, length: music[0].length, offset: 0 }]);
  });

  it('two captures: the reference lost frames, so the timeline has them and its second part moves on', async () => {
    const result = await align([input('a', lost.planes), input('b', slicePlanes(music, 100))]);
    expect(result.slips).toMatchObject([{ capture: 0, at: lost.slips[0].at, lostFrames: 25 }]);
    expect(result.placements[0].segments.map((s) => s.offset)).toEqual([0, 25]);
    expect(result.placements[1].segments.map((s) => s.offset)).toEqual([100]);
  });

  it('three captures: the one against the other two, even where no repeat gives it away', async () => {
    const odd = slipPlanes(music, [{ frame: 400_000, lost: -25 }]);
    for (const plane of odd.planes) for (let n = 0; n < 25; n++) plane[400_000 + n] = n * 37 - 400;
    const result = await align([input('a', odd.planes), input('b', music), input('c', slicePlanes(music, 10))]);
    expect(result.slips).toMatchObject([{ capture: 0, lostFrames: -25 }]);
    expect(result.slips).toHaveLength(1);
    expect(result.placements.map((p) => p.segments.map((s) => s.offset))).toEqual([[0, -25], [0], [10]]);
    expect(result.loops).toEqual([]);
  });

  it('three captures: captures of one pass are one witness only', async () => {
    const inputs = [
      input('a', music, { pass: 1 }),
      input('b', lost.planes, { pass: 2 }),
      input('c', slicePlanes(lost.planes, 10), { pass: 2 }),
    ];
    const result = await align(inputs);
    expect(result.slips.map(({ capture, lostFrames }) => [capture, lostFrames])).toEqual([
      [1, 25],
      [2, 25],
    ]);
    expect(result.placements.map((p) => p.segments.map((s) => s.offset))).toEqual([[0], [0, 25], [10, 35]]);
    expect(result.loops).toEqual([]);
  });

  it('three captures, each with a slip of its own', async () => {
    const b = slipPlanes(music, [{ frame: 200_000, lost: 1 }]);
    const c = slipPlanes(music, [{ frame: 600_000, lost: -9 }]);
    const result = await align([input('a', lost.planes), input('b', b.planes), input('c', c.planes)]);
    expect(result.slips.map(({ capture, at, lostFrames }) => ({ capture, at, lostFrames }))).toEqual([
      { capture: 0, ...lost.slips[0] },
      { capture: 1, ...b.slips[0] },
      { capture: 2, ...c.slips[0] },
    ]);
    expect(result.loops).toEqual([]);
  });
});

describe('content that resembles itself', () => {
  it('places a loop by the stretch that does not repeat', async () => {
    const bar = musicLike(48_000, 9);
    const looped = new Int32Array(48_000 * 20);
    for (let n = 0; n < 20; n++) looped.set(bar, n * 48_000);
    looped.set(noiseLike(30_000, 3), 500_000);
    const result = await align([input('a', [looped]), input('b', slicePlanes([looped], 100_000))]);
    expect(result.placements[1].segments[0].offset).toBe(100_000);
    expect(result.slips).toEqual([]);
  });

  it('refuses to choose between places that fit equally well', async () => {
    const bar = musicLike(48_000, 9);
    const looped = new Int32Array(48_000 * 20);
    for (let n = 0; n < 20; n++) looped.set(bar, n * 48_000);
    const result = await align([input('a', [looped]), input('b', [looped.slice(100_000, 500_000)])]);
    expect(result.placements[1].relation).toBe('unrelated');
    expect(result.placements[1].reason).toMatch(/ambiguous/);
  });

  it('does not join different music that shares a sampled sound', async () => {
    const hit = noiseLike(4000, 12, 16, 0.2);
    const withHits = (seed: number) => {
      const plane = musicLike(48_000 * 10, seed);
      const random = new Random(seed);
      for (let at = 10_000; at < 450_000; at += 20_000 + random.integer(30_000)) plane.set(hit, at);
      return plane;
    };
    const result = await align([input('a', [withHits(31)]), input('b', [withHits(32)])]);
    expect(result.placements[1].relation).toBe('unrelated');
    expect(result.groups).toEqual([[0], [1]]);
  });
});

describe('refusals', () => {
  it('says that silence cannot be placed', async () => {
    const silence = [new Int32Array(100_000)];
    const result = await align([input('a', silence), input('b', silence)]);
    expect(result.placements[1]).toMatchObject({
      relation: 'unrelated',
      segments: [],
      uncertaintyFrames: null,
      group: 1,
    });
    expect(result.placements[1].reason).toMatch(/silence/);
  });

  it('says that a capture is too short', async () => {
    const result = await align([input('a', music), input('b', slicePlanes(music, 1000, 1100))]);
    expect(result.placements[1]).toMatchObject({ relation: 'unrelated' });
    expect(result.placements[1].reason).toMatch(/too short/);
  });

  it.each([0, 1, 40])('survives a capture of %i frames', async (frames) => {
    const result = await align([input('a', music), input('b', slicePlanes(music, 0, frames))]);
    expect(result.placements[1]).toMatchObject({ relation: 'unrelated', segments: [] });
    const reversed = await align([input('b', slicePlanes(music, 0, frames)), input('a', music)]);
    expect(reversed.groups).toEqual([[0], [1]]);
  });

  it('refuses an impossible reference, map or set of anchors', async () => {
    const inputs = [input('a', music), input('b', music)];
    await expect(align(inputs, { reference: 2 })).rejects.toMatchObject({ kind: 'input' });
    await expect(align(inputs, { anchors: [] })).rejects.toMatchObject({ kind: 'input' });
    await expect(align([input('a', music, { channels: [1] })])).rejects.toMatchObject({ kind: 'input' });
    expect(await align([])).toMatchObject({ placements: [], groups: [] });
  });

  it('places half a second within a long recording', async () => {
    const result = await align([input('a', music), input('b', slicePlanes(music, 300_000, 324_000))]);
    expect(result.placements[1]).toMatchObject({
      relation: 'bit-equal',
      segments: [{ start: 0, length: 24_000, offset: 300_000 }],
    });
  });

  it('keeps four recorders without a common channel in four groups and says what would help', async () => {
    const inputs = [0, 1, 2, 3].map((n) =>
      input(`recorder ${n}`, [noiseLike(60_000, 40 + n), noiseLike(60_000, 50 + n)], {
        channels: [2 * n + 1, 2 * n + 2],
        pass: 1,
      }),
    );
    const result = await align(inputs);
    expect(result.groups).toEqual([[0], [1], [2], [3]]);
    for (const placement of result.placements.slice(1)) {
      expect(placement.reason).toMatch(/no tape channel in common.*What would help: record one common channel/);
    }
  });

  it('joins the groups through one common channel each', async () => {
    const ch = [0, 1, 2, 3].map((n) => musicLike(200_000, 60 + n));
    const result = await align([
      input('a', slicePlanes([ch[0], ch[1]], 0), { channels: [1, 2] }),
      input('b', slicePlanes([ch[1], ch[2]], 500), { channels: [2, 3] }),
      input('c', slicePlanes([ch[2], ch[3]], 1500), { channels: [3, 4] }),
    ]);
    expect(result.groups).toEqual([[0, 1, 2]]);
    expect(result.placements.map((p) => p.segments[0].offset)).toEqual([0, 500, 1500]);
    expect(result.placements[2].channelPairs).toEqual([[1, 2]]);
  });

  it('reports a loop of three captures that does not close', async () => {
    const ch = [0, 1, 2].map((n) => musicLike(200_000, 70 + n));
    const late = new Int32Array(200_000);
    late.set(ch[0].subarray(0, 199_993), 7);
    const result = await align([
      input('a', [ch[0], ch[1]], { channels: [1, 2] }),
      input('b', [ch[1], ch[2]], { channels: [2, 3] }),
      input('c', [ch[2], late], { channels: [3, 1] }),
    ]);
    expect(result.loops).toHaveLength(1);
    expect([...result.loops[0].captures].sort()).toEqual([0, 1, 2]);
    expect(Math.abs(result.loops[0].excessFrames)).toBe(7);
  });

  it('stops on request', async () => {
    await expect(align([input('a', music), input('b', music)], { stop: { aborted: true } })).rejects.toMatchObject({
      kind: 'cancelled',
    });
  });
});
