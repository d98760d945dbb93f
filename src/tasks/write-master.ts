// Streams blocks into a master file: left-justified into the next container of whole bytes, otherwise untouched.
import type { Block, Rate } from '../base/index.ts';
import { createAudio, type Written } from '../media/index.ts';

export interface MasterFormat {
  readonly channels: number;
  readonly rate: Rate;
  /** word length of the blocks */
  readonly bits: number;
  /** about how many will come, where that is known */
  readonly frames?: number;
  /** for derivatives: the history of the file, as a `bext` chunk */
  readonly bext?: Parameters<typeof createAudio>[1]['bext'];
}

export interface Master extends Written {
  /** container width of the file; samples of a shorter word stand left-justified in it */
  readonly bits: 16 | 24 | 32;
}

/** Re-read, compared and renamed by media/ before it returns. On any failure nothing is left at `path`. */
export async function writeMaster(path: string, format: MasterFormat, blocks: AsyncIterable<Block>): Promise<Master> {
  const bits = containerFor(format.bits);
  const writer = await createAudio(path, {
    channels: format.channels,
    rate: format.rate,
    bits,
    validBits: format.bits,
    ...(format.frames === undefined ? {} : { frames: format.frames }),
    bext: format.bext,
  });
  try {
    const shift = bits - format.bits;
    for await (const block of blocks) await writer.write(justified(block, shift));
    return { ...(await writer.commit()), bits };
  } catch (error) {
    await writer.abort();
    throw error;
  }
}

/** Whole bytes that hold the word. */
export function containerFor(bits: number): 16 | 24 | 32 {
  return bits <= 16 ? 16 : bits <= 24 ? 24 : 32;
}

/** The same samples at the top of a word that is `shift` bits longer. */
export function justified(block: Block, shift: number): Block {
  if (shift === 0) return block;
  return { ...block, planes: block.planes.map((plane) => plane.map((sample) => sample << shift)) };
}
