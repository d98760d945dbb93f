// The hot kernel: where do reads first differ? Nearly every frame of a good tape passes through here and nothing else.
import { firstDifference as firstOfPair } from '../signal/index.ts';

/** First index in [from, to) at which any plane differs from the first; `to` when all are equal. */
export function firstDifference(planes: readonly Int32Array[], from: number, to: number): number {
  let end = to;
  for (let r = 1; r < planes.length; r++) end = firstOfPair(planes[0], planes[r], from, end);
  return end;
}
