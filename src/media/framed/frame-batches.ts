// Frames of a table with their bytes, several to one read, one read ahead of the caller's work. Frames are given in their order;
// what lies between two of them comes with them, so that every byte of the file can be hashed in the same read.
import { type StopSignal, throwIfStopped } from '../../base/index.ts';
import type { ByteFile } from '../byte-file.ts';
import type { FrameTable } from './frame-table.ts';

const BATCH_BYTES = 4 * 1024 * 1024;

export interface FrameBatch {
  readonly from: number;
  /** one past the last frame */
  readonly to: number;
  /** byte of the file at which `bytes` begin */
  readonly at: number;
  /** valid until the batch after the next is asked for */
  readonly bytes: Uint8Array;
}

export async function* frameBatches(
  file: ByteFile,
  table: FrameTable,
  first: number,
  stop?: StopSignal,
  makeBuffer: (length: number) => Uint8Array = (length) => new Uint8Array(length),
): AsyncGenerator<FrameBatch> {
  const buffers: Uint8Array[] = [];
  let turn = 0;
  const fetch = async (from: number): Promise<FrameBatch> => {
    const to = batchEnd(table, from);
    const at = table.at(from);
    const length = table.end(to - 1) - at;
    const slot = turn++ % 3;
    if ((buffers[slot]?.length ?? 0) < length) buffers[slot] = makeBuffer(length);
    const bytes = buffers[slot].subarray(0, length);
    await file.readInto(bytes, at);
    return { from, to, at, bytes };
  };
  let next = first < table.length ? fetch(first) : undefined;
  try {
    while (next) {
      throwIfStopped(stop);
      const batch: FrameBatch = await next;
      next = batch.to < table.length ? fetch(batch.to) : undefined;
      yield batch;
    }
  } finally {
    await next?.catch(() => {});
  }
}

/** As many frames as fit, as long as they lie in the order of the file. */
function batchEnd(table: FrameTable, from: number): number {
  const at = table.at(from);
  let to = from + 1;
  while (to < table.length && table.at(to) >= table.end(to - 1) && table.end(to) - at <= BATCH_BYTES) to++;
  return to;
}

export function isInFileOrder(table: FrameTable): boolean {
  for (let i = 1; i < table.length; i++) if (table.at(i) < table.end(i - 1)) return false;
  return true;
}
