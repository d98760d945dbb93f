// What the two threads of an examination say to each other, and which detectors are on the second one.
import type { Block, FrameInfo } from '../base/index.ts';
import type { ExamineShare } from '../examine/index.ts';
import type { LowestBits, SharedPlanes } from '../signal/index.ts';

/** The main thread is the first of those that share planes. */
export const SIDE_THREAD = 1;

export type ToSide =
  | { readonly kind: 'begin'; readonly info: FrameInfo; readonly shared: SharedPlanes }
  | {
      readonly kind: 'block';
      readonly slot: number;
      readonly start: number;
      readonly frames: number;
      readonly bits: readonly LowestBits[];
    }
  | { readonly kind: 'finish' }
  | { readonly kind: 'again'; readonly block: Block };

export type FromSide =
  | { readonly kind: 'free'; readonly slot: number }
  | { readonly kind: 'read'; readonly start: number; readonly frames: number }
  | { readonly kind: 'done'; readonly share: ExamineShare };

/** Those that ask for no more than the lowest bits of what is counted once for several (examine/block-statistics), and together are about as much work as reading
 * and the rest; who shares a scan with another (clicks and slips) is on the same thread. Digests have a thread of their own (media/hashes). */
const SIDE_DETECTORS: readonly string[] = [
  'loudness',
  'true-peak',
  'repeated',
  'click',
  'inner-slip',
  'code-book',
  'timecode',
];

export function isSideDetector(id: string): boolean {
  return SIDE_DETECTORS.includes(id);
}
