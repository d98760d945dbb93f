// What every task gets besides its input: how it may be stopped and whom it tells how far it is.
import { type Block, type FrameInfo, type Progress, rateHz, type StopSignal } from '../base/index.ts';

export interface TaskContext {
  readonly stop?: StopSignal;
  readonly progress?: Progress;
}

/** Tells after each block of a recording how much of it is done. */
export function tellFrames(
  progress: Progress | undefined,
  stage: string,
  { frames, rate }: Pick<FrameInfo, 'frames' | 'rate'>,
): (block: Block) => void {
  return (block) =>
    progress?.({ stage, done: block.start + block.frames, total: frames, unit: 'frames', rateHz: rateHz(rate) });
}
