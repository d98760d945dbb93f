// The second thread of an examination (side-examination.ts): takes blocks, answers with the share of its detectors.
import { parentPort, workerData } from 'node:worker_threads';
import type { Block, FrameInfo } from '../base/index.ts';
import { DETECTORS, Examination, tellLowestBits } from '../examine/index.ts';
import { joinSharedPlanes } from '../signal/index.ts';
import { type FromSide, isSideDetector, SIDE_THREAD, type ToSide } from './side-messages.ts';

const port = parentPort;
if (!port) throw new Error('not a thread');
const info = workerData as FrameInfo;
const examination = new Examination(info, DETECTORS, {}, isSideDetector);
const say = (message: FromSide) => port.postMessage(message);
let slots: readonly (readonly Int32Array[])[] = [];
let takeAgain: (block: Block) => void = () => {};

port.on('message', (message: ToSide) => {
  if (message.kind === 'planes') slots = joinSharedPlanes(message.shared, SIDE_THREAD).slots;
  else if (message.kind === 'block') push(message);
  else if (message.kind === 'again') takeAgain(message.block);
  else void finish();
});

function push({ slot, start, frames, bits }: ToSide & { kind: 'block' }): void {
  const block: Block = { start, frames, planes: slots[slot].map((plane) => plane.subarray(0, frames)) };
  tellLowestBits(block, bits);
  examination.push(block);
  say({ kind: 'free', slot });
}

async function finish(): Promise<void> {
  const share = await examination.finishShare({
    info,
    read: (start, frames) =>
      new Promise<Block>((resolve) => {
        takeAgain = resolve;
        say({ kind: 'read', start, frames });
      }),
  });
  say({ kind: 'done', share });
}
