import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import { type ConcealPolicy, conceal } from './conceal.ts';
import { type ConcealMethod, divide, type Rounding } from './cover.ts';
import { damageOf, type Loss } from './damage.ts';
import type { TruthEvent } from './truth.ts';

const loss = (start: number, length: number, channel = 1): Loss => ({
  channel,
  start,
  length,
  pattern: 'run',
  cause: 'test',
});
const always = (method: ConcealMethod): ConcealPolicy => ({ rules: [{ upTo: Infinity, method }] });
const line = (rounding: Rounding): ConcealMethod => ({ kind: 'line', rounding });
const mute = (fadeOutFrames: number, fadeInFrames: number, releaseFrames = 0): ConcealMethod => ({
  kind: 'mute',
  fadeOutFrames,
  fadeInFrames,
  releaseFrames,
});

function play(samples: readonly number[], losses: readonly Loss[], policy: ConcealPolicy) {
  const planes = [Int32Array.from(samples)];
  const out = conceal({ planes }, damageOf(1, samples.length, [losses]), policy);
  return { samples: [...out.planes[0]], events: out.events };
}

describe('one run', () => {
  // values by hand
  it.each([
    ['floor', -3, 0, -2],
    ['ceil', -3, 0, -1],
    ['toward-zero', -3, 0, -1],
    ['nearest', -3, 0, -1],
    ['floor', 3, 0, 1],
    ['ceil', 3, 0, 2],
    ['toward-zero', 3, 0, 1],
    ['nearest', 3, 0, 2],
    ['floor', 32767, 32767, 32767],
    ['nearest', -32768, -32768, -32768],
  ] as const)('mean of neighbours, %s: %i and %i give %i', (rounding, left, right, mean) => {
    expect(play([left, 999, right], [loss(1, 1)], always(line(rounding))).samples).toEqual([left, mean, right]);
  });

  it('draws a straight line over three', () => {
    const run = (rounding: Rounding) => play([10, 99, 99, 99, 21], [loss(1, 3)], always(line(rounding))).samples;
    expect(run('nearest')).toEqual([10, 13, 16, 18, 21]); // 12.75 15.5 18.25
    expect(run('toward-zero')).toEqual([10, 12, 15, 18, 21]);
  });

  it('holds, mutes and repeats', () => {
    expect(play([5, 9, 9, 7], [loss(1, 2)], always({ kind: 'hold' })).samples).toEqual([5, 5, 5, 7]);
    expect(play([5, 9, 9, 7], [loss(1, 2)], always(mute(0, 0))).samples).toEqual([5, 0, 0, 7]);
    const repeat = always({ kind: 'repeat', blockFrames: 2 });
    const repeated = play([1, 2, 9, 9, 9, 6], [loss(2, 3)], repeat);
    expect(repeated.samples).toEqual([1, 2, 1, 2, 1, 6]);
    expect(repeated.events[0]).toMatchObject({ kind: 'repeated', start: 2, length: 3, samples: 3, changed: 3 });
  });

  it('falls back where a neighbour is missing', () => {
    expect(play([9, 9, 7], [loss(0, 2)], always(line('floor'))).events[0].kind).toBe('muted');
    const atEnd = play([3, 4, 9], [loss(2, 1)], always(line('floor')));
    expect(atEnd.samples).toEqual([3, 4, 4]);
    expect(atEnd.events[0].kind).toBe('held');
  });
});

describe('mutes with ramps', () => {
  it('fades the real signal on both flanks and counts the ramps into the truth', () => {
    const { samples, events } = play(new Array(10).fill(80), [loss(4, 2)], always(mute(3, 1, 1)));
    expect(samples).toEqual([80, 60, 40, 20, 0, 0, 0, 40, 80, 80]);
    expect(events).toEqual([
      { channel: 1, kind: 'muted', start: 1, length: 7, samples: 7, changed: 7, pattern: 'run', cause: 'test' },
    ]);
  });

  it('joins mutes whose ramps meet, and tells swallowed lines as mute', () => {
    const policy: ConcealPolicy = {
      rules: [
        { upTo: 1, method: line('floor') },
        { upTo: Infinity, method: mute(0, 4) },
      ],
    };
    const { events } = play(new Array(30).fill(80), [loss(5, 2), loss(8, 1), loss(10, 3), loss(25, 1)], policy);
    expect(events.map((e) => [e.kind, e.start, e.length, e.changed])).toEqual([
      ['muted', 5, 12, 12],
      ['interpolated', 25, 1, 0],
    ]);
  });

  it('keeps the part of a hold that reaches out of a ramp', () => {
    const policy: ConcealPolicy = {
      rules: [
        { upTo: 3, method: { kind: 'hold' } },
        { upTo: Infinity, method: mute(0, 2) },
      ],
    };
    const { events } = play(new Array(20).fill(80), [loss(2, 4), loss(7, 3)], policy);
    expect(events.map((e) => [e.kind, e.start, e.length])).toEqual([
      ['muted', 2, 6],
      ['held', 8, 2],
    ]);
  });
});

describe('truth', () => {
  it('groups the runs of one fault into one event', () => {
    const odd: Loss = { ...loss(10, 20), pattern: 'period 2', lost: (i) => i % 2 === 1 };
    const { events } = play(
      Array.from({ length: 60 }, (_, i) => i * i),
      [odd, loss(40, 1)],
      always(line('floor')),
    );
    expect(events.map((e) => [e.start, e.length, e.samples, e.changed, e.pattern])).toEqual([
      [11, 19, 10, 10, 'period 2'],
      [40, 1, 1, 1, 'run'],
    ]);
  });

  it('is exactly what changed: random losses, every policy, recomputed from before and after', () => {
    const random = new Random(11);
    const frames = 20_000;
    const planes = [0, 1].map(() => Int32Array.from({ length: frames }, () => random.integer(9) - 4));
    const losses = Array.from({ length: 400 }, (_, k) =>
      loss(k * 50 + random.integer(20), 1 + random.integer(25), 1 + (k % 2)),
    );
    const damage = damageOf(2, frames, [losses]);
    const policy: ConcealPolicy = {
      rules: [
        { upTo: 1, method: line('floor') },
        { upTo: 3, method: line('nearest') },
        { upTo: 8, method: { kind: 'hold' } },
        { upTo: 12, method: { kind: 'repeat', blockFrames: 20 } },
        { upTo: Infinity, method: mute(2, 5) },
      ],
    };
    const out = conceal({ planes }, damage, policy);
    expect(new Set(out.events.map((e) => e.kind)).size).toBe(4);
    for (const c of [0, 1])
      expectTruth(
        planes[c],
        out.planes[c],
        out.events.filter((e) => e.channel === c + 1),
      );
    expect(conceal({ planes }, damage, policy)).toEqual(out);
  });
});

/** Every changed sample lies in an event, and each event's count of changes is right. Events of solid runs only. */
function expectTruth(before: Int32Array, after: Int32Array, events: readonly TruthEvent[]) {
  const changed = before.map((x, i) => (x === after[i] ? 0 : 1));
  let told = 0;
  for (const event of events) {
    const count = changed.subarray(event.start, event.start + event.length).reduce((a, b) => a + b, 0);
    expect(count).toBe(event.changed);
    expect(event.samples).toBe(event.length);
    told += count;
  }
  expect(told).toBe(changed.reduce((a, b) => a + b, 0));
}

it('covers before the expansion when told so', () => {
  const expand = (code: number) => code * code;
  const codes = [Int32Array.of(2, 9, 6)];
  const tape = { planes: codes.map((plane) => plane.map(expand)), codes, expand };
  const damage = damageOf(1, 3, [[loss(1, 1)]]);
  expect([...conceal(tape, damage, { ...always(line('floor')), domain: 'codes' }).planes[0]]).toEqual([4, 16, 36]);
  expect([...conceal(tape, damage, always(line('floor'))).planes[0]]).toEqual([4, 20, 36]);
});

it('divides exactly in every rounding', () => {
  for (let a = -40; a <= 40; a++) {
    for (const b of [1, 2, 3, 4, 7]) {
      expect(divide(a, b, 'floor')).toBe(Math.floor(a / b));
      expect(divide(a, b, 'ceil')).toBe(Math.ceil(a / b) + 0);
      expect(divide(a, b, 'toward-zero')).toBe(Math.trunc(a / b) + 0);
      expect(divide(a, b, 'nearest')).toBe(Math.floor((2 * a + b) / (2 * b)));
    }
  }
});
