// A block of planar integer samples: the only shape in which audio travels between layers.

/**
 * Samples are signed integers at the stated word length of their source (`FrameInfo.bits`): 16 bit is -32768..32767,
 * right-justified in the Int32Array. `planes[c][i]` is frame `start + i` of file channel c (0-based).
 * Planes may be views that the producer reuses: copy what must outlive the next block.
 */
export interface Block {
  readonly start: number;
  readonly frames: number;
  readonly planes: readonly Int32Array[];
}

export function emptyBlock(start: number, channels: number, frames: number): Block {
  return { start, frames, planes: Array.from({ length: channels }, () => new Int32Array(frames)) };
}

/** Views, not copies. `from` is relative to the block. */
export function sliceBlock(block: Block, from: number, frames: number): Block {
  return {
    start: block.start + from,
    frames,
    planes: block.planes.map((plane) => plane.subarray(from, from + frames)),
  };
}

/** Channel planes of a whole recording cut into a block sequence; for tests and in-memory sources. */
export function* blocksOf(planes: readonly Int32Array[], blockFrames: number): Generator<Block> {
  const total = planes[0]?.length ?? 0;
  const whole: Block = { start: 0, frames: total, planes };
  for (let at = 0; at < total; at += blockFrames) yield sliceBlock(whole, at, Math.min(blockFrames, total - at));
}
