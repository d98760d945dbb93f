// Some of the detectors on a second thread. The blocks reach it through shared memory; the file is still read once, by the main
// thread, which also reads what the second look of the other thread asks for. The result is the same as on one thread.
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Block, FrameInfo } from '../base/index.ts';
import type { ExamineShare, SecondSource } from '../examine/index.ts';
import type { FromSide, ToSide } from './side-messages.ts';

/** Blocks on their way; more would only cost memory. */
const SLOTS = 4;
/** Samples below which a thread is not worth its start (some 50 ms). */
const FEWEST_SAMPLES = 8_000_000;

interface Slot {
  readonly planes: readonly Int32Array[];
  readonly index: number;
}

/** Undefined where a second thread would not help. */
export function startSide(info: FrameInfo): SideExamination | undefined {
  if (availableParallelism() < 2 || info.frames * info.channels < FEWEST_SAMPLES) return undefined;
  return new SideExamination(info);
}

/** Push all blocks in order, finish once, close in any case. */
export class SideExamination {
  readonly #worker: Worker;
  readonly #channels: number;
  readonly #free: Slot[] = [];
  #slotFrames = 0;
  #source: SecondSource | undefined;
  #wake: () => void = () => {};
  #share: ExamineShare | undefined;
  #error: unknown;

  constructor({ name, channels, frames, rate, bits }: FrameInfo) {
    this.#channels = channels;
    // The compiler does not rename what is no import, and the tests run the sources.
    const file = import.meta.url.endsWith('.ts') ? './side-worker.ts' : './side-worker.js';
    const info: FrameInfo = { name, channels, frames, rate, bits };
    this.#worker = new Worker(new URL(file, import.meta.url), { workerData: info, execArgv: [] });
    this.#worker.on('message', (message: FromSide) => this.#take(message));
    this.#worker.on('error', (error) => this.#fail(error));
    this.#worker.on('exit', () => this.#fail(new Error('the second thread ended early')));
  }

  /** Copies the block; waits only while the other thread is a few blocks behind. */
  async push(block: Block): Promise<void> {
    if (this.#slotFrames === 0) this.#makeSlots(block.frames);
    for (let at = 0; at < block.frames; at += this.#slotFrames) {
      await this.#until(() => this.#free.length > 0);
      const { planes, index } = this.#free.pop() as Slot;
      const frames = Math.min(this.#slotFrames, block.frames - at);
      for (const [c, plane] of block.planes.entries()) planes[c].set(plane.subarray(at, at + frames));
      this.#send({ kind: 'block', slot: index, start: block.start + at, frames });
    }
  }

  async finish(source: SecondSource): Promise<ExamineShare> {
    this.#source = source;
    this.#send({ kind: 'finish' });
    await this.#until(() => this.#share !== undefined);
    return this.#share as ExamineShare;
  }

  async close(): Promise<void> {
    this.#worker.removeAllListeners('exit');
    await this.#worker.terminate();
  }

  #makeSlots(frames: number): void {
    this.#slotFrames = frames;
    const slots = Array.from({ length: SLOTS }, () =>
      Array.from({ length: this.#channels }, () => new Int32Array(new SharedArrayBuffer(4 * frames))),
    );
    this.#send({ kind: 'slots', slots });
    // Shared views fit wherever views do; only the type tells them apart.
    this.#free.push(...slots.map((planes, index) => ({ planes: planes as unknown as Int32Array[], index })));
    this.#planes = this.#free.map(({ planes }) => planes);
  }

  #planes: (readonly Int32Array[])[] = [];

  #take(message: FromSide): void {
    if (message.kind === 'free') this.#free.push({ planes: this.#planes[message.slot], index: message.slot });
    else if (message.kind === 'read') void this.#read(message.start, message.frames);
    else this.#share = message.share;
    this.#wake();
  }

  async #read(start: number, frames: number): Promise<void> {
    try {
      if (!this.#source) throw new Error('read before the end of the pass');
      this.#send({ kind: 'again', block: await this.#source.read(start, frames) });
    } catch (error) {
      this.#fail(error);
    }
  }

  async #until(isSo: () => boolean): Promise<void> {
    while (!isSo()) {
      if (this.#error !== undefined) throw this.#error;
      await new Promise<void>((resolve) => {
        this.#wake = resolve;
      });
    }
  }

  #fail(error: unknown): void {
    this.#error ??= error;
    this.#wake();
  }

  #send(message: ToSide): void {
    this.#worker.postMessage(message);
  }
}
