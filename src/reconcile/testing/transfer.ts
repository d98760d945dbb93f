// A random transfer for property tests: captures with random channels, bits, damage, findings, slips and overlaps. The
// lookup `valueAt` is written the slow way, from the segments alone, to check the fast one.
import type { Alignment, PlacedSegment } from '../../align/index.ts';
import type { ReadRef, ReconcileCapture } from '../provenance.ts';
import { alignmentOf, captureOf, damaged, noise, type Random, randomBurst, seeded } from './reads.ts';

export interface Transfer {
  readonly captures: readonly ReconcileCapture[];
  readonly alignment: Alignment;
  /** the read's sample at a timeline frame, left-justified to the widest capture; undefined where it has none */
  valueAt(read: ReadRef, timeline: number): number | undefined;
}

const TAPE_FRAMES = 4000;

export function randomTransfer(seed: number): Transfer {
  const random = seeded(seed);
  const below = (n: number) => Math.floor(random() * n);
  const tape = [1, 2, 3].map(() => noise(random, TAPE_FRAMES, 2 ** (1 + below(12))));
  const shapes = Array.from({ length: 1 + below(4) }, () => randomCapture(random, below, tape));
  const captures = shapes.map((s) => s.capture);
  const widest = Math.max(...captures.map((c) => c.source.info.bits));
  return {
    captures,
    alignment: alignmentOf(
      captures,
      shapes.map(({ segments }) => ({ segments })),
    ),
    valueAt({ capture, fileChannel }, timeline) {
      const { segments, planes, bits } = shapes[capture];
      const covering = segments.filter((s, i) => {
        const isAfterStart = timeline >= s.start + s.offset;
        const isReplaced = segments.slice(i + 1).some((later) => timeline >= later.start + later.offset);
        return isAfterStart && timeline < s.start + s.offset + s.length && !isReplaced;
      });
      const segment = covering.at(-1);
      return segment && planes[fileChannel - 1][timeline - segment.offset] << (widest - bits);
    },
  };
}

function randomCapture(random: Random, below: (n: number) => number, tape: readonly Int32Array[]) {
  const bits = [16, 20, 24][below(3)];
  const from = below(300);
  const segments = randomSegments(below, TAPE_FRAMES - from - below(300), from - below(2) * 450);
  const channels = [below(4), 1 + below(3)];
  const frames = segments[segments.length - 1].start + segments[segments.length - 1].length;
  const planes = channels.map((channel) => {
    const whole = damaged(
      tape[Math.max(0, channel - 1)],
      Array.from({ length: below(12) }, () => randomBurst(random, TAPE_FRAMES, 50)),
    );
    const plane = new Int32Array(frames);
    for (const s of segments) {
      for (let i = s.start; i < s.start + s.length; i++) plane[i] = (whole[i + s.offset] ?? 0) << (bits - 16);
    }
    return plane;
  });
  const findings = Array.from({ length: below(5) }, () => ({
    kind: ['interpolated', 'held', 'clipped'][below(3)],
    channels: [1 + below(2)],
    confidence: random(),
    start: below(3000),
    length: 1 + below(200),
  }));
  const capture = captureOf({ pass: 1 + below(3), planes, channels, bits, findings });
  return { capture, segments, planes, bits };
}

function randomSegments(below: (n: number) => number, frames: number, offset: number): PlacedSegment[] {
  const segments: PlacedSegment[] = [];
  let at = 0;
  let moved = offset;
  for (let slips = below(3); at < frames; slips--) {
    const length = slips > 0 ? Math.min(frames - at, 200 + below(1500)) : frames - at;
    segments.push({ start: at, length, offset: moved });
    at += length;
    moved += below(120) - 60;
  }
  return segments;
}
