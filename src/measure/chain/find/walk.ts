// From one known cell to all the others, forwards and backwards, each looked for where the one before lets it be expected: where every part of the signal came
// out. Not for saying what the places mean (judge/clock.ts).
import { type FrameSource, type StopSignal, throwIfStopped } from '../../../base/index.ts';
import { CELL_FRAMES, EDGE_FRAMES } from '../layout.ts';
import type { FoundSeeds } from './find-signal.ts';
import { type Anchor, HISS_START, NEAR_FRAMES, type PlaceFinder, placeFinder, type Seed } from './places.ts';

export interface FoundChannel {
  /** channel of the capture, 0-based */
  readonly channel: number;
  /** sent channel that it holds, 0-based */
  readonly source: number;
  readonly anchors: readonly Anchor[];
}

/** Two stretches of each cell: the mark with its words, and hiss behind the burst, so that a drift of one frame for each cell is no riddle. */
const STRETCHES = [0, HISS_START] as const;
/** A lost buffer moves what follows by more. */
const FAR_FRAMES = 14_000;
/** Where two places in a row are lost, seconds may be. */
const VERY_FAR_FRAMES = 200_000;
const LOST_PLACES = 2;

export interface WalkInput {
  readonly capture: FrameSource;
  readonly sent: FrameSource;
  readonly found: FoundSeeds;
  readonly stop?: StopSignal | undefined;
}

export async function walkFrom(input: WalkInput, seed: Seed): Promise<FoundChannel> {
  const finder = placeFinder(input.capture, input.sent, input.found.ratio);
  const places = Array.from({ length: input.found.signal.cells }, (_, cell) =>
    STRETCHES.map((offset) => ({ sentFrame: EDGE_FRAMES + cell * CELL_FRAMES + offset, isOwn: offset === HISS_START })),
  ).flat();
  const first = seed.cell * STRETCHES.length;
  const onwards = await walk(input, seed, places.slice(first), finder);
  const back = await walk(input, seed, places.slice(0, first).reverse(), finder);
  return { channel: seed.channel, source: seed.source, anchors: [...back.reverse(), ...onwards] };
}

async function walk(
  { capture, found, stop }: WalkInput,
  seed: Seed,
  places: readonly { readonly sentFrame: number; readonly isOwn: boolean }[],
  finder: PlaceFinder,
): Promise<Anchor[]> {
  const anchors: Anchor[] = [];
  let missed = 0;
  let from = { sentFrame: EDGE_FRAMES + seed.cell * CELL_FRAMES, frame: seed.frame };
  for (const { sentFrame, isOwn } of places) {
    throwIfStopped(stop);
    const frame = from.frame + (sentFrame - from.sentFrame) * found.ratio;
    if (frame < -VERY_FAR_FRAMES || frame > capture.info.frames + VERY_FAR_FRAMES) continue;
    const look = (reach: number) => finder.find(seed.channel, seed.source, sentFrame, frame, reach);
    // far away the mark of another cell would be taken for this one's
    const far = missed < LOST_PLACES ? FAR_FRAMES : VERY_FAR_FRAMES;
    const anchor = (await look(NEAR_FRAMES)) ?? (isOwn ? await look(far) : undefined);
    missed = anchor ? 0 : missed + 1;
    if (!anchor) continue;
    anchors.push(anchor);
    from = anchor;
  }
  return anchors;
}
