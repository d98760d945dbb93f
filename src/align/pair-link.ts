// The exact relation of two captures: which channels hold the same numbers, and at which offsets, to the frame.
// Knows nothing of timelines, nor which of the two is to blame for a slip.
import type { FrameSource, Span, StopSignal } from '../base/index.ts';
import { throwIfStopped } from '../base/index.ts';
import { ANCHOR_WINDOW } from '../signal/index.ts';
import { findBoundary } from './boundary.ts';
import { chainMatches, type Run } from './chain.ts';
import { runsAgainst, runsBetween } from './dense.ts';
import { gainOfDiffering } from './gain.ts';
import {
  type ChannelPair,
  chooseChannelPairs,
  type JoinedAnchors,
  joinAnchors,
  type Matches,
  mergeMatches,
  type SortedAnchors,
} from './match.ts';
import { PairReader } from './pair-reader.ts';
import { type Comparison, compareAlong } from './verify.ts';

/** Own frames of the span lie at other = own + offset. The segments cover the own capture without gaps. */
export interface PairSegment extends Span {
  readonly offset: number;
}

/** Where the offset changes. `change` = new offset - old: > 0 means the own capture lacks frames that the other has. */
export interface PairStep {
  readonly ownAt: number;
  readonly otherAt: number;
  readonly change: number;
  /** frames before `ownAt` in which the split could lie as well (silence, damage, chance agreement) */
  readonly slackFrames: number;
}

export interface PairLink {
  readonly own: number;
  readonly other: number;
  readonly pairs: readonly ChannelPair[];
  readonly segments: readonly PairSegment[];
  readonly steps: readonly PairStep[];
  /** own frames of the first and last matched window */
  readonly first: number;
  readonly last: number;
  /** matched windows */
  readonly matches: number;
  readonly comparison: Comparison;
}

export interface Candidate {
  readonly index: number;
  readonly source: FrameSource;
  readonly anchors: readonly SortedAnchors[];
  /** finest density, as one window in 2^level, among the channels' anchors */
  readonly level: number;
}

/** `isFinal`: equal samples were seen, yet no place for them; looking for mere likeness would only hide that. */
export type PairOutcome = { readonly link: PairLink } | { readonly refused: string; readonly isFinal: boolean };

/** Windows that must agree on one chain; fewer are no evidence. */
const MIN_MATCHES = 6;
/** A second offset explaining this share of what the best explains makes the place ambiguous. */
const RIVAL_SHARE = 0.98;
const MIN_EQUAL_WINDOW_SHARE = 0.25;

/** `allowed` lists the channel pairs that may carry evidence. Reads only around changes of offset and in samples. */
export async function linkPair(
  own: Candidate,
  other: Candidate,
  allowed: readonly ChannelPair[],
  stop?: StopSignal,
): Promise<PairOutcome> {
  const evidence = gather(own, other, allowed);
  const coarse = solid(chainMatches(evidence.matches));
  const total = coarse.reduce((sum, run) => sum + run.weight, 0);
  if (total < MIN_MATCHES) return { refused: noEvidence(own, other, evidence.matches.own.length), isFinal: false };
  const rival = rivalOffset(evidence.matches, coarse);
  if (rival !== null) return { refused: ambiguous(coarse[0].offset, rival), isFinal: true };
  const reader = new PairReader(own.source, other.source, evidence.pairs);
  throwIfStopped(stop);
  const runs = await fineRuns(reader, coarse, Math.min(own.level, other.level), stop);
  const { segments, steps } = await split(reader, runs);
  const comparison = await compareAlong(reader, segments, stop);
  // Where it is quiet, a copy at another level rounds to the same numbers; its loud windows fit one gain.
  const isScaled = gainOfDiffering(comparison, own.source.info.bits, other.source.info.bits) !== null;
  const isPatchy = comparison.equalWindows < comparison.windows * MIN_EQUAL_WINDOW_SHARE;
  if (comparison.windows > 0 && isPatchy && !isScaled) {
    return { refused: patchy(total, comparison), isFinal: true };
  }
  const first = runs[0].first;
  const last = runs[runs.length - 1].last;
  return {
    link: {
      own: own.index,
      other: other.index,
      pairs: evidence.pairs,
      segments,
      steps,
      first,
      last,
      matches: total,
      comparison,
    },
  };
}

function gather(own: Candidate, other: Candidate, allowed: readonly ChannelPair[]) {
  const joined = allowed.map((pair) => ({ pair, list: joinAnchors(own.anchors[pair[0]], other.anchors[pair[1]]) }));
  const pairs = chooseChannelPairs(joined.map(({ pair, list }) => ({ pair, count: chainWeight(list) })));
  const chosen = joined.filter(({ pair }) => pairs.includes(pair));
  return { pairs, matches: mergeMatches(chosen.map(({ list }) => list)) };
}

/** Evidence of one channel pair: distinct own windows, so that a repeating pattern does not outvote the music. */
function chainWeight({ own }: JoinedAnchors): number {
  return own
    .slice()
    .sort()
    .reduce((count, frame, n, sorted) => (n > 0 && frame === sorted[n - 1] ? count : count + 1), 0);
}

/** Runs of one or two windows between others are chance; the outermost need more, nothing holds them on the far side. */
function solid(runs: readonly Run[]): Run[] {
  const kept = runs.filter((run) => run.weight >= 3);
  const merged: Run[] = [];
  for (const run of kept) {
    const before = merged.at(-1);
    if (before?.offset === run.offset) merged[merged.length - 1] = joinRuns(before, run);
    else merged.push(run);
  }
  return merged;
}

function joinRuns(a: Run, b: Run): Run {
  return {
    first: a.first,
    last: b.last,
    offset: a.offset,
    weight: a.weight + b.weight,
    frames: [...a.frames, ...b.frames],
  };
}

/** Another single offset that explains (nearly) as much as a chain of one offset does: music that repeats to the sample. */
function rivalOffset(matches: Matches, runs: readonly Run[]): number | null {
  if (runs.length !== 1) return null;
  const votes = new Map<number, number>();
  for (let m = 0; m < matches.own.length; m++) {
    const offset = matches.other[m] - matches.own[m];
    votes.set(offset, (votes.get(offset) ?? 0) + matches.weight[m]);
  }
  votes.delete(runs[0].offset);
  for (const [offset, weight] of votes) {
    if (weight >= runs[0].weight * RIVAL_SHARE && weight > runs[0].weight - MIN_MATCHES) return offset;
  }
  return null;
}

/** The coarse runs with everything the close look finds between them, before the first and after the last. */
async function fineRuns(reader: PairReader, coarse: readonly Run[], level: number, stop?: StopSignal): Promise<Run[]> {
  const frames = reader.own.info.frames;
  const longGap = 12 * 2 ** level;
  const fine: Run[] = [];
  const head = await runsAgainst(reader, { start: 0, length: coarse[0].first }, coarse[0].offset);
  fine.push(...head);
  for (const [n, run] of coarse.entries()) {
    throwIfStopped(stop);
    const within = await insideRun(reader, run, longGap);
    if (n === 0) fine.push(...within);
    else {
      const between = await runsBetween(reader, fine[fine.length - 1], within[0]);
      fine.splice(-1, 1, ...between.slice(0, -1));
      fine.push(between[between.length - 1], ...within.slice(1));
    }
  }
  const end = fine[fine.length - 1];
  fine.push(...(await runsAgainst(reader, { start: end.last + 1, length: frames - end.last - 1 }, end.offset)));
  return mergeEqual(fine);
}

/** One run, broken up where its matched windows lie far apart and the samples between them lie elsewhere. */
async function insideRun(reader: PairReader, run: Run, longGap: number): Promise<Run[]> {
  const pieces: Run[] = [];
  let first = run.first;
  for (let n = 1; n < run.frames.length; n++) {
    const gap = run.frames[n] - run.frames[n - 1];
    if (gap <= longGap) continue;
    const strangers = await runsAgainst(reader, { start: run.frames[n - 1] + 1, length: gap - 1 }, run.offset);
    if (strangers.length === 0) continue;
    pieces.push({ ...run, first, last: run.frames[n - 1] }, ...strangers);
    first = run.frames[n];
  }
  return [...pieces, { ...run, first }];
}

function mergeEqual(runs: readonly Run[]): Run[] {
  const merged: Run[] = [];
  for (const run of runs) {
    const before = merged.at(-1);
    if (before?.offset === run.offset) merged[merged.length - 1] = { ...before, last: run.last };
    else merged.push(run);
  }
  return merged;
}

async function split(
  reader: PairReader,
  runs: readonly Run[],
): Promise<{ segments: PairSegment[]; steps: PairStep[] }> {
  const steps: PairStep[] = [];
  const segments: PairSegment[] = [];
  let start = 0;
  for (let n = 1; n < runs.length; n++) {
    const before = runs[n - 1];
    const after = runs[n];
    const boundary = await findBoundary(reader, between(before, after), before.offset, after.offset);
    const at = Math.max(boundary.at, start);
    segments.push({ start, length: at - start, offset: before.offset });
    steps.push({
      ownAt: at,
      otherAt: at + Math.min(before.offset, after.offset),
      change: after.offset - before.offset,
      slackFrames: Math.max(0, at - boundary.earliest),
    });
    start = at;
  }
  const last = runs[runs.length - 1];
  segments.push({ start, length: reader.own.info.frames - start, offset: last.offset });
  return { segments, steps };
}

/**
 * Where the split may lie. When the other side repeated frames, both offsets fit for as long as the repeat, and the
 * later run may have been seen before the earlier one ends: the search goes on that much further.
 */
function between(before: Run, after: Run): Span {
  const start = before.last + 1;
  const overlap = Math.max(0, after.offset - before.offset) + 4 * ANCHOR_WINDOW;
  const end = Math.max(start, Math.min(after.last + 1, after.first - ANCHOR_WINDOW + 1 + overlap));
  return { start, length: end - start };
}

function noEvidence(own: Candidate, other: Candidate, matches: number): string {
  for (const { source, anchors } of [own, other]) {
    if (source.info.frames < 0.2 * (source.info.rate.num / source.info.rate.den)) {
      return `${source.info.name} is shorter than 0.2 s: too short to be placed`;
    }
    if (anchors.every((list) => list.hashes.length < MIN_MATCHES)) {
      return `${source.info.name} holds hardly anything but silence or a steady tone: nothing to compare`;
    }
  }
  return `${matches} equal windows of ${ANCHOR_WINDOW} samples, fewer than the ${MIN_MATCHES} needed`;
}

function ambiguous(offset: number, rival: number): string {
  return (
    `the recording repeats to the sample: offsets ${offset} and ${rival} fit equally well, so the place is ambiguous; ` +
    'a stretch that does not repeat (the start or the end of the programme) in both captures would decide'
  );
}

function patchy(matches: number, comparison: Comparison): string {
  return (
    `${matches} equal windows were found, but along the best placement only ${comparison.equalWindows} of ` +
    `${comparison.windows} compared stretches are equal: shared material (a sampled sound, a jingle), not the same recording`
  );
}
