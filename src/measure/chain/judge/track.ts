// One captured channel laid against what was sent: pieces in which the sent frame belonging to each captured one is known, and the slips between them.
// Not for comparing values.
import { type FrameSource, type StopSignal, throwIfStopped } from '../../../base/index.ts';
import type { FoundChannel } from '../find/walk.ts';
import { type ChainSignal, signalFrames } from '../layout.ts';
import { type Clock, clockOf, type DriftingClock, type LockedClock } from './clock.ts';
import { courseIn } from './slips.ts';

/** Captured frame `start + n` holds sent frame `sentAt + n * step`. */
export interface Piece {
  readonly start: number;
  readonly frames: number;
  readonly sentAt: number;
  /** 1 on one clock, where `sentAt` is whole */
  readonly step: number;
}

export interface ChainSlip {
  /** captured frame from which the new lag holds */
  readonly frame: number;
  /** any frame from `least` to `most` fits as well */
  readonly least: number;
  readonly most: number;
  /** negative: lost; positive: repeated or put in */
  readonly frames: number;
}

export interface Track {
  readonly channel: number;
  readonly source: number;
  readonly clock: Clock;
  readonly pieces: readonly Piece[];
  readonly slips: readonly ChainSlip[];
  /** mean likeness of the places: negative where the polarity is turned */
  readonly likeness: number;
}

export interface TrackInput {
  readonly capture: FrameSource;
  readonly sent: FrameSource;
  readonly signal: ChainSignal;
  readonly ratio: number;
  readonly stop?: StopSignal | undefined;
}

export async function trackOf(input: TrackInput, found: FoundChannel): Promise<Track> {
  const { channel, source, anchors } = found;
  const clock = clockOf(anchors, input.ratio);
  const likeness = anchors.reduce((sum, anchor) => sum + anchor.likeness, 0) / anchors.length;
  const { pieces, slips } =
    clock.kind === 'locked'
      ? await lockedPieces(input, found, clock, likeness)
      : driftingPieces(input, found, clock, signalFrames(input.signal));
  return { channel, source, clock, likeness, pieces, slips };
}

async function lockedPieces(input: TrackInput, found: FoundChannel, { lags }: LockedClock, likeness: number) {
  const { capture, signal, stop } = input;
  const frames = signalFrames(signal);
  const last = lags.length - 1;
  const places = found.anchors.map((anchor, k) => anchor.sentFrame + lags[k]);
  const begin = Math.max(0, lags[0]);
  const end = Math.min(capture.info.frames, frames + lags[last]);
  const stations = [
    { frame: begin, lag: lags[0] },
    ...places.map((frame, k) => ({ frame: Math.min(Math.max(begin, frame), end), lag: lags[k] })),
    { frame: end, lag: lags[last] },
  ];
  const pieces: Piece[] = [];
  const slips: ChainSlip[] = [];
  let from = { frame: begin, lag: lags[0] };
  const turnTo = (frame: number, least: number, most: number, lag: number) => {
    if (frame > from.frame) pieces.push(lockedPiece(from, frame));
    slips.push({ frame, least, most, frames: lag - from.lag });
    from = { frame, lag };
  };
  for (let k = 1; k < stations.length; k++) {
    throwIfStopped(stop);
    const a = stations[k - 1];
    // a slip within the stretch by which a place was found lies behind that place: the next one is taken with it
    const isTogether = (k === 1 || stations[k].lag !== a.lag) && k + 1 < stations.length;
    const knownLags = [a.lag, stations[k].lag];
    if (isTogether) knownLags.push(stations[++k].lag);
    const b = stations[k];
    const stretch = await stretchOf(input, found, a.frame, b.frame, knownLags);
    const isEnd = k === stations.length - 1;
    const course = courseIn({ ...stretch, knownLags, firstLag: a.lag, lastLag: b.lag, likeness, isEnd });
    if (pieces.length === 0 && slips.length === 0 && a.frame === begin) from = { frame: begin, lag: course.startLag };
    else if (course.startLag !== from.lag) turnTo(a.frame, a.frame, a.frame, course.startLag);
    for (const { frame, least, most, lag } of course.turns)
      turnTo(a.frame + frame, a.frame + least, a.frame + most, lag);
  }
  pieces.push(lockedPiece(from, end));
  return { pieces, slips };
}

function lockedPiece(from: Station, end: number): Piece {
  return { start: from.frame, frames: end - from.frame, sentAt: from.frame - from.lag, step: 1 };
}

/** The search for slips tries lags this far beyond those that are known. */
const MARGIN = 64;

interface Station {
  readonly frame: number;
  readonly lag: number;
}

async function stretchOf(
  { capture, sent }: TrackInput,
  found: FoundChannel,
  start: number,
  end: number,
  lags: readonly number[],
) {
  const block = await capture.read(start, Math.max(0, end - start));
  const plane = block.planes[found.channel];
  const sentStart = Math.max(0, start - Math.max(...lags) - MARGIN);
  const sentEnd = end - Math.min(...lags) + MARGIN;
  const own = (await sent.read(sentStart, Math.max(0, sentEnd - sentStart))).planes[found.source];
  const shift = start - sentStart;
  return {
    captured: plane,
    sentAt: (frame: number) => own[frame + shift] ?? 0,
  };
}

function driftingPieces({ capture }: TrackInput, { anchors }: FoundChannel, clock: DriftingClock, frames: number) {
  const { ratio, lines } = clock;
  const starts = lines.map(({ firstAnchor, offset }, k) =>
    k === 0 ? Math.max(0, Math.ceil(offset)) : Math.ceil(anchors[firstAnchor].frame),
  );
  const end = Math.min(capture.info.frames, Math.floor(lines[lines.length - 1].offset + ratio * frames));
  // where a slip lies between two places is not known: nothing there is compared
  const ends = lines.map((_, k) =>
    k + 1 < lines.length ? Math.floor(anchors[lines[k + 1].firstAnchor - 1].frame) : end,
  );
  const pieces = lines.map(({ offset }, k) => ({
    start: starts[k],
    frames: Math.max(0, ends[k] - starts[k]),
    sentAt: (starts[k] - offset) / ratio,
    step: 1 / ratio,
  }));
  const slips = lines.slice(1).map(({ firstAnchor, offset }, k) => ({
    frame: Math.round((ends[k] + starts[k + 1]) / 2),
    least: ends[k],
    most: Math.ceil(anchors[firstAnchor].frame),
    frames: offset - lines[k].offset,
  }));
  return { pieces, slips };
}
