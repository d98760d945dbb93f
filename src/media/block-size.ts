// How long the blocks of a file are: what the caller asked for, kept within bounds whatever a header says.
import { DEFAULT_BLOCK_FRAMES } from '../base/index.ts';

/** Upper bound of the samples in one block. */
const MOST_BLOCK_SAMPLES = 16 * 1024 * 1024;

/** The asked block length, or less where the file is shorter or has very many channels. */
export function blockSize(asked: number | undefined, channels: number, frames: number): number {
  const most = Math.max(1, Math.min(frames, Math.floor(MOST_BLOCK_SAMPLES / channels)));
  return Math.max(1, Math.min(Math.floor(asked ?? DEFAULT_BLOCK_FRAMES), most));
}
