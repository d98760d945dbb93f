// What the places of the signal's parts say of the clocks: one clock (every part whole frames late, jumps are slips) or another rate (places on a line).
// Not for the exact frame of a slip (slips.ts).
import { median } from '../../../signal/index.ts';
import type { Anchor } from '../find/places.ts';

/** Whole frames that each place of the sent signal came late. */
export interface LockedClock {
  readonly kind: 'locked';
  /** one for each anchor */
  readonly lags: readonly number[];
  /** part of a frame by which all came later still: what filters do */
  readonly fractionFrames: number;
}

export interface DriftingClock {
  readonly kind: 'drifting';
  /** frames captured for each frame sent */
  readonly ratio: number;
  /** one standard deviation */
  readonly ratioSpread: number;
  /** pieces of the line: frame = offset + ratio * sentFrame from this anchor on */
  readonly lines: readonly { readonly firstAnchor: number; readonly offset: number }[];
  /** root mean square distance of the places from the line */
  readonly scatterFrames: number;
}

export type Clock = LockedClock | DriftingClock;

/** Steps between neighbours farther from whole frames than this are no slips. */
const WHOLE_FRAMES = 0.2;
/** A drift over the whole signal below this is none; more than the error of a place without noise. */
const LEAST_DRIFT_FRAMES = 0.03;
/** Places are found by climbing a peak to a ten-thousandth of a frame. */
const METHOD_SPREAD = 2e-10;
/** In a line, what is no drift: noise and wander stay below. */
const JUMP_FRAMES = 0.5;

export function clockOf(anchors: readonly Anchor[], ratio: number): Clock {
  return (Math.abs(ratio - 1) < 2e-3 ? lockedClock(anchors) : undefined) ?? driftingClock(anchors);
}

function lockedClock(anchors: readonly Anchor[]): LockedClock | undefined {
  const lags = [Math.round(anchors[0].frame - anchors[0].sentFrame)];
  const rests = [anchors[0].frame - anchors[0].sentFrame - lags[0]];
  for (let k = 1; k < anchors.length; k++) {
    const rest = anchors[k].frame - anchors[k].sentFrame - lags[k - 1] - rests[k - 1];
    lags.push(lags[k - 1] + Math.round(rest));
    rests.push(anchors[k].frame - anchors[k].sentFrame - lags[k]);
    if (Math.abs(rest - Math.round(rest)) > WHOLE_FRAMES) return undefined;
  }
  const { slope, spread, mean } = lineThrough(
    anchors.map((anchor) => anchor.sentFrame),
    rests,
  );
  const span = anchors[anchors.length - 1].sentFrame - anchors[0].sentFrame;
  if (Math.abs(slope) * span > Math.max(LEAST_DRIFT_FRAMES, 5 * spread * span)) return undefined;
  const whole = Math.round(mean);
  return { kind: 'locked', lags: lags.map((lag) => lag + whole), fractionFrames: mean - whole };
}

function driftingClock(anchors: readonly Anchor[]): DriftingClock {
  const slopes = anchors
    .slice(1)
    .map((anchor, k) => (anchor.frame - anchors[k].frame) / (anchor.sentFrame - anchors[k].sentFrame));
  let ratio = median(slopes);
  let starts = [0];
  let leverage = 1;
  for (let round = 0; round < 3; round++) {
    starts = jumps(anchors, ratio);
    ({ slope: ratio, leverage } = commonSlope(anchors, starts));
  }
  const lines = starts.map((firstAnchor, k) => {
    const own = anchors.slice(firstAnchor, starts[k + 1]);
    return { firstAnchor, offset: own.reduce((sum, a) => sum + a.frame - ratio * a.sentFrame, 0) / own.length };
  });
  let square = 0;
  for (const [k, { firstAnchor, offset }] of lines.entries()) {
    for (const a of anchors.slice(firstAnchor, starts[k + 1])) square += (a.frame - ratio * a.sentFrame - offset) ** 2;
  }
  const scatterFrames = Math.sqrt(square / anchors.length);
  return {
    kind: 'drifting',
    ratio,
    ratioSpread: scatterFrames / Math.sqrt(leverage) + METHOD_SPREAD,
    lines,
    scatterFrames,
  };
}

function jumps(anchors: readonly Anchor[], ratio: number): number[] {
  const out = [0];
  for (let k = 1; k < anchors.length; k++) {
    const step = anchors[k].frame - anchors[k - 1].frame - ratio * (anchors[k].sentFrame - anchors[k - 1].sentFrame);
    if (Math.abs(step) > JUMP_FRAMES) out.push(k);
  }
  return out;
}

/** One slope for all pieces, each with an offset of its own. */
function commonSlope(anchors: readonly Anchor[], starts: readonly number[]): { slope: number; leverage: number } {
  let xx = 0;
  let xy = 0;
  for (const [k, start] of starts.entries()) {
    const own = anchors.slice(start, starts[k + 1]);
    const mx = own.reduce((sum, a) => sum + a.sentFrame, 0) / own.length;
    const my = own.reduce((sum, a) => sum + a.frame, 0) / own.length;
    for (const a of own) {
      xx += (a.sentFrame - mx) ** 2;
      xy += (a.sentFrame - mx) * (a.frame - my);
    }
  }
  return { slope: xy / xx, leverage: xx };
}

function lineThrough(xs: readonly number[], ys: readonly number[]): { slope: number; spread: number; mean: number } {
  const n = xs.length;
  const mx = xs.reduce((a, b) => a + b, 0) / n;
  const my = ys.reduce((a, b) => a + b, 0) / n;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let k = 0; k < n; k++) {
    xx += (xs[k] - mx) ** 2;
    xy += (xs[k] - mx) * (ys[k] - my);
    yy += (ys[k] - my) ** 2;
  }
  const slope = xx > 0 ? xy / xx : 0;
  return { slope, spread: xx > 0 ? Math.sqrt(Math.max(0, yy - slope * xy) / Math.max(1, n - 2) / xx) : 0, mean: my };
}
