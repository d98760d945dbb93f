// A close look at a short stretch: anchors at one window in four on both sides, chained again. Finds slips that follow
// each other faster than the anchors of the whole capture. Not for long stretches: those are passed over.
import type { Span } from '../base/index.ts';
import { spanEnd } from '../base/index.ts';
import { ANCHOR_WINDOW, type AnchorScanSettings } from '../signal/index.ts';
import { beginAnchors } from './anchor-set.ts';
import { chainMatches, type Run } from './chain.ts';
import { joinAnchors, mergeMatches, sortAnchors } from './match.ts';
import { NOT_COVERED, type PairReader } from './pair-reader.ts';

const DENSE: AnchorScanSettings = { level: 2, capacity: 1 << 19, keepNearRepeats: true };
const CONTEXT_FRAMES = 256;
const MAX_OWN_FRAMES = 1 << 18;
const MAX_OTHER_FRAMES = 1 << 20;
/** Matches (overlapping windows) that a stretch found only by the close look must have. */
const MIN_WEIGHT = 8;
const BLOCK_FRAMES = 128;
const JOIN_BLOCKS = 4;
const MAX_STRETCHES = 64;
const SLACK_FRAMES = 4096;

/** Runs between two known runs, both included (with their own first and last as given). */
export async function runsBetween(reader: PairReader, before: Run, after: Run): Promise<Run[]> {
  const start = Math.max(0, before.last - ANCHOR_WINDOW - CONTEXT_FRAMES);
  const end = Math.min(reader.own.info.frames, after.first + CONTEXT_FRAMES);
  const low = start + Math.min(before.offset, after.offset);
  const high = end + Math.max(before.offset, after.offset);
  const dense = await denseRuns(reader, { start, length: end - start }, { start: low, length: high - low });
  const middle = dense.slice();
  const head = middle[0]?.offset === before.offset ? middle.shift() : undefined;
  const tail = middle.at(-1)?.offset === after.offset ? middle.pop() : undefined;
  return [
    { ...before, last: Math.max(before.last, head?.last ?? 0) },
    ...middle.filter((run) => run.weight >= MIN_WEIGHT),
    { ...after, first: tail ? Math.min(after.first, tail.first) : after.first },
  ];
}

/** Runs with another offset inside a stretch that should lie at `offset`, where the samples contradict it. */
export async function runsAgainst(reader: PairReader, stretch: Span, offset: number): Promise<Run[]> {
  const found: Run[] = [];
  for (const bad of (await contradictions(reader, stretch, offset)).slice(0, MAX_STRETCHES)) {
    const start = Math.max(0, bad.start - CONTEXT_FRAMES);
    const length = Math.min(reader.own.info.frames, spanEnd(bad) + CONTEXT_FRAMES) - start;
    const slack = SLACK_FRAMES + bad.length;
    const runs = await denseRuns(
      reader,
      { start, length },
      { start: start + offset - slack, length: length + 2 * slack },
    );
    found.push(...runs.filter((run) => run.offset !== offset).flatMap((run) => within(run, bad, reader.pairs.length)));
  }
  return found;
}

/** The part of a run that lies in the stretch itself: what surrounds it belongs to the known runs. */
function within(run: Run, stretch: Span, channelPairs: number): Run[] {
  const frames = run.frames.filter(
    (f) => f - ANCHOR_WINDOW + 1 >= stretch.start - ANCHOR_WINDOW && f < spanEnd(stretch) + ANCHOR_WINDOW,
  );
  if (frames.length === 0 || frames.length * channelPairs < MIN_WEIGHT) return [];
  return [{ ...run, frames, first: frames[0], last: frames[frames.length - 1] }];
}

async function denseRuns(reader: PairReader, own: Span, other: Span): Promise<Run[]> {
  if (own.length > MAX_OWN_FRAMES || other.length > MAX_OTHER_FRAMES || own.length <= 0) return [];
  const sides = [
    { source: reader.own, span: own, channels: reader.pairs.map((pair) => pair[0]) },
    { source: reader.other, span: other, channels: reader.pairs.map((pair) => pair[1]) },
  ];
  const [a, b] = await Promise.all(
    sides.map(async ({ source, span, channels }) => {
      const from = Math.max(0, span.start);
      const block = await source.read(from, Math.max(0, spanEnd(span) - from));
      const session = beginAnchors({ ...source.info, channels: channels.length }, DENSE);
      session.push({ ...block, planes: channels.map((c) => block.planes[c]) });
      return { from: block.start, lists: session.finish().channels.map(sortAnchors) };
    }),
  );
  const joined = a.lists.map((list, n) => joinAnchors(list, b.lists[n]));
  const runs = chainMatches(
    mergeMatches(
      joined.map((list) => ({
        own: list.own.map((frame) => frame + a.from),
        other: list.other.map((frame) => frame + b.from),
      })),
    ),
  );
  return runs;
}

/** Stretches in which more than half of the frames differ, joined over short gaps. */
async function contradictions(reader: PairReader, stretch: Span, offset: number): Promise<Span[]> {
  const found: { start: number; length: number }[] = [];
  const step = BLOCK_FRAMES * 256;
  for (let at = stretch.start; at < spanEnd(stretch); at += step) {
    const frames = Math.min(step, spanEnd(stretch) - at);
    const differing = await reader.mismatch(at, frames, offset);
    for (let block = 0; block < frames; block += BLOCK_FRAMES) {
      const length = Math.min(BLOCK_FRAMES, frames - block);
      if (!isContradicted(differing.subarray(block, block + length))) continue;
      const last = found.at(-1);
      if (last && at + block - spanEnd(last) <= JOIN_BLOCKS * BLOCK_FRAMES) {
        last.length = at + block + length - last.start;
      } else found.push({ start: at + block, length });
    }
  }
  return found;
}

function isContradicted(differing: Uint8Array): boolean {
  let count = 0;
  let covered = 0;
  for (const d of differing) {
    if (d === NOT_COVERED) continue;
    covered++;
    if (d > 0) count++;
  }
  return count * 2 > covered;
}
