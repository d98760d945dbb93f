// Planes that several threads see and whose samples the kernels of each find in place: what one thread has read is copied neither to
// the other one nor to the kernels. Says nothing about whose turn it is to write: that is for those who share them.
import { newMemory, useMemory, type WasmMemory, WORKSPACE_BYTES } from './machine.ts';

/** Plain data, to be handed to another thread. */
export interface SharedPlanes {
  readonly memory: WasmMemory;
  /** threads that may use it; each joins as another one, from 0 on */
  readonly threads: number;
  readonly slots: number;
  readonly channels: number;
  readonly frames: number;
  /** bytes beside the planes, for what they are unpacked from */
  readonly room: number;
}

export interface JoinedPlanes {
  /** [slot][channel] */
  readonly slots: readonly (readonly Int32Array[])[];
  readonly room: Uint8Array;
}

/** Bytes between two planes: those of many samples would otherwise meet in the same lines of the cache. */
const GAP_BYTES = 320;

export function makeSharedPlanes(shape: Omit<SharedPlanes, 'memory'>): SharedPlanes {
  const { slots, channels } = shape;
  const bytes = planesAt(shape) + (slots * channels + 1) * strideOf(shape);
  return { ...shape, memory: newMemory(bytes, true) };
}

/** Once on each thread: the same samples on all of them. */
export function joinSharedPlanes(shared: SharedPlanes, thread: number): JoinedPlanes {
  const { memory, slots, channels, frames, room } = shared;
  useMemory(memory, thread);
  const stride = strideOf(shared);
  const plane = (slot: number, channel: number) =>
    new Int32Array(memory.buffer, planesAt(shared) + (slot * channels + channel) * stride, frames);
  const views = Array.from({ length: slots }, (_, s) => Array.from({ length: channels }, (_, c) => plane(s, c)));
  // Shared views fit wherever views do; only the type tells them apart.
  return { slots: views as Int32Array[][], room: new Uint8Array(memory.buffer, roomAt(shared), room) };
}

function roomAt({ threads }: Pick<SharedPlanes, 'threads'>): number {
  return threads * WORKSPACE_BYTES;
}

function planesAt(shape: Pick<SharedPlanes, 'threads' | 'room'>): number {
  return roomAt(shape) + Math.ceil(shape.room / 64) * 64;
}

/** Whole vectors. */
function strideOf({ frames }: Pick<SharedPlanes, 'frames'>): number {
  return Math.ceil((4 * frames + GAP_BYTES) / 64) * 64;
}
