// The second thread of an examination (side-examination.ts): takes blocks, answers with the share of its detectors.
import { parentPort } from 'node:worker_threads';
import type { Block, FrameInfo } from '../base/index.ts';
import { DETECTORS, Examination, tellLowestBits } from '../examine/index.ts';
import { joinSharedPlanes } from '../signal/index.ts';
import { type FromSide, isSideDetector, SIDE_THREAD, type ToSide } from './side-messages.ts';

interface Begun {
  readonly info: FrameInfo;
  readonly slots: readonly (readonly Int32Array[])[];
  readonly examination: Examination;
}

const port = parentPort;
if (!port) throw new Error('not a thread');
const say = (message: FromSide) => port.postMessage(message);
let begun: Begun | undefined;
let takeAgain: (block: Block) => void = () => {};

port.on('message', (message: ToSide) => {
  if (message.kind === 'begin') begun = begin(message);
  else if (!begun) throw new Error('not begun');
  else if (message.kind === 'block') push(begun, message);
  else if (message.kind === 'again') takeAgain(message.block);
  else void finish(begun);
});

function begin({ info, shared }: ToSide & { kind: 'begin' }): Begun {
  const { slots } = joinSharedPlanes(shared, SIDE_THREAD);
  return { info, slots, examination: new Examination(info, DETECTORS, {}, isSideDetector) };
}

function push({ slots, examination }: Begun, { slot, start, frames, bits }: ToSide & { kind: 'block' }): void {
  const block: Block = { start, frames, planes: slots[slot].map((plane) => plane.subarray(0, frames)) };
  tellLowestBits(block, bits);
  examination.push(block);
  say({ kind: 'free', slot });
}

async function finish({ info, examination }: Begun): Promise<void> {
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
