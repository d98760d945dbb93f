// The judgement on a whole chain: finds the signal, follows both channels, lets each tell its story and adds what only both together can tell. Transparent
// means that each sample of both channels is equal; everything else is named. Not for words or files (deliver/, tasks/).
import { type FrameSource, type Progress, type StopSignal, TapeproofError } from '../../../base/index.ts';
import { type FoundSeeds, findSeeds } from '../find/find-signal.ts';
import type { Seed } from '../find/places.ts';
import { type FoundChannel, walkFrom } from '../find/walk.ts';
import { CELL_FRAMES, type ChainSignal, EDGE_FRAMES, SILENCE_FRAMES, signalFrames } from '../layout.ts';
import { signalSource } from '../test-signal.ts';
import { clockOf } from './clock.ts';
import type { ChainFinding } from './finding.ts';
import { type ChannelJudgement, judgeChannel } from './judge-channel.ts';
import { mergedFindings } from './merge.ts';
import { bothFindings } from './pair-findings.ts';
import { type Proof, proofOf } from './proof.ts';
import { type Track, trackOf } from './track.ts';

export type ChainVerdict = 'transparent' | 'incomplete' | 'analogue' | 'changed';

export interface JudgedChannel {
  /** of the capture, 1-based */
  readonly channel: number;
  /** of the signal, 1-based */
  readonly source: number;
  readonly firstFrame: number;
  readonly frames: number;
  readonly equalFrames: number;
  readonly firstDifferences: readonly { readonly frame: number; readonly sentFrame: number }[];
  /** what no finding explains, in steps of the capture's last bit */
  readonly restRmsSteps: number;
  /** captured frames by which the sent ones came late, at the first known place */
  readonly lagFrames: number;
  /** bits of the sent word that were both 0 and 1 among the compared samples */
  readonly movedBits: number;
  /** different values among them; null for words longer than 16 bits and where no sample has a partner of its own */
  readonly sentValues: number | null;
}

export interface ChainJudgement {
  readonly signal: ChainSignal;
  readonly verdict: ChainVerdict;
  readonly channels: readonly JudgedChannel[];
  readonly findings: readonly ChainFinding[];
  /** part of the signal that the capture holds: cells and edges whole */
  readonly coverage: { readonly sentFrom: number; readonly sentTo: number; readonly isWhole: boolean };
  readonly proof: Proof;
}

export interface JudgeOptions {
  /** what was sent; without it the capture's own words say it */
  readonly signal?: ChainSignal | undefined;
  /** channels of the capture that carry the chain, 0-based; without it those that hold the signal */
  readonly channels?: readonly number[] | undefined;
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

/** With fewer places the rest of the judgement has no ground. */
const LEAST_ANCHORS = 8;

export async function judgeChain(capture: FrameSource, options: JudgeOptions = {}): Promise<ChainJudgement> {
  const chosen = chosenChannels(capture, options.channels);
  const found = await findSeeds(chosen.source, options);
  const sent = signalSource(found.signal);
  const tracks: Track[] = [];
  const first = await foundChannels(chosen.source, sent, found, options);
  const ratio = driftRatio(first, found.ratio);
  // a stretch is found the better the nearer its own rate is to the true one
  const places =
    ratio === found.ratio ? first : await foundAgain(chosen.source, sent, { ...found, ratio }, first, options);
  for (const one of places) {
    tracks.push(await trackOf({ capture: chosen.source, sent, signal: found.signal, ratio, stop: options.stop }, one));
  }
  const judged: { track: Track; own: ChannelJudgement }[] = [];
  for (const [k, track] of tracks.entries()) {
    options.progress?.({ stage: 'judging', done: k, total: tracks.length, unit: 'items' });
    const own = await judgeChannel({ signal: found.signal, capture: chosen.source, sent, track, stop: options.stop });
    judged.push({ track, own });
  }
  const silent = (options.channels ?? []).filter(
    (one) => !tracks.some((track) => chosen.numbers[track.channel] === one),
  );
  return judgement(capture, found, judged, chosen.numbers, silent);
}

function chosenChannels(capture: FrameSource, channels: readonly number[] | undefined) {
  const numbers = channels ?? capture.info.channels;
  if (typeof numbers === 'number') return { source: capture, numbers: Array.from({ length: numbers }, (_, k) => k) };
  for (const one of numbers) {
    if (one < capture.info.channels) continue;
    throw new TapeproofError('input', 'the capture has no such channel', {
      path: capture.info.name,
      expected: `1 to ${capture.info.channels}`,
      found: `${one + 1}`,
    });
  }
  const pick = <T extends { readonly planes: readonly Int32Array[] }>(block: T): T => ({
    ...block,
    planes: numbers.map((one) => block.planes[one]),
  });
  const source: FrameSource = {
    info: { ...capture.info, channels: numbers.length },
    read: async (start, frames) => pick(await capture.read(start, frames)),
    async *blocks(options) {
      for await (const block of capture.blocks(options)) yield pick(block);
    },
  };
  return { source, numbers: [...numbers] };
}

/** Each channel of the capture that holds the signal, with the sent channel it is most like. */
async function foundChannels(
  capture: FrameSource,
  sent: FrameSource,
  found: FoundSeeds,
  { stop }: JudgeOptions,
): Promise<FoundChannel[]> {
  const out: FoundChannel[] = [];
  for (let channel = 0; channel < capture.info.channels; channel++) {
    const seeds = seedsFor(channel, found.seeds);
    const walks: FoundChannel[] = [];
    for (const seed of seeds) walks.push(await walkFrom({ capture, sent, found, stop }, seed));
    walks.sort((a, b) => strength(b) - strength(a));
    if (walks[0] && walks[0].anchors.length >= LEAST_ANCHORS) out.push(walks[0]);
  }
  if (out.length > 0) return out;
  throw new TapeproofError('input', 'too little of the signal is in this capture to judge the chain', {
    path: capture.info.name,
    expected: `at least ${LEAST_ANCHORS / 2} cells of ${CELL_FRAMES} frames that are known again`,
    found: `${found.seeds.length > 0 ? 'a few parts' : 'nothing'}`,
    next: 'capture again, from before the signal begins until after it ends',
  });
}

function driftRatio(channels: readonly FoundChannel[], ratio: number): number {
  const clock = clockOf(channels[0].anchors, ratio);
  return clock.kind === 'drifting' ? clock.ratio : ratio;
}

async function foundAgain(
  capture: FrameSource,
  sent: FrameSource,
  found: FoundSeeds,
  channels: readonly FoundChannel[],
  { stop }: JudgeOptions,
): Promise<FoundChannel[]> {
  const out: FoundChannel[] = [];
  for (const { channel, source, anchors } of channels) {
    const { sentFrame, frame, likeness } = anchors[0];
    const cell = Math.max(0, Math.floor((sentFrame - EDGE_FRAMES) / CELL_FRAMES));
    const start = frame - (sentFrame - EDGE_FRAMES - cell * CELL_FRAMES) * found.ratio;
    out.push(await walkFrom({ capture, sent, found, stop }, { channel, source, cell, frame: start, likeness }));
  }
  return out;
}

/** The channel's own best seed; where it has none (it came later, or is damaged there) those of the others, for both sent channels. */
function seedsFor(channel: number, seeds: readonly Seed[]): Seed[] {
  const own = seeds
    .filter((seed) => seed.channel === channel)
    .sort((a, b) => Math.abs(b.likeness) - Math.abs(a.likeness));
  if (own.length > 0) return own.slice(0, 1);
  return seeds.slice(0, 1).flatMap((seed) => [0, 1].map((source) => ({ ...seed, channel, source })));
}

function strength({ anchors }: FoundChannel): number {
  return anchors.reduce((sum, anchor) => sum + Math.abs(anchor.likeness), 0);
}

function judgement(
  capture: FrameSource,
  found: FoundSeeds,
  judged: readonly { readonly track: Track; readonly own: ChannelJudgement }[],
  numbers: readonly number[],
  /** channels that were asked for and hold nothing of the signal */
  silent: readonly number[],
): ChainJudgement {
  const { signal } = found;
  const tracks = judged.map(({ track }) => track);
  const numberOf = (track: Track) => numbers[track.channel] + 1;
  const own = judged.flatMap(({ track, own: { changes } }) =>
    changes.map((change): ChainFinding => ({ ...change, channels: [numberOf(track)] })),
  );
  const without = silent.map((one, k): ChainFinding => ({ kind: 'missing', source: (k % 2) + 1, channels: [one + 1] }));
  const isMixed = own.some(({ kind }) => kind === 'mix');
  const findings = mergedFindings([
    ...bothFindings(capture.info, signal, tracks, numberOf, isMixed),
    ...without,
    ...own,
  ]);
  const channels = judged.map(({ track, own: { survey, restRmsSteps } }) => ({
    channel: numberOf(track),
    source: track.source + 1,
    firstFrame: track.pieces[0].start,
    frames: survey.frames,
    equalFrames: survey.equal,
    firstDifferences: survey.firstDifferences,
    restRmsSteps,
    lagFrames: track.pieces[0].start - track.pieces[0].sentAt,
    movedBits: survey.movedBits,
    sentValues: survey.sentValues,
  }));
  const coverage = coverageOf(signal, tracks);
  const verdict = verdictOf(findings, coverage.isWhole, judged);
  return {
    signal,
    verdict,
    channels,
    findings,
    coverage,
    proof: proofOf(signal, coverage, channels, verdict === 'transparent' || verdict === 'incomplete'),
  };
}

function coverageOf(signal: ChainSignal, tracks: readonly Track[]): ChainJudgement['coverage'] {
  const sentFrom = Math.max(...tracks.map(({ pieces }) => Math.round(pieces[0].sentAt)));
  const sentTo = Math.min(
    ...tracks.map(({ pieces }) => {
      const last = pieces[pieces.length - 1];
      return Math.round(last.sentAt + last.frames * last.step);
    }),
  );
  const isWhole = sentFrom <= SILENCE_FRAMES && sentTo >= signalFrames(signal) - SILENCE_FRAMES;
  return { sentFrom, sentTo, isWhole };
}

function verdictOf(
  findings: readonly ChainFinding[],
  isWhole: boolean,
  judged: readonly { readonly track: Track; readonly own: ChannelJudgement }[],
): ChainVerdict {
  const isEqual = judged.every(({ own: { survey } }) => survey.equal === survey.frames);
  if (findings.length === 0 && isEqual) return isWhole ? 'transparent' : 'incomplete';
  const isAnalogue = judged.some(({ track, own: { changes } }) => {
    const has = (kind: ChainFinding['kind']) => changes.some((change) => change.kind === kind);
    return has('noise') && (track.clock.kind === 'drifting' || has('filter'));
  });
  return isAnalogue ? 'analogue' : 'changed';
}
