// Signals and faults with known truth for the tests of align/: small and local, in memory.
import { type FrameSource, memorySource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';

/** Noise through a gentle low-pass, so that neighbouring samples resemble each other as in music. */
export function noiseLike(frames: number, seed: number, bits = 16, level = 0.1): Int32Array {
  const random = new Random(seed);
  const out = new Int32Array(frames);
  const peak = 2 ** (bits - 1) * level;
  let y = 0;
  for (let n = 0; n < frames; n++) {
    y = 0.8 * y + 0.6 * random.gaussian();
    out[n] = clip(Math.round(y * peak), bits);
  }
  return out;
}

/** Notes of decaying harmonics over a low noise floor, with rests; band-limited to a third of the sampling rate. */
export function musicLike(frames: number, seed: number, bits = 16): Int32Array {
  const random = new Random(seed);
  const peak = 2 ** (bits - 1);
  const mix = new Float64Array(frames);
  for (let at = 0; at < frames; at += 3000 + random.integer(9000)) {
    const pitch = 0.004 + 0.03 * random.uniform();
    const level = 0.02 + 0.1 * random.uniform();
    const length = Math.min(24_000, frames - at);
    for (let h = 1; h * pitch < 0.33 && h < 12; h++) {
      const phase = random.uniform() * 6;
      for (let n = 0; n < length; n++) {
        const fade = Math.exp(-n / (9000 / h)) * Math.min(1, n / 64);
        mix[at + n] += (level / h) * fade * Math.sin(2 * Math.PI * h * pitch * n + phase);
      }
    }
  }
  let y = 0;
  return Int32Array.from(mix, (v) => {
    y = 0.7 * y + 0.0006 * random.gaussian();
    return clip(Math.round((v + y) * peak), bits);
  });
}

function clip(v: number, bits: number): number {
  return Math.max(-(2 ** (bits - 1)), Math.min(2 ** (bits - 1) - 1, v));
}

export function sourceOf(name: string, planes: readonly Int32Array[], bits = 16, rateHz = 48_000): FrameSource {
  return memorySource(planes, { name, rate: rate(rateHz), bits });
}

export interface TrueSlip {
  /** frame of the damaged recording that begins the new placement */
  readonly at: number;
  /** > 0 lost, < 0 repeated */
  readonly lostFrames: number;
}

/**
 * Loses or repeats frames. `edits` by frame of the sound recording, ascending. The truth is moved on to the first frame
 * that no longer fits the earlier placement: where the next samples happen to be equal nobody could tell.
 */
export function slipPlanes(
  planes: readonly Int32Array[],
  edits: readonly { readonly frame: number; readonly lost: number }[],
): { planes: Int32Array[]; slips: TrueSlip[] } {
  const pieces: [number, number][] = [];
  const slips: TrueSlip[] = [];
  let from = 0;
  let written = 0;
  for (const { frame, lost } of edits) {
    pieces.push([from, frame]);
    written += frame - from;
    from = frame + lost;
    let same = 0;
    while (planes.every((p) => p[frame + same] === p[frame + lost + same])) same++;
    slips.push({ at: written + same, lostFrames: lost });
  }
  pieces.push([from, planes[0].length]);
  const total = pieces.reduce((sum, [a, b]) => sum + b - a, 0);
  const slipped = planes.map((plane) => {
    const out = new Int32Array(total);
    let at = 0;
    for (const [a, b] of pieces) {
      out.set(plane.subarray(a, b), at);
      at += b - a;
    }
    return out;
  });
  return { planes: slipped, slips };
}

/** Straight lines over bursts of 20 to 400 frames until the share is covered; the same bursts on all channels. */
export function damagePlanes(planes: readonly Int32Array[], share: number, seed: number): Int32Array[] {
  const random = new Random(seed);
  const out = planes.map((plane) => plane.slice());
  const frames = planes[0].length;
  for (let done = 0; done < frames * share; ) {
    const length = 20 + random.integer(380);
    const at = random.integer(frames - length - 2) + 1;
    for (const plane of out) {
      const from = plane[at - 1];
      const to = plane[at + length];
      for (let n = 0; n < length; n++) plane[at + n] = Math.round(from + ((to - from) * (n + 1)) / (length + 1));
    }
    done += length;
  }
  return out;
}

export function slicePlanes(planes: readonly Int32Array[], from: number, to?: number): Int32Array[] {
  return planes.map((plane) => plane.slice(from, to));
}
