import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { damageOf } from './damage.ts';
import { encodeTape } from './encode.ts';
import { chanceLosses, lossAt, tornSpot } from './random-damage.ts';
import { type CaptureSpec, simulateTransfer, type TransferSpec } from './session.ts';

const FRAMES = 40_000;
const random = new Random(77);
const tape = encodeTape(
  {
    planes: Array.from({ length: 4 }, () => Int32Array.from({ length: FRAMES }, () => random.integer(20_000) - 10_000)),
    bits: 16,
    rate: rate(48_000),
  },
  { rate: rate(48_000), wordBits: 16, outputBits: 16 },
);

const capture = (spec: Partial<CaptureSpec>): CaptureSpec => ({
  ...{ name: 'a', pass: 1, recorder: 'north', channels: [1, 2], startFrame: 0 },
  ...spec,
});

function transfer(captures: readonly CaptureSpec[], seed = 1): ReturnType<typeof simulateTransfer> {
  const chance = { channels: [1, 2, 3, 4], frames: FRAMES, count: 60, minFrames: 1, maxFrames: 60 };
  const spec: TransferSpec = {
    seed,
    tape,
    damage: damageOf(4, FRAMES, [tornSpot(4, 20_000, 300)]),
    passes: [1, 2].map((pass) => ({
      pass,
      damage: damageOf(4, FRAMES, [
        chanceLosses({ ...chance, cause: `pass ${pass}` }, new Random(seed).fork(`pass ${pass}`)),
      ]),
    })),
    captures,
  };
  return simulateTransfer(spec);
}

/** Outside events every placed sample is the tape's; inside, the counts of the truth are those of the samples. */
function expectTruth(result: ReturnType<typeof simulateTransfer>) {
  for (const { planes, truth } of result.captures) {
    for (const [c, plane] of planes.entries()) {
      const original = tape.planes[truth.channels[c] - 1];
      const differs = new Uint8Array(plane.length);
      for (const { start, length, offset } of truth.segments) {
        for (let i = start; i < start + length; i++) differs[i] = plane[i] === original[i + offset] ? 0 : 1;
      }
      const total = differs.reduce((a, b) => a + b, 0);
      const events = truth.events.filter((event) => event.channel === c + 1);
      expect(events.reduce((sum, event) => sum + event.changed, 0)).toBe(total);
      for (const event of events) {
        const inside = differs.subarray(event.start, event.start + event.length).reduce((a, b) => a + b, 0);
        expect(inside).toBe(event.changed);
        expect(event.samples).toBeLessThanOrEqual(event.length);
      }
    }
  }
}

describe('simulateTransfer', () => {
  it('captures of early, late and short recorders, all truths right', () => {
    const result = transfer([
      capture({ name: 'early', startFrame: -500 }),
      capture({ name: 'late', channels: [3, 4], startFrame: 1234, endFrame: FRAMES + 700 }),
      capture({ name: 'second', pass: 2, startFrame: 20_100, endFrame: 30_000 }),
    ]);
    expectTruth(result);
    const [early, late, second] = result.captures;
    expect(early.planes[0].length).toBe(FRAMES + 500);
    expect(early.planes[1].subarray(0, 500).every((x) => x === 0)).toBe(true);
    expect(early.truth).toMatchObject({
      leadIn: 500,
      tail: 0,
      segments: [{ start: 500, length: FRAMES, offset: -500 }],
    });
    expect(late.truth).toMatchObject({
      leadIn: 0,
      tail: 700,
      channels: [3, 4],
      segments: [{ start: 0, length: FRAMES - 1234, offset: 1234 }],
    });
    expect(late.planes[0].subarray(-700).every((x) => x === 0)).toBe(true);
    // the recorder began inside the torn spot: the event is clipped to what it heard (the ramp after it counts)
    expect(second.truth.events[0]).toMatchObject({
      kind: 'muted',
      start: 0,
      length: 296,
      samples: 296,
      cause: 'torn spot',
    });
  });

  it('two passes share the torn spot and nothing else', () => {
    const result = transfer([capture({}), capture({ name: 'b', pass: 2 })]);
    const causes = result.captures.map(({ truth }) => new Set(truth.events.map((event) => event.cause)));
    expect(causes).toEqual([new Set(['pass 1', 'torn spot']), new Set(['pass 2', 'torn spot'])]);
    expect(result.tapeLosses).toHaveLength(4);
    expect(result.passes.map((pass) => pass.pass)).toEqual([1, 2]);
  });

  it('carries events and places through slips and swapped channels', () => {
    const result = transfer([
      capture({
        startFrame: -100,
        chain: [
          { kind: 'channels', order: [2, 1] },
          { kind: 'unlocked', ppm: 300 },
          { kind: 'drop', at: 20_200, frames: 50 },
        ],
      }),
    ]);
    expectTruth(result);
    const { truth, channels } = result.captures[0];
    expect(channels).toEqual([1, 2]);
    expect(truth.channels).toEqual([2, 1]);
    expect(truth.slips.filter((slip) => slip.lostFrames === -1)).toHaveLength(12);
    expect(truth.slips.filter((slip) => slip.lostFrames === 50)).toHaveLength(1);
    const torn = truth.events.filter((event) => event.channel === 1 && event.cause === 'torn spot');
    expect(torn).toHaveLength(1);
  });

  it('moves events with a drifting clock', () => {
    const { captures, passes } = transfer([capture({ startFrame: 10_000, chain: [{ kind: 'drift', ppm: 1000 }] })]);
    const before = passes[0].events.find((event) => event.channel === 1 && event.cause === 'torn spot');
    const after = captures[0].truth.events.find((event) => event.channel === 1 && event.cause === 'torn spot');
    expect(after?.start).toBe(Math.round(((before?.start ?? 0) - 10_000) * 1.001));
  });

  it('is the same for the same seed, another for another', () => {
    const chain = [{ kind: 'dither', steps: 1 }] as const;
    const run = (seed: number) => transfer([capture({ chain })], seed).captures[0];
    expect(run(3)).toEqual(run(3));
    expect(run(3).planes).not.toEqual(run(4).planes);
    expect(() => transfer([capture({ pass: 9 })])).toThrow('no pass 9');
  });

  it('a hole at the very start is heard as a mute', () => {
    const damage = damageOf(4, FRAMES, [[lossAt(1, 0, 3, 'start')]]);
    const { captures } = simulateTransfer({ seed: 1, tape, damage, passes: [{ pass: 1 }], captures: [capture({})] });
    expect(captures[0].truth.events).toMatchObject([{ kind: 'muted', start: 0, length: 3 }]);
  });
});
