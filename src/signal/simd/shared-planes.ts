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
}

/** Bytes between two planes: those of many samples would otherwise meet in the same lines of the cache. */
const GAP_BYTES = 320;

export function makeSharedPlanes(shape: Omit<SharedPlanes, 'memory'>): SharedPlanes {
  const { threads, slots, channels } = shape;
  const bytes = threads * WORKSPACE_BYTES + (slots * channels + 1) * strideOf(shape);
  return { ...shape, memory: newMemory(bytes, true) };
}

/** Once on each thread: [slot][channel], the same samples on all of them. */
export function joinSharedPlanes(shared: SharedPlanes, thread: number): Int32Array[][] {
  const { memory, threads, slots, channels, frames } = shared;
  useMemory(memory, thread);
  const stride = strideOf(shared);
  const plane = (slot: number, channel: number) =>
    new Int32Array(memory.buffer, threads * WORKSPACE_BYTES + (slot * channels + channel) * stride, frames);
  const views = Array.from({ length: slots }, (_, s) => Array.from({ length: channels }, (_, c) => plane(s, c)));
  // Shared views fit wherever views do; only the type tells them apart.
  return views as Int32Array[][];
}

/** Whole vectors. */
function strideOf({ frames }: Pick<SharedPlanes, 'frames'>): number {
  return Math.ceil((4 * frames + GAP_BYTES) / 64) * 64;
}
