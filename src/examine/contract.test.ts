// What every detector must keep, whatever it looks for: the same findings for every block size, and a sane answer to
// silence, one frame, no frame, full scale and a second look. Run over all registered detectors.
import { beforeAll, describe, expect, it } from 'vitest';
import { memorySource, rate, stableJson } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { COMMON_POLICY, conceal, damageOf, synthesiseProgramme } from '../simulate/index.ts';
import { DETECTORS, examineSource } from './index.ts';

const RATE = rate(48_000);

function damagedConcert(): Int32Array[] {
  const { planes } = synthesiseProgramme({ channels: 2, seconds: 3, rate: RATE, bits: 16, seed: 7 });
  const random = new Random(11);
  const lengths = [1, 2, 5, 12, 60, 900];
  const losses = [1, 2].flatMap((channel) =>
    Array.from({ length: 40 }, () => ({
      channel,
      start: 1000 + random.integer(planes[0].length - 4000),
      length: lengths[random.integer(lengths.length)],
      pattern: 'run',
      cause: 'test',
    })),
  );
  return conceal(
    { planes },
    damageOf(
      2,
      planes[0].length,
      withoutOverlap(losses).map((loss) => [loss]),
    ),
    COMMON_POLICY,
  ).planes;
}

function withoutOverlap<T extends { start: number; length: number; channel: number }>(losses: T[]): T[] {
  const kept: T[] = [];
  for (const loss of losses.sort((a, b) => a.channel - b.channel || a.start - b.start)) {
    const last = kept.at(-1);
    if (!last || last.channel !== loss.channel || last.start + last.length + 300 < loss.start) kept.push(loss);
  }
  return kept;
}

describe.each(DETECTORS.map((detector) => [detector.meta.id, detector] as const))('%s', (_id, detector) => {
  let planes: Int32Array[] = [];
  beforeAll(() => {
    planes = damagedConcert();
  });
  const examine = (planes: readonly Int32Array[], blockFrames?: number, bits = 16) =>
    examineSource(
      memorySource(planes, { name: 'test', rate: RATE, bits }),
      [detector],
      blockFrames ? { blockFrames } : {},
    );

  it('says the same for every block size', async () => {
    const whole = stableJson(await examine(planes));
    for (const blockFrames of [1, 255, 256, 4096, 100_003]) {
      expect(stableJson(await examine(planes, blockFrames)), `blocks of ${blockFrames}`).toBe(whole);
    }
  });

  it('does not alter the samples', async () => {
    const copy = planes.map((plane) => plane.slice());
    await examine(planes);
    expect(planes).toEqual(copy);
  });

  it.each([0, 1, 2, 3, 64, 65, 300])('finds no loss in %i frames of silence or of full scale', async (frames) => {
    for (const value of [0, 32_767, -32_768]) {
      const planes = [new Int32Array(frames).fill(value), new Int32Array(frames).fill(value)];
      const { findings } = await examine(planes);
      expect(findings.filter((finding) => finding.kind !== 'clipped')).toEqual([]);
    }
  });

  it('keeps spans inside the recording and probabilities inside 0..1', async () => {
    const { findings, verdicts } = await examine(planes);
    for (const finding of findings) {
      expect(finding.start).toBeGreaterThanOrEqual(0);
      expect(finding.length).toBeGreaterThan(0);
      expect(finding.start + finding.length).toBeLessThanOrEqual(planes[0].length);
      expect(finding.channels.every((channel) => channel === 1 || channel === 2)).toBe(true);
    }
    for (const { confidence } of [...findings, ...verdicts]) {
      expect(confidence).toBeGreaterThanOrEqual(0);
      expect(confidence).toBeLessThanOrEqual(1);
    }
  });

  it('finds no loss in the undamaged concert', async () => {
    const { planes } = synthesiseProgramme({ channels: 2, seconds: 10, rate: RATE, bits: 16, seed: 8 });
    const { findings } = await examine(planes);
    expect(findings.filter((finding) => finding.kind !== 'clipped')).toEqual([]);
  });
});

describe('a second look', () => {
  it('stops when asked', async () => {
    const source = memorySource(damagedConcert(), { name: 'test', rate: RATE, bits: 16 });
    await expect(examineSource(source, DETECTORS, { stop: { aborted: true } })).rejects.toMatchObject({
      kind: 'cancelled',
    });
  });
});
