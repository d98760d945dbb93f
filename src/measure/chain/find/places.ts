// Where a known stretch of the signal lies in the capture, near where it is expected; and whether a cell is the one its words say. Not for the walk through all
// of them (walk.ts).
import type { FrameSource } from '../../../base/index.ts';
import type { RealResampler } from '../../../signal/index.ts';
import { BURST_FRAMES, BURST_START, CELL_FRAMES, type ChainSignal, EDGE_FRAMES } from '../layout.ts';
import { signalSource } from '../test-signal.ts';
import { type Lag, lagIn } from './lag.ts';
import { searchResampler } from './mark-scan.ts';

/** One cell that is known, in one channel of the capture. */
export interface Seed {
  /** channel of the capture, 0-based */
  readonly channel: number;
  readonly source: number;
  readonly cell: number;
  /** frame of the cell's first sample, to a frame or two */
  readonly frame: number;
  /** of its mark */
  readonly likeness: number;
}

/** A place of the sent signal and where it came out. */
export interface Anchor {
  readonly sentFrame: number;
  /** fractional frame of the capture */
  readonly frame: number;
  readonly likeness: number;
}

export interface PlaceFinder {
  /** the stretch of `STRETCH_FRAMES` sent from `sentFrame`, looked for `reach` frames around `frame` */
  find(channel: number, source: number, sentFrame: number, frame: number, reach: number): Promise<Anchor | undefined>;
}

export const STRETCH_FRAMES = 4096;
/** Hiss behind the burst: of no other cell, while marks and most words are alike in all. */
export const HISS_START = BURST_START + BURST_FRAMES + 300;
export const NEAR_FRAMES = 1000;
const PARTS_BELOW = 0.9;
const PART_FRAMES = 512;
const PART_REACH = 48;
const CLEARLY_MORE = 0.15;

/** `ratio`: frames captured for each frame sent. */
export function placeFinder(capture: FrameSource, sent: FrameSource, ratio: number): PlaceFinder {
  const resampler = searchResampler(1 / ratio);
  return {
    async find(channel, source, sentFrame, frame, reach) {
      const stretch = await sentStretch(sent, source, sentFrame, ratio, resampler);
      return lookAround(capture, channel, stretch, sentFrame, frame, ratio, reach);
    },
  };
}

/** Whether the hiss of the seed's cell is where its mark says. */
export async function isBorneOut(
  capture: FrameSource,
  signal: ChainSignal,
  ratio: number,
  { channel, source, cell, frame }: Seed,
): Promise<boolean> {
  const sentFrame = EDGE_FRAMES + cell * CELL_FRAMES + HISS_START;
  const expected = frame + HISS_START * ratio;
  const finder = placeFinder(capture, signalSource(signal), ratio);
  return (await finder.find(channel, source, sentFrame, expected, NEAR_FRAMES)) !== undefined;
}

async function sentStretch(
  sent: FrameSource,
  source: number,
  sentFrame: number,
  ratio: number,
  resampler: RealResampler,
): Promise<Float64Array> {
  if (Math.abs(ratio - 1) < 1e-9) return Float64Array.from((await sent.read(sentFrame, STRETCH_FRAMES)).planes[source]);
  const margin = 32 * Math.ceil(Math.max(1, 1 / ratio));
  const length = Math.floor(STRETCH_FRAMES * ratio);
  const block = await sent.read(Math.max(0, sentFrame - margin), STRETCH_FRAMES + 2 * margin);
  return resampler(Float64Array.from(block.planes[source]), sentFrame - block.start, 1 / ratio, length);
}

async function lookAround(
  capture: FrameSource,
  channel: number,
  stretch: Float64Array,
  sentFrame: number,
  frame: number,
  ratio: number,
  reach: number,
): Promise<Anchor | undefined> {
  const start = Math.max(0, Math.round(frame) - reach);
  const block = await capture.read(start, Math.max(0, Math.round(frame) + stretch.length + reach - start));
  if (block.frames < stretch.length) return undefined;
  const window = withoutMean(block.planes[channel]);
  const lag = lagIn(window, stretch, frame - block.start);
  if (!lag) return undefined;
  const part = ratio === 1 && Math.abs(lag.likeness) < PARTS_BELOW ? clearestPart(window, stretch, lag) : undefined;
  const { frames, likeness, skip } = part ?? { ...lag, skip: 0 };
  return { sentFrame: sentFrame + skip, frame: block.start + frames + skip, likeness };
}

/** A slip within the stretch leaves no lag right for all of it: the part of it that is most alike, if that is clearly more. */
function clearestPart(window: Float64Array, stretch: Float64Array, { frames, likeness }: Lag) {
  let best = { frames, likeness, skip: 0 };
  for (let skip = 0; skip + PART_FRAMES <= stretch.length; skip += PART_FRAMES) {
    const part = stretch.subarray(skip, skip + PART_FRAMES);
    const from = Math.max(0, Math.round(frames) + skip - PART_REACH);
    const lag = lagIn(window.subarray(from, Math.round(frames) + skip + PART_FRAMES + PART_REACH), part, -1);
    if (lag && Math.abs(lag.likeness) > Math.abs(best.likeness)) {
      // the lag is surest in the middle of the part
      best = { frames: from + lag.frames - skip, likeness: lag.likeness, skip: skip + PART_FRAMES / 2 };
    }
  }
  return Math.abs(best.likeness) > Math.abs(likeness) + CLEARLY_MORE ? best : undefined;
}

function withoutMean(plane: Int32Array): Float64Array {
  let sum = 0;
  for (let n = 0; n < plane.length; n++) sum += plane[n];
  const mean = sum / plane.length;
  const out = new Float64Array(plane.length);
  for (let n = 0; n < plane.length; n++) out[n] = plane[n] - mean;
  return out;
}
