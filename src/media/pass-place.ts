// Where a pass puts what it reads when nobody says it. 24-bit audio of many channels goes where the kernels unpack it without a copy.
import { emptyBlock } from '../base/index.ts';
import { isPackable24, joinSharedPlanes, makeSharedPlanes } from '../signal/index.ts';
import type { PassPlace } from './audio-file.ts';
import { STREAM_BUFFERS } from './byte-file.ts';
import { sharedBytes } from './hashes.ts';

/** Blocks from here on are worth a memory of their own. */
const MANY_FRAMES = 16_384;
const ALIGNMENT = 64;

/** Room for the buffers of a stream in chunks of so many bytes. */
export function roomFor(chunkBytes: number): number {
  return STREAM_BUFFERS * (chunkBytes + ALIGNMENT);
}

/** One set of planes, used again for every block. */
export function ownPlace(channels: number, frames: number, bits: number, chunkBytes: number): PassPlace {
  if (bits !== 24 || !isPackable24(channels) || frames < MANY_FRAMES) {
    const { planes } = emptyBlock(0, channels, frames);
    return { planes: async () => planes, bytes: sharedBytes };
  }
  const room = roomFor(chunkBytes);
  const joined = joinSharedPlanes(makeSharedPlanes({ threads: 1, slots: 1, channels, frames, room }), 0);
  return { planes: async () => joined.slots[0], bytes: bytesFrom(joined.room) };
}

/** Buffers out of a larger one, and others when it is used up. */
export function bytesFrom(room: Uint8Array): (length: number) => Uint8Array {
  let used = 0;
  return (length) => {
    if (used + length > room.length) return sharedBytes(length);
    const at = used;
    used += Math.ceil(length / ALIGNMENT) * ALIGNMENT;
    return room.subarray(at, at + length);
  };
}
