// The whole signal as a source of frames, made as it is read. Not for files (tasks/).
import { type Block, emptyBlock, type FrameSource, formatRate, sliceBlock, throwIfStopped } from '../../base/index.ts';
import { cellMaker, fadeSamples } from './cell.ts';
import {
  CELL_FRAMES,
  type ChainSignal,
  EDGE_FRAMES,
  FADE_FRAMES,
  SIGNAL_CHANNELS,
  SILENCE_FRAMES,
  signalFrames,
} from './layout.ts';

/** Cells kept, 3 MB: a reader that steps back a little makes none twice. */
const KEPT_CELLS = 32;

export function signalSource(signal: ChainSignal): FrameSource {
  const frames = signalFrames(signal);
  const makeCell = cellMaker(signal);
  const kept = new Map<number, Block>();
  const partAt = (frame: number): Block => {
    const cell = Math.floor((frame - EDGE_FRAMES) / CELL_FRAMES);
    if (cell < 0 || cell >= signal.cells) return edgeAt(signal, frame);
    const known = kept.get(cell);
    if (known) return known;
    const made: Block = {
      start: EDGE_FRAMES + cell * CELL_FRAMES,
      frames: CELL_FRAMES,
      planes: makeCell(cell),
    };
    for (const oldest of kept.keys()) {
      if (kept.size < KEPT_CELLS) break;
      kept.delete(oldest);
    }
    kept.set(cell, made);
    return made;
  };
  const fill = (start: number, wanted: number): Block => {
    const from = Math.min(Math.max(0, start), frames);
    const block = emptyBlock(from, SIGNAL_CHANNELS, Math.max(0, Math.min(frames, start + wanted) - from));
    for (let at = 0; at < block.frames; ) {
      const part = partAt(from + at);
      const skip = from + at - part.start;
      const length = Math.min(part.frames - skip, block.frames - at);
      const piece = sliceBlock(part, skip, length);
      for (let c = 0; c < SIGNAL_CHANNELS; c++) block.planes[c].set(piece.planes[c], at);
      at += length;
    }
    return block;
  };
  return {
    info: {
      name: `chain signal, ${signal.bits} bit, ${formatRate(signal.rate)}`,
      channels: SIGNAL_CHANNELS,
      frames,
      rate: signal.rate,
      bits: signal.bits,
    },
    read: async (start, wanted) => fill(start, wanted),
    async *blocks({ blockFrames = 4 * CELL_FRAMES, start = 0, stop } = {}) {
      for (let at = start; at < frames; at += blockFrames) {
        throwIfStopped(stop);
        yield fill(at, blockFrames);
      }
    },
  };
}

/** The part of lead-in or tail that holds the frame. */
function edgeAt(signal: ChainSignal, frame: number): Block {
  const tail = EDGE_FRAMES + signal.cells * CELL_FRAMES;
  if (frame < SILENCE_FRAMES) return emptyBlock(0, SIGNAL_CHANNELS, SILENCE_FRAMES);
  if (frame < EDGE_FRAMES) return { start: SILENCE_FRAMES, frames: FADE_FRAMES, planes: fadeSamples(signal, 'in') };
  if (frame < tail + FADE_FRAMES) return { start: tail, frames: FADE_FRAMES, planes: fadeSamples(signal, 'out') };
  return emptyBlock(tail + FADE_FRAMES, SIGNAL_CHANNELS, SILENCE_FRAMES);
}
