// Delays put between channels of real recordings by an independent interpolator (signal/resample, itself checked against sox):
// within 0.02 sample (reference/trade.md B 12) and within the stated uncertainty, or "cannot tell".
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { fractionalDelay } from '../../signal/resample.ts';
import { examineSource } from '../pass.ts';
import { skew } from './skew.ts';

const FRAMES = 5 * 44_100;

async function skewOf(planes: readonly Int32Array[]) {
  const source = memorySource(planes, { name: 'test', rate: rate(44_100), bits: 16 });
  return (await examineSource(source, [skew])).verdicts[0];
}

const late = (plane: Int32Array, delay: number) =>
  Int32Array.from(fractionalDelay(Float64Array.from(plane), delay), (x) =>
    Math.max(-32_768, Math.min(32_767, Math.round(x))),
  );

const noise = (seed: number, level: number) => {
  const random = new Random(seed);
  return Int32Array.from({ length: FRAMES }, () => Math.round(random.gaussian() * level));
};

describe.each(['guitar', 'choir', 'fox', 'tabla', 'bell', 'announcement-front'])('%s on both channels', (name) => {
  it.for([-1.7, -0.5, 0, 0.25, 0.5, 1])('%f samples late', async (delay, context) => {
    const plane = (await loadMusic(await needMusic(context, name))).planes[0].slice(0, FRAMES);
    const { answer, evidence } = await skewOf([plane, late(plane, delay)]);
    expect(answer).not.toBe('cannot tell');
    expect(Math.abs((answer as number) - delay)).toBeLessThan(0.02);
    expect(Math.abs((answer as number) - delay)).toBeLessThan((evidence.uncertainty as number) + 0.004);
    expect(evidence.isHalfSample).toBe(Math.abs(delay) === 0.5);
  });
});

describe('stereo', () => {
  it.for(['violins', 'flute', 'tabla', 'drums', 'choir'])(
    '%s: half a sample moves the answer by half a sample',
    async (name, context) => {
      const [a, b] = (await loadMusic(await needMusic(context, name))).planes.map((plane) => plane.slice(0, FRAMES));
      const before = await skewOf([a, b]);
      const after = await skewOf([a, late(b, 0.5)]);
      if (before.answer === 'cannot tell' || after.answer === 'cannot tell') return;
      expect(Math.abs((after.answer as number) - (before.answer as number) - 0.5)).toBeLessThan(0.02);
    },
  );

  it('panned sources and a polarity turned round keep their delay', async () => {
    const [left, middle, right] = [noise(1, 2000), noise(2, 2000), noise(3, 2000)];
    const a = left.map((x, i) => Math.round(x + 0.7 * middle[i] + 0.2 * right[i]));
    const b = left.map((x, i) => Math.round(0.2 * x + 0.7 * middle[i] + right[i]));
    expect((await skewOf([a, late(b, 0.5)])).answer).toBeCloseTo(0.5, 1.9);
    const turned = await skewOf([a, late(b, 0.5).map((x) => -x)]);
    expect(turned.answer).toBeCloseTo(0.5, 1.9);
    expect(turned.evidence.isInverted).toBe(true);
  });
});

describe('what nobody can tell', () => {
  it.each([
    ['unrelated noise', [noise(4, 3000), noise(5, 3000)]],
    ['silence', [new Int32Array(FRAMES), new Int32Array(FRAMES)]],
    ['one silent channel', [noise(6, 3000), new Int32Array(FRAMES)]],
    ['ten windows', [noise(7, 3000).slice(0, 10_000), noise(7, 3000).slice(0, 10_000)]],
    [
      'the same sound 40 samples apart',
      [noise(8, 3000), Int32Array.from([...new Int32Array(40), ...noise(8, 3000).slice(0, -40)])],
    ],
  ])('%s', async (_, planes) => {
    expect((await skewOf(planes)).answer).toBe('cannot tell');
  });

  it('takes channels two by two and leaves an odd one alone', async () => {
    const planes = [1, 1, 2, 2, 3].map((seed) => noise(seed, 3000));
    const source = memorySource(planes, { name: 'test', rate: rate(48_000), bits: 16 });
    const { verdicts } = await examineSource(source, [skew]);
    expect(verdicts.map(({ channel, answer }) => [channel, answer])).toEqual([
      [2, 0],
      [4, 0],
    ]);
  });
});
