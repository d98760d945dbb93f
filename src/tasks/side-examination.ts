// Some of the detectors on a second thread. The blocks reach it through shared memory; the file is still read once, by the main
// thread, which also reads what the second look of the other thread asks for. The result is the same as on one thread.
import { availableParallelism } from 'node:os';
import { type Block, DEFAULT_BLOCK_FRAMES, emptyBlock, type FrameInfo, sliceBlock } from '../base/index.ts';
import { type ExamineShare, type SecondSource, statisticsOf } from '../examine/index.ts';
import { bytesFrom, CompanionThread, type PassPlace, roomFor } from '../media/index.ts';
import { joinSharedPlanes, makeSharedPlanes } from '../signal/index.ts';
import { sideThread } from './early-side.ts';
import { type FromSide, SIDE_THREAD, type ToSide } from './side-messages.ts';

/** Blocks on their way; more would only cost memory. */
const SLOTS = 6;
/** Bytes of the file that are read at once, about. */
const CHUNK_BYTES = 2 * 1024 * 1024;
/** Samples below which a thread is not worth its start (some 50 ms). */
const FEWEST_SAMPLES = 8_000_000;

/** Undefined where a second thread would not help. */
export function startSide(info: FrameInfo): SideExamination | undefined {
  if (availableParallelism() < 2 || info.frames * info.channels < FEWEST_SAMPLES) return undefined;
  return new SideExamination(info);
}

/** Push all blocks in order, finish once, close in any case. */
export class SideExamination {
  /** Blocks that are read into it need not be copied. */
  readonly place: PassPlace;
  readonly #thread: CompanionThread<ToSide, FromSide>;
  readonly #slotFrames: number;
  readonly #slots: readonly (readonly Int32Array[])[];
  readonly #free: number[] = [];
  /** the slot that is being filled */
  #lent: number | undefined;
  #source: SecondSource | undefined;
  #share: ExamineShare | undefined;

  constructor({ name, channels, frames, rate, bits }: FrameInfo) {
    this.#slotFrames = Math.min(frames, DEFAULT_BLOCK_FRAMES);
    const info: FrameInfo = { name, channels, frames, rate, bits };
    this.#thread = new CompanionThread({
      worker: sideThread(),
      take: (message) => this.#take(message),
      endedEarly: 'the second thread ended early',
    });
    const shape = { slots: SLOTS, channels, frames: this.#slotFrames, room: roomFor(CHUNK_BYTES) };
    const shared = makeSharedPlanes({ threads: SIDE_THREAD + 1, ...shape });
    const { slots, room } = joinSharedPlanes(shared, 0);
    this.#slots = slots;
    this.#free.push(...slots.keys());
    this.#thread.send({ kind: 'begin', info, shared });
    this.place = { planes: (count, length) => this.#planes(count, length), bytes: bytesFrom(room) };
  }

  /** For the next block; waits only while the other thread is a few blocks behind. */
  async #planes(channels: number, frames: number): Promise<readonly Int32Array[]> {
    if (frames > this.#slotFrames) return emptyBlock(0, channels, frames).planes;
    this.#lent ??= await this.#freeSlot();
    return this.#slots[this.#lent];
  }

  /** Copied only where it does not lie in the planes lent; what lies there stays as it is until the next ones are asked for. */
  async push(block: Block): Promise<void> {
    const lent = this.#lent;
    if (lent !== undefined && block.planes.every((plane, c) => isPartOf(plane, this.#slots[lent][c]))) {
      this.#lent = undefined;
      this.#sendSlot(lent, block);
      return;
    }
    for (let at = 0; at < block.frames; at += this.#slotFrames) {
      const part = sliceBlock(block, at, Math.min(this.#slotFrames, block.frames - at));
      const slot = await this.#freeSlot();
      for (const [c, plane] of part.planes.entries()) this.#slots[slot][c].set(plane);
      this.#sendSlot(slot, part);
    }
  }

  async #freeSlot(): Promise<number> {
    await this.#thread.until(() => this.#free.length > 0);
    return this.#free.pop() as number;
  }

  async finish(source: SecondSource): Promise<ExamineShare> {
    this.#source = source;
    this.#thread.send({ kind: 'finish' });
    await this.#thread.until(() => this.#share !== undefined);
    return this.#share as ExamineShare;
  }

  close(): Promise<void> {
    return this.#thread.close();
  }

  /** With what this thread has counted or will have to. */
  #sendSlot(slot: number, block: Block): void {
    const { start, frames } = block;
    const bits = statisticsOf(block).map(({ samples, zeros, trailingZeros }) => ({ samples, zeros, trailingZeros }));
    this.#thread.send({ kind: 'block', slot, start, frames, bits });
  }

  #take(message: FromSide): void {
    if (message.kind === 'free') this.#free.push(message.slot);
    else if (message.kind === 'read') void this.#read(message.start, message.frames);
    else this.#share = message.share;
  }

  async #read(start: number, frames: number): Promise<void> {
    try {
      if (!this.#source) throw new Error('read before the end of the pass');
      this.#thread.send({ kind: 'again', block: await this.#source.read(start, frames) });
    } catch (error) {
      this.#thread.fail(error);
    }
  }
}

function isPartOf(plane: Int32Array, slot: Int32Array): boolean {
  return plane.buffer === slot.buffer && plane.byteOffset === slot.byteOffset;
}
