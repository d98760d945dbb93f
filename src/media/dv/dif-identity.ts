// The identity bytes of DIF blocks: whether a frame begins here, whether a block is the one that belongs in its place.
// Source: R19, formats sheet 4.2, certainty T. The arbitrary bits and, in sequences without a number, the number say nothing.
import { AUDIO_BLOCKS, audioBlockAt, BLOCK_BYTES, type DvSystem, systemOf } from './dif-system.ts';

/** Bytes from which a frame start is recognised: the first seven blocks. */
export const START_BYTES = 7 * BLOCK_BYTES;

const HEADER = 0;
const SUBCODE = 1;
const VAUX = 2;
const AUDIO = 3;
/** section type and block number of the first seven blocks of a sequence */
const OPENING: readonly (readonly [type: number, block: number])[] = [
  [HEADER, 0],
  [SUBCODE, 0],
  [SUBCODE, 1],
  [VAUX, 0],
  [VAUX, 1],
  [VAUX, 2],
  [AUDIO, 0],
];
/** One of the seven may be damaged. */
const FEWEST_RIGHT = 6;

function isBlock(bytes: Uint8Array, at: number, type: number, sequence: number, block: number): boolean {
  return bytes[at] >> 5 === type && bytes[at + 1] >> 4 === sequence && bytes[at + 2] === block;
}

/** Whether sequence 0 of a DIF channel (0, or 1 in 50 Mb/s streams) begins at byte `at`. */
export function isFrameStart(bytes: Uint8Array, at = 0, channel = 0): boolean {
  if (at + START_BYTES > bytes.length || ((bytes[at + 81] >> 3) & 1) !== channel) return false;
  let right = 0;
  for (const [i, [type, block]] of OPENING.entries()) {
    if (isBlock(bytes, at + i * BLOCK_BYTES, type, 0, block)) right++;
    else if (i - right >= OPENING.length - FEWEST_RIGHT) return false;
  }
  return right >= FEWEST_RIGHT;
}

/** What the header block says; undefined where it is damaged. */
export interface DifHeader {
  readonly system: DvSystem;
  /** APT: 0 IEC 61834, 1 SMPTE 314M */
  readonly application: number;
  /** TF1 says that there is no valid sound */
  readonly isSoundInvalid: boolean;
}

export function parseHeader(bytes: Uint8Array, at = 0): DifHeader | undefined {
  if (at + 8 > bytes.length || !isBlock(bytes, at, HEADER, 0, 0)) return undefined;
  return {
    system: systemOf(bytes[at + 3] >> 7),
    application: bytes[at + 4] & 7,
    isSoundInvalid: bytes[at + 5] >> 7 === 1,
  };
}

/** "No number": sequences of streams that were never numbered. */
const NO_SEQUENCE = 15;

/**
 * Marks the audio blocks of one half of a frame that are not there or not themselves: 1 at sequence * 9 + block. `at` is the first
 * byte of the DIF channel, `end` the end of the bytes that exist; `first` is the first sequence of the half. Returns their number.
 */
export function findBadBlocks(
  bytes: Uint8Array,
  at: number,
  end: number,
  first: number,
  count: number,
  bad: Uint8Array,
): number {
  let found = 0;
  for (let s = 0; s < count; s++) {
    for (let k = 0; k < AUDIO_BLOCKS; k++) {
      const block = at + audioBlockAt(first + s, k);
      const sequence = bytes[block + 1] >> 4;
      const isItself =
        block + BLOCK_BYTES <= end &&
        bytes[block] >> 5 === AUDIO &&
        bytes[block + 2] === k &&
        (sequence === first + s || sequence === NO_SEQUENCE);
      bad[s * AUDIO_BLOCKS + k] = isItself ? 0 : 1;
      if (!isItself) found++;
    }
  }
  return found;
}
