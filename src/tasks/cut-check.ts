// The proof of a cut: parts read from their files, put together into the channels of the master, and the digest of all samples. Not for writing.
import { createHash, type Hash } from 'node:crypto';
import type { CutSet } from '../assemble/index.ts';
import { type Block, DEFAULT_BLOCK_FRAMES, type StopSignal, throwIfStopped } from '../base/index.ts';
import { type AudioFile, type MediaInfo, openAudio } from '../media/index.ts';

/** All samples in the order of the frames, 32 bits each. */
export function addSamples(hash: Hash, { planes, frames }: Pick<Block, 'planes' | 'frames'>): void {
  const words = new Int32Array(planes.length * frames);
  for (const [c, plane] of planes.entries()) {
    for (let i = 0; i < frames; i++) words[i * planes.length + c] = plane[i];
  }
  hash.update(new Uint8Array(words.buffer));
}

/** `paths[s][i]`: file of part i of set s. Equal to the digest of the master's samples, or the cut is not one. */
export async function samplesOfParts(
  master: MediaInfo,
  sets: readonly CutSet[],
  paths: readonly (readonly string[])[],
  stop: StopSignal | undefined,
): Promise<string> {
  const hash = createHash('sha256');
  const files: AudioFile[][] = sets.map(() => []);
  try {
    for (const [s, own] of paths.entries()) for (const path of own) files[s].push(await openAudio(path));
    for (let at = 0; at < master.frames; at += DEFAULT_BLOCK_FRAMES) {
      throwIfStopped(stop);
      const frames = Math.min(DEFAULT_BLOCK_FRAMES, master.frames - at);
      const planes = Array.from({ length: master.channels }, () => new Int32Array(frames));
      for (const [s, set] of sets.entries()) await fill(planes, at, set, files[s], master.bits);
      addSamples(hash, { planes, frames });
    }
  } finally {
    for (const file of files.flat()) await file.close();
  }
  return hash.digest('hex');
}

/** What the parts of a set hold of the frames from `at` on, at its channels. */
async function fill(
  planes: readonly Int32Array[],
  at: number,
  { parts, channels }: CutSet,
  files: readonly AudioFile[],
  bits: number,
): Promise<void> {
  for (const [i, part] of parts.entries()) {
    const from = Math.max(at, part.start);
    const to = Math.min(at + planes[0].length, part.start + part.length);
    if (from >= to) continue;
    // A shorter word stands left-justified in the part's container.
    const shift = files[i].info.bits - bits;
    const block = await files[i].read(from - part.start, to - from);
    for (const [k, channel] of channels.entries()) {
      const [source, target] = [block.planes[k], planes[channel - 1]];
      for (let f = 0; f < block.frames; f++) target[from - at + f] = source[f] >> shift;
    }
  }
}
