// Reads with known truth for the tests of reconcile/ and assemble/: seeded signals, independent concealment, captures.
import type { Alignment, PlacedSegment, Relation } from '../../align/index.ts';
import { memorySource, rate } from '../../base/index.ts';
import type { Finding } from '../evidence.ts';
import type { ReconcileCapture } from '../provenance.ts';

export type Random = () => number;

/** 32 bit generator (mulberry32, public domain); 0 <= value < 1. */
export function seeded(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function gauss(random: Random): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/** Gaussian noise of the given spread in steps. */
export function noise(random: Random, frames: number, spread: number): Int32Array {
  return Int32Array.from({ length: frames }, () => Math.round(gauss(random) * spread));
}

/** Partials that fall with frequency, slow swells, and a noise floor: second differences vary as in music. */
export function music(random: Random, frames: number, level: number, floor: number): Int32Array {
  const partials = Array.from({ length: 12 }, (_, k) => ({
    turn: (2 * Math.PI * (110 + 700 * k * random())) / 48000,
    phase: random() * 7,
    level: level / (k + 1),
    swell: random() / 3000,
  }));
  return Int32Array.from({ length: frames }, (_, i) => {
    const tone = partials.reduce(
      (sum, p) => sum + p.level * Math.sin(p.turn * i + p.phase) * (0.6 + 0.4 * Math.sin(p.swell * i)),
      0,
    );
    return Math.round(tone + gauss(random) * floor);
  });
}

export const MECHANISMS = ['mean', 'hold', 'mute'] as const;
export type Mechanism = (typeof MECHANISMS)[number];

export interface Burst {
  readonly start: number;
  readonly length: number;
  /** within each `period` frames the first `lost` are concealed; 1 of 1 = a whole burst */
  readonly period: number;
  readonly lost: number;
  readonly mechanism: Mechanism;
}

export function randomBurst(random: Random, frames: number, longest: number): Burst {
  const length = 1 + Math.floor(random() * longest);
  const pattern = [
    [1, 1],
    [2, 1],
    [5, 3],
    [3, 1],
  ][Math.floor(random() * 4)];
  return {
    start: Math.floor(random() * (frames - length - 2)) + 1,
    length,
    period: pattern[0],
    lost: pattern[1],
    mechanism: MECHANISMS[Math.floor(random() * 3)],
  };
}

function isLost(burst: Burst, at: number): boolean {
  return at >= burst.start && at < burst.start + burst.length && (at - burst.start) % burst.period < burst.lost;
}

/** What a deck writes when the burst's samples are lost: they are estimated from the good ones of the truth. */
export function conceal(truth: Int32Array, into: Int32Array, burst: Burst): void {
  for (let at = burst.start; at < burst.start + burst.length; at++) {
    if (!isLost(burst, at)) continue;
    let before = at - 1;
    while (isLost(burst, before)) before--;
    let after = at + 1;
    while (isLost(burst, after)) after++;
    const a = truth[before];
    const b = truth[after] ?? a;
    if (burst.mechanism === 'mute') into[at] = 0;
    else if (burst.mechanism === 'hold') into[at] = a;
    else into[at] = Math.floor(a + ((b - a) * (at - before)) / (after - before));
  }
}

/** Bursts that touch an earlier one of the same read are left out. */
export function damaged(truth: Int32Array, bursts: readonly Burst[]): Int32Array {
  const out = truth.slice();
  const taken = new Uint8Array(truth.length + 4);
  for (const burst of bursts) {
    const from = Math.max(0, burst.start - 3);
    const to = burst.start + burst.length + 3;
    if (taken.subarray(from, to).includes(1)) continue;
    conceal(truth, out, burst);
    taken.fill(1, burst.start, burst.start + burst.length);
  }
  return out;
}

export interface CaptureShape {
  readonly pass: number;
  readonly planes: readonly Int32Array[];
  readonly channels?: readonly number[];
  readonly findings?: readonly Finding[];
  readonly bits?: number;
  readonly name?: string;
  readonly lostValue?: number;
}

export function captureOf(shape: CaptureShape): ReconcileCapture {
  const name = shape.name ?? `pass-${shape.pass}.wav`;
  return {
    source: memorySource(shape.planes, {
      ...{ name, rate: rate(48000), bits: shape.bits ?? 16 },
      ...(shape.lostValue === undefined ? {} : { lostValue: shape.lostValue }),
    }),
    pass: shape.pass,
    channels: shape.channels ?? shape.planes.map((_, i) => i + 1),
    findings: shape.findings ?? [],
  };
}

export interface PlaceShape {
  readonly segments?: readonly PlacedSegment[];
  readonly relation?: Relation;
}

/** Every capture whole at timeline frame 0 unless a shape says otherwise. */
export function alignmentOf(captures: readonly ReconcileCapture[], shapes: readonly PlaceShape[] = []): Alignment {
  return {
    reference: 0,
    placements: captures.map(({ source }, capture) => ({
      capture,
      relation: shapes[capture]?.relation ?? 'bit-equal',
      segments: shapes[capture]?.segments ?? [{ start: 0, length: source.info.frames, offset: 0 }],
      driftPpm: 0,
      uncertaintyFrames: 0,
      method: 'known',
      reason: 'made so',
      group: 0,
      gain: 1,
      comparedFrames: 0,
      differingFrames: 0,
      channelPairs: [],
    })),
    slips: [],
    loops: [],
    groups: [captures.map((_, i) => i)],
  };
}
