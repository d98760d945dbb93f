import { describe, expect, test } from 'vitest';
import { planReconcile } from './plan.ts';
import { alignmentOf, captureOf } from './testing/reads.ts';

const silence = (channels: number, frames = 100) => Array.from({ length: channels }, () => new Int32Array(frames));

describe('the plan', () => {
  const north = captureOf({ pass: 1, planes: silence(2), channels: [1, 2], name: 'north' });
  const south = captureOf({ pass: 1, planes: silence(2), channels: [3, 0], name: 'south', bits: 24 });
  const again = captureOf({ pass: 2, planes: silence(2), channels: [2, 1], name: 'again' });

  test('gathers the reads of each tape channel, the span of all and the widest word', () => {
    const captures = [north, south, again];
    const segments = [{ start: 10, length: 90, offset: -35 }];
    const plan = planReconcile(captures, alignmentOf(captures, [{}, {}, { segments }]));
    expect(plan).toMatchObject({ start: -25, frames: 125, bits: 24, rate: { num: 48000, den: 1 }, problems: [] });
    expect(plan.channels).toEqual([
      {
        channel: 1,
        reads: [
          { capture: 0, fileChannel: 1 },
          { capture: 2, fileChannel: 2 },
        ],
      },
      {
        channel: 2,
        reads: [
          { capture: 0, fileChannel: 2 },
          { capture: 2, fileChannel: 1 },
        ],
      },
      { channel: 3, reads: [{ capture: 1, fileChannel: 1 }] },
    ]);
  });

  test('takes a scaled capture only for a channel without a better read, and says so', () => {
    const captures = [north, captureOf({ pass: 2, planes: silence(2), channels: [2, 3], name: 'scaled' })];
    const plan = planReconcile(captures, alignmentOf(captures, [{}, { relation: 'scaled' }]));
    expect(plan.channels.map((c) => [c.channel, c.reads.map((r) => r.capture)])).toEqual([
      [1, [0]],
      [2, [0]],
      [3, [1]],
    ]);
    expect(plan.problems).toHaveLength(2);
    expect(plan.problems.join()).toMatch(/channel 3 is not bit-equal .*unproven/);
  });

  test.each(['resampled', 'via-analogue', 'unrelated'] as const)('never uses a capture that is %s', (relation) => {
    const captures = [north, south];
    const plan = planReconcile(captures, alignmentOf(captures, [{}, { relation }]));
    expect(plan.channels.map((c) => c.channel)).toEqual([1, 2]);
    expect(plan.problems).toEqual([expect.stringMatching(/^south: .*not used in the master$/)]);
  });

  test('of an empty group has no frames and says why', () => {
    const plan = planReconcile([north], alignmentOf([north]), 1);
    expect(plan).toMatchObject({ frames: 0, channels: [] });
    expect(plan.problems).toHaveLength(1);
  });
});
