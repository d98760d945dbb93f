// Renders an edit list from the same captures: the identical master, sample by sample. Writes no files.
import {
  type Block,
  DEFAULT_BLOCK_FRAMES,
  type FrameSource,
  type Progress,
  type StopSignal,
  TapeproofError,
  throwIfStopped,
} from '../base/index.ts';
import type { EditList, EditPiece } from './edit-list.ts';

export interface RenderOptions {
  readonly blockFrames?: number;
  readonly stop?: StopSignal | undefined;
  readonly progress?: Progress | undefined;
}

/**
 * `sources[i]` is the file of `list.sources[i]`. Samples are left-justified to `list.bits`; planes are the list's channels in
 * order and are reused between blocks. Throws `input` when a source does not fit its description, `io` when it ends early.
 */
export async function* renderEditList(
  list: EditList,
  sources: readonly FrameSource[],
  options: RenderOptions = {},
): AsyncGenerator<Block> {
  checkFit(list, sources);
  const blockFrames = Math.max(1, Math.min(options.blockFrames ?? DEFAULT_BLOCK_FRAMES, list.frames));
  const planes = list.channels.map(() => new Int32Array(blockFrames));
  const next = list.channels.map(() => 0);
  for (let at = 0; at < list.frames; at += blockFrames) {
    throwIfStopped(options.stop);
    const frames = Math.min(blockFrames, list.frames - at);
    const cuts = list.channels.flatMap(({ pieces }, c) => cutsOf(pieces, next, c, at, at + frames));
    for (const plane of planes) plane.fill(0);
    await fillFrom(list, sources, cuts, planes, at);
    yield { start: at, frames, planes: planes.map((p) => p.subarray(0, frames)) };
    options.progress?.({ stage: 'render', done: at + frames, total: list.frames, unit: 'frames' });
  }
}

interface Cut {
  readonly plane: number;
  readonly piece: EditPiece;
  /** master frames [from, to) */
  readonly from: number;
  readonly to: number;
}

/** The parts of the channel's pieces in master frames [from, to); moves the channel's cursor. */
function cutsOf(pieces: readonly EditPiece[], next: number[], plane: number, from: number, to: number): Cut[] {
  const cuts: Cut[] = [];
  while (next[plane] < pieces.length) {
    const piece = pieces[next[plane]];
    const end = piece.start + piece.length;
    if (piece.start >= to) break;
    if (piece.source !== null) {
      cuts.push({ plane, piece, from: Math.max(from, piece.start), to: Math.min(to, end) });
    }
    if (end > to) break;
    next[plane]++;
  }
  return cuts;
}

/** One read per source and place, however many channels and pieces take from it. */
async function fillFrom(
  list: EditList,
  sources: readonly FrameSource[],
  cuts: readonly Cut[],
  planes: readonly Int32Array[],
  at: number,
): Promise<void> {
  const byPlace = Map.groupBy(cuts, ({ piece }) => `${piece.source}@${piece.from - piece.start}`);
  for (const group of byPlace.values()) {
    const { piece } = group[0];
    const source = sources[piece.source ?? 0];
    const offset = piece.from - piece.start;
    const from = group.reduce((least, c) => Math.min(least, c.from), Number.POSITIVE_INFINITY);
    const to = group.reduce((most, c) => Math.max(most, c.to), 0);
    const block = await source.read(from + offset, to - from);
    if (block.frames !== to - from || block.start !== from + offset) {
      throw new TapeproofError('io', `${source.info.name}: ended sooner than the edit list needs`, {
        expected: `frames ${from + offset} to ${to + offset}`,
        found: `${block.frames} frames`,
      });
    }
    const shift = list.bits - source.info.bits;
    for (const cut of group) {
      const input = block.planes[cut.piece.fileChannel - 1];
      const output = planes[cut.plane];
      for (let i = cut.from; i < cut.to; i++) output[i - at] = input[i - from] << shift;
    }
  }
}

function checkFit(list: EditList, sources: readonly FrameSource[]): void {
  for (const [i, described] of list.sources.entries()) {
    const info = sources[i]?.info;
    const fits =
      info?.frames === described.frames && info.channels === described.channels && info.bits === described.bits;
    if (fits) continue;
    throw new TapeproofError('input', `${described.path}: not the file the edit list was made from`, {
      expected: `${described.frames} frames, ${described.channels} channels, ${described.bits} bit`,
      found: info ? `${info.frames} frames, ${info.channels} channels, ${info.bits} bit` : 'no file',
      next: 'render with the captures of the sheet, unchanged',
    });
  }
}
