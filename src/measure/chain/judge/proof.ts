// The limits of what the judgement proves: how many samples and seconds were compared, which bits moved both ways, and how rare a fault would have to be to
// stay unseen. Not for the verdict.
import { rateHz } from '../../../base/index.ts';
import type { ChainSignal } from '../layout.ts';

export interface Proof {
  readonly samplesCompared: number;
  readonly samplesEqual: number;
  readonly seconds: number;
  /** of the sent word, both 0 and 1 among the compared samples of each channel */
  readonly bitsMoved: number;
  /** whether each value of the word was compared in each channel; null where that was not counted (more than 16 bits) */
  readonly hasAllValues: boolean | null;
  /** a fault that strikes samples at random more often than this would have been seen with 95 per cent certainty; null unless all were equal */
  readonly seenFaultRate: number | null;
}

/** -ln 0.05: no event among n says that fewer than this over n happen (rule of three, J. Hanley, A. Lippman-Hand, JAMA 249, 1983). */
const RULE_OF_THREE = 3;

export interface Compared {
  readonly frames: number;
  readonly equalFrames: number;
  readonly movedBits: number;
  readonly sentValues: number | null;
}

export function proofOf(
  signal: ChainSignal,
  coverage: { readonly sentFrom: number; readonly sentTo: number },
  channels: readonly Compared[],
  /** every sample is equal and nothing else changed */
  isEqual: boolean,
): Proof {
  const samplesCompared = channels.reduce((sum, one) => sum + one.frames, 0);
  const samplesEqual = channels.reduce((sum, one) => sum + one.equalFrames, 0);
  return {
    samplesCompared,
    samplesEqual,
    seconds: Math.max(0, coverage.sentTo - coverage.sentFrom) / rateHz(signal.rate),
    bitsMoved: Math.min(...channels.map((one) => one.movedBits)),
    hasAllValues: channels.some((one) => one.sentValues === null)
      ? null
      : channels.every((one) => one.sentValues === 2 ** signal.bits),
    seenFaultRate: isEqual && samplesCompared > 0 ? RULE_OF_THREE / samplesCompared : null,
  };
}
