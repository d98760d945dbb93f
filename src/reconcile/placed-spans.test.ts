import { describe, expect, test } from 'vitest';
import { placedSpans, toMasterFrames } from './placed-spans.ts';
import { stretchesOf } from './stretches.ts';
import { alignmentOf, captureOf } from './testing/reads.ts';

function placementOf(segments: readonly { start: number; length: number; offset: number }[]) {
  const capture = captureOf({ pass: 1, planes: [new Int32Array(1000)] });
  return alignmentOf([capture], [{ segments }]).placements[0];
}

describe('placed spans', () => {
  test('lost samples leave a hole on the timeline', () => {
    const placement = placementOf([
      { start: 0, length: 100, offset: 0 },
      { start: 100, length: 50, offset: 7 },
    ]);
    expect(placedSpans(placement)).toEqual([
      { start: 0, length: 100, from: 0 },
      { start: 107, length: 50, from: 100 },
    ]);
  });

  test('repeated samples: the later segment counts from its first frame, the earlier only before it', () => {
    const placement = placementOf([
      { start: 0, length: 100, offset: 0 },
      { start: 100, length: 50, offset: -20 },
    ]);
    expect(placedSpans(placement, -5)).toEqual([
      { start: 5, length: 80, from: 0 },
      { start: 85, length: 50, from: 100 },
    ]);
  });

  test('a segment wholly replaced by a later one vanishes', () => {
    const placement = placementOf([
      { start: 0, length: 10, offset: 500 },
      { start: 10, length: 10, offset: 0 },
    ]);
    expect(placedSpans(placement)).toEqual([{ start: 10, length: 10, from: 10 }]);
  });

  test('capture spans move with their segment and are cut where it is', () => {
    const placed = [
      { start: 0, length: 80, from: 0 },
      { start: 80, length: 50, from: 100 },
    ];
    expect(toMasterFrames([{ start: 70, length: 40 }], placed)).toEqual([{ start: 70, length: 20 }]);
    expect(toMasterFrames([{ start: 85, length: 10 }], placed)).toEqual([]);
  });
});

describe('stretches', () => {
  test('change where the set of reads changes, and abut', () => {
    const covers = [
      [{ start: 0, length: 100 }],
      [
        { start: 40, length: 20 },
        { start: 60, length: 60 },
      ],
    ];
    expect(stretchesOf(covers, 130)).toEqual([
      { start: 0, length: 40, reads: [0] },
      { start: 40, length: 60, reads: [0, 1] },
      { start: 100, length: 20, reads: [1] },
      { start: 120, length: 10, reads: [] },
    ]);
  });
});
