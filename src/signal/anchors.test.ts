// Anchors: the same windows wherever a recording begins, whatever the block size and word length; none in silence.
import { expect, it } from 'vitest';
import { ANCHOR_WINDOW, type AnchorList, AnchorScanner } from './anchors.ts';
import { Random } from './random.ts';

const random = new Random(11);
const plane = Int32Array.from({ length: 200_000 }, () => Math.round(random.gaussian() * 900));

function scan(samples: Int32Array, { bits = 16, block = 65_536, level = 5, capacity = 1 << 17 } = {}): AnchorList {
  const scanner = new AnchorScanner(bits, { level, capacity });
  for (let at = 0; at < samples.length; at += block) scanner.push(samples.subarray(at, at + block));
  return scanner.finish();
}

it('chooses one window in 2^level', () => {
  const { frames, hashes } = scan(plane);
  expect(frames.length / (plane.length / 32)).toBeGreaterThan(0.9);
  expect(frames.length / (plane.length / 32)).toBeLessThan(1.1);
  expect(new Set(hashes).size).toBe(hashes.length);
  expect(hashes.every((h) => Number.isSafeInteger(h) && h >= 0)).toBe(true);
});

it.each([1, 31, 32, 33, 4096])('does not depend on blocks of %i frames', (block) => {
  const part = plane.subarray(0, 20_000);
  expect(scan(part, { block })).toEqual(scan(part));
});

it('chooses the same windows in a recording that begins later', () => {
  const whole = scan(plane);
  const late = scan(plane.subarray(777));
  const expected = [...whole.frames].filter((f) => f - ANCHOR_WINDOW + 1 >= 777).map((f) => f - 777);
  expect([...late.frames]).toEqual(expected);
});

it('gives the same anchors for the same numbers in a wider word', () => {
  expect(
    scan(
      plane.map((v) => v << 8),
      { bits: 24 },
    ),
  ).toEqual(scan(plane));
});

it('thins out to a subset when there is no more room', () => {
  const thin = scan(plane, { capacity: 512 });
  expect(thin.frames.length).toBeLessThanOrEqual(512);
  expect(thin.frames.length).toBeGreaterThan(100);
  const all = new Set(scan(plane).hashes);
  expect([...thin.hashes].every((h) => all.has(h))).toBe(true);
  expect(thin).toEqual(scan(plane, { capacity: 512, block: 999 }));
});

it('chooses nothing in silence, held values and two-valued patterns', () => {
  expect(scan(new Int32Array(50_000)).frames).toHaveLength(0);
  expect(scan(new Int32Array(50_000).fill(-1234)).frames).toHaveLength(0);
  expect(scan(Int32Array.from({ length: 50_000 }, (_, n) => n % 2)).frames).toHaveLength(0);
});

it('does not fill up with a steady tone of exact period', () => {
  const tone = Int32Array.from({ length: 96_000 }, (_, n) =>
    Math.round(9000 * Math.sin((2 * Math.PI * (n % 48)) / 48)),
  );
  expect(scan(tone).frames.length).toBeLessThan(48);
});
