// Reads whose carrier marks lost samples with a code: the code is no sample, so it neither makes nor breaks a join. Truth: the test cuts,
// slips and codes the signal. The same damage without a declared code shows that the declaration decides.
import { describe, expect, it } from 'vitest';
import { align } from './align.ts';
import { musicLike, slicePlanes, slipPlanes, sourceOf } from './testing/signals.ts';

const CODE = -32_768;
const music = [musicLike(48_000 * 20, 1), musicLike(48_000 * 20, 2)];

/** A head is away: three samples of five of channel 1 and the other two of channel 2. */
function clogged(planes: readonly Int32Array[], from: number, to: number): Int32Array[] {
  return planes.map((plane, c) => plane.map((v, i) => (i >= from && i < to && i % 5 < 3 === (c === 0) ? CODE : v)));
}

function coded(name: string, planes: readonly Int32Array[]) {
  const source = sourceOf(name, planes);
  return { source: { ...source, info: { ...source.info, lostValue: CODE } } };
}

describe('reads with error codes', () => {
  it.each([
    [100_000, 400_000],
    [0, 700_000],
  ])('frames %i to %i of one read: bit-equal, with nothing that differs', async (from, to) => {
    const damaged = clogged(slicePlanes(music, 777), from, to);
    const { placements, slips } = await align([coded('a', music), coded('b', damaged)]);
    expect(placements[1]).toMatchObject({ relation: 'bit-equal', gain: 1, differingFrames: 0 });
    expect(placements[1].segments).toEqual([{ start: 0, length: music[0].length - 777, offset: 777 }]);
    expect(placements[1].comparedFrames).toBeGreaterThan(5000);
    expect(slips).toEqual([]);
  });

  it('both reads, in places that overlap', async () => {
    const [a, b] = [clogged(music, 100_000, 500_000), clogged(slicePlanes(music, 4711), 300_000, 700_000)];
    const { placements } = await align([coded('a', a), coded('b', b)]);
    expect(placements[1]).toMatchObject({ relation: 'bit-equal', differingFrames: 0 });
    expect(placements[1].segments[0].offset).toBe(4711);
  });

  it('a slip beside the codes is still found', async () => {
    const { planes } = slipPlanes(music, [{ frame: 480_000, lost: 23 }]);
    const { slips } = await align([coded('a', music), coded('b', clogged(planes, 200_000, 400_000))]);
    expect(slips.map(({ lostFrames }) => lostFrames)).toEqual([23]);
  });

  it('a head that is away for the whole tape: no window is whole, and the samples that are there are all equal', async () => {
    const short = slicePlanes(music, 0, 48_000 * 8);
    const away = clogged(slicePlanes(short, 4711), 0, short[0].length);
    const { placements } = await align([coded('a', short), coded('b', away)]);
    expect(placements[1]).toMatchObject({ relation: 'bit-equal', gain: 1, differingFrames: 0 });
    expect(placements[1].segments).toEqual([{ start: 0, length: short[0].length - 4711, offset: 4711 }]);
    const strange = clogged([musicLike(48_000 * 8, 3), musicLike(48_000 * 8, 4)], 0, 48_000 * 8);
    const refused = await align([coded('a', short), coded('b', strange)]);
    expect(refused.placements[1].relation).not.toBe('bit-equal');
  });

  it('a long mute is damage, not the recording times nothing', async () => {
    const muted = music.map((plane) => plane.map((v, i) => (i > 300_000 && i < 700_000 ? 0 : v)));
    const { placements } = await align([{ source: sourceOf('a', music) }, { source: sourceOf('b', muted) }]);
    expect(placements[1]).toMatchObject({ relation: 'bit-equal', gain: 1 });
  });
});
