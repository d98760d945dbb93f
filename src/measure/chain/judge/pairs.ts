// What came out beside what should have come out, block by block through the pieces of a track, at the capture's word length: the one way in which
// everything else compares. Holds no more than a block.
import { type FrameSource, type StopSignal, throwIfStopped } from '../../../base/index.ts';
import { type RealResampler, realResampler } from '../../../signal/index.ts';
import {
  BURST_FRAMES,
  BURST_START,
  CELL_FRAMES,
  type ChainSignal,
  EDGE_FRAMES,
  GAP_FRAMES,
  GAP_START,
  hasGap,
  SILENCE_FRAMES,
  signalFrames,
} from '../layout.ts';
import type { Piece, Track } from './track.ts';

export interface Pair {
  /** first captured frame */
  readonly start: number;
  /** sent frame of the first captured one; whole on one clock */
  readonly sentStart: number;
  readonly step: number;
  readonly captured: Int32Array;
  /** the sent channel at the capture's word length (steps of its last bit) and rate */
  readonly expected: Float64Array;
  /** the other sent channel at the same places; made when asked for */
  other(): Float64Array;
}

export interface PairSource {
  readonly signal: ChainSignal;
  readonly capture: FrameSource;
  readonly sent: FrameSource;
  readonly track: Track;
  readonly stop?: StopSignal | undefined;
}

const TAPS = 48;

/** A visit that answers `enough` is the last. */
export async function eachPair(from: PairSource, visit: (pair: Pair) => unknown): Promise<void> {
  const step = from.track.pieces[0]?.step ?? 1;
  const resampler = step === 1 ? undefined : realResampler(step, { halfTaps: TAPS });
  for (const piece of from.track.pieces) {
    for (let at = 0; at < piece.frames; ) {
      throwIfStopped(from.stop);
      const frames = Math.min(framesToBurst(piece.sentAt + at * step, step), piece.frames - at);
      if (visit(await pairAt(from, piece, at, frames, resampler)) === 'enough') return;
      at += frames;
    }
  }
}

/** Blocks end within bursts, so that each holds all the hiss between two of them. */
function framesToBurst(sentFrame: number, step: number): number {
  const inCell = sentFrame - EDGE_FRAMES - BURST_START - BURST_FRAMES / 2;
  return Math.ceil((CELL_FRAMES - (((inCell % CELL_FRAMES) + CELL_FRAMES) % CELL_FRAMES)) / step) || 1;
}

async function pairAt(
  { signal, capture, sent, track }: PairSource,
  piece: Piece,
  at: number,
  frames: number,
  resampler: RealResampler | undefined,
): Promise<Pair> {
  const start = piece.start + at;
  const sentStart = piece.sentAt + at * piece.step;
  const margin = resampler ? 2 * TAPS * Math.ceil(Math.max(1, piece.step)) : 0;
  const captured = (await capture.read(start, frames)).planes[track.channel];
  const from = Math.max(0, Math.floor(sentStart) - margin);
  const block = await sent.read(from, Math.ceil(sentStart + frames * piece.step) + margin - from);
  const scale = 2 ** (capture.info.bits - signal.bits);
  const planeOf = (source: number) => {
    const plane = block.planes[source];
    const skip = resampler ? 0 : sentStart - from;
    const out = new Float64Array(resampler ? plane.length : frames);
    // before the first sent frame there is nothing
    const first = Math.max(0, -skip);
    const last = Math.min(out.length, plane.length - skip);
    for (let n = first; n < last; n++) out[n] = plane[n + skip] * scale;
    return resampler ? resampler(out, sentStart - from, piece.step, frames) : out;
  };
  return {
    start,
    sentStart,
    step: piece.step,
    captured,
    expected: planeOf(track.source),
    other: () => planeOf(1 - track.source),
  };
}

export type Region = 'silence' | 'gap' | 'burst' | 'hiss';

/** Frames by which a filter may smear a burst. */
const AFTER = 1200;
const BEFORE = 300;

/** What was sent at a frame, with room around bursts for what filters smear. */
export function regionOf(signal: ChainSignal, sentFrame: number): Region {
  const frames = signalFrames(signal);
  if (sentFrame < SILENCE_FRAMES || sentFrame >= frames - SILENCE_FRAMES) return 'silence';
  const inside = sentFrame - EDGE_FRAMES;
  if (inside < 0 || sentFrame >= frames - EDGE_FRAMES) return 'hiss';
  const cell = Math.floor(inside / CELL_FRAMES);
  const offset = inside - cell * CELL_FRAMES;
  if (offset >= BURST_START - BEFORE && offset < BURST_START + BURST_FRAMES + AFTER) return 'burst';
  return hasGap(cell) && offset >= GAP_START && offset < GAP_START + GAP_FRAMES ? 'gap' : 'hiss';
}
