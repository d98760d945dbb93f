// Shared or alone, a detector sees the same breaks; what has not seen the same blocks is not shared.
import { expect, it } from 'vitest';
import type { Block } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import type { JointSeen } from './joint-scan.ts';
import { JointScans } from './joint-scans.ts';

const FRAMES = 40_000;
const random = new Random(7);
const plane = Int32Array.from({ length: FRAMES }, (_, i) =>
  Math.round(9000 * Math.sin(i / 40) + random.integer(9) + (i % 7000 === 5000 ? 4000 : 0)),
);

function blocksOf(length: number): Block[] {
  return Array.from({ length: FRAMES / length }, (_, k) => ({
    start: k * length,
    frames: length,
    planes: [plane.subarray(k * length, (k + 1) * length)],
  }));
}

/** What each of several detectors that get the same blocks sees. */
function seenBy(detectors: number, blocks: readonly Block[]): JointSeen[][] {
  const scans = Array.from({ length: detectors }, () => new JointScans(1));
  const seen = scans.map((): JointSeen[] => []);
  for (const block of blocks) {
    for (const d of scans.keys()) {
      scans[d] = scans[d].after(block);
      seen[d].push(...scans[d].channels[0].seen);
    }
  }
  for (const [d, own] of scans.entries()) {
    own.finish();
    seen[d].push(...own.channels[0].seen);
  }
  expect(new Set(scans).size).toBe(1);
  return seen;
}

it('shows two detectors what it shows one', () => {
  const [alone] = seenBy(1, blocksOf(8000));
  expect(alone.filter(({ joint }) => joint.ratio > 20)).toHaveLength(5);
  expect(seenBy(2, blocksOf(8000))).toEqual([alone, alone]);
  expect(seenBy(2, blocksOf(2000))).toEqual([alone, alone]);
});

it('is not shared with a detector that begins later', () => {
  const [first, second] = blocksOf(20_000);
  const early = new JointScans(1);
  expect(early.after(first).after(second)).toBe(early);
  const late = new JointScans(1);
  expect(late.after(second)).toBe(late);
  const alone = new JointScans(1).after({ ...second });
  expect(late.channels[0].seen).toEqual(alone.channels[0].seen);
});
