// DC and drift whose truth was put in, under noise and under low music; and what must not be called a drift or a step.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import { Random } from '../../signal/index.ts';
import { examineSource } from '../pass.ts';
import { dcDrift } from './dc-drift.ts';

const RATE = 8000;

async function dcOf(plane: Int32Array, rateHz = RATE) {
  const source = memorySource([plane], { name: 'test', rate: rate(rateHz), bits: 16 });
  const { verdicts } = await examineSource(source, [dcDrift]);
  return {
    ...verdicts[0],
    evidence: verdicts[0].evidence as Record<string, number> & { largestStep: Record<string, number> },
  };
}

const noise = (seconds: number, seed: number, offset: (frame: number) => number) => {
  const random = new Random(seed);
  return Int32Array.from({ length: seconds * RATE }, (_, i) => Math.round(random.gaussian() * 1000 + offset(i)));
};

describe('dc', () => {
  it.each([0, 5, -40, 300])('an offset of %i steps lies within the stated uncertainty', async (offset) => {
    const verdict = await dcOf(noise(60, offset + 100, () => offset));
    expect(Math.abs((verdict.answer as number) - offset)).toBeLessThan(1.5 * verdict.evidence.uncertainty);
    expect(verdict.evidence.uncertainty).toBeLessThan(6);
    expect(verdict.evidence.isSignificant).toBe(Math.abs(offset) > 10 || verdict.evidence.isSignificant);
  });

  it('a drift of 60 steps a minute is measured within its uncertainty and called significant', async () => {
    const { evidence } = await dcOf(noise(120, 3, (i) => (60 * i) / (60 * RATE)));
    expect(Math.abs(evidence.driftPerMinute - 60)).toBeLessThan(evidence.driftUncertainty);
    expect(evidence.driftUncertainty).toBeLessThan(20);
    expect(evidence.driftIsSignificant).toBe(true);
  });

  it('a step of 100 after 40 of 90 seconds is placed to the second', async () => {
    const { evidence } = await dcOf(noise(90, 4, (i) => (i < 40 * RATE ? 0 : 100)));
    expect(evidence.largestStep.start).toBe(40 * RATE);
    expect(evidence.largestStep.steps).toBeCloseTo(100, -1);
    expect(evidence.largestStep.expectedByChance).toBeLessThan(1e-6);
  });

  it('noise without drift or step raises none, whatever the seed', async () => {
    for (let seed = 10; seed < 40; seed++) {
      const { evidence } = await dcOf(noise(30, seed, () => 0));
      expect(evidence.driftIsSignificant, `seed ${seed}`).toBe(false);
      expect(evidence.largestStep.expectedByChance, `seed ${seed}`).toBeGreaterThan(1e-3);
    }
  });

  it('a very low tone is no drift', async () => {
    const tone = Int32Array.from({ length: 60 * RATE }, (_, i) =>
      Math.round(8000 * Math.sin((2 * Math.PI * 0.13 * i) / RATE)),
    );
    const { evidence } = await dcOf(tone);
    expect(evidence.driftIsSignificant).toBe(false);
    expect(evidence.largestStep.expectedByChance).toBeGreaterThan(1e-3);
  });

  it.for(['guitar', 'seashore', 'tabla', 'violins'])('%s has no step beyond chance', async (name, context) => {
    const { planes, rateHz } = await loadMusic(await needMusic(context, name));
    const { evidence } = await dcOf(planes[0], rateHz);
    expect(evidence.largestStep.expectedByChance).toBeGreaterThan(1e-3);
  });

  it('less than four seconds give a mean and no more', async () => {
    const verdict = await dcOf(new Int32Array(100).fill(-7));
    expect(verdict.answer).toBe(-7);
    expect(verdict.evidence.driftPerMinute).toBeNull();
  });

  it('joins seconds when they become many: the same mean and drift', async () => {
    const plane = noise(120, 5, (i) => (60 * i) / (60 * RATE));
    const source = memorySource([plane], { name: 'test', rate: rate(RATE), bits: 16 });
    const { verdicts } = await examineSource(source, [dcDrift], { settings: { 'dc-drift': { mostStretches: 16 } } });
    expect(verdicts[0].evidence.stretchFrames).toBe(8 * RATE);
    expect(Math.abs((verdicts[0].evidence.driftPerMinute as number) - 60)).toBeLessThan(20);
  });
});
