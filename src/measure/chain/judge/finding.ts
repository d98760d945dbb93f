// What a chain did, as plain data: one shape for each kind of change. Not for words (deliver/).
import type { BitState } from './bit-map.ts';
import type { DifferenceSpectrum } from './difference-spectrum.ts';
import type { Shortening, Span } from './exact-law.ts';
import type { Response } from './response.ts';
import type { Fraction } from './simple-ratio.ts';
import type { LevelGain } from './survey.ts';
import type { ChainSlip } from './track.ts';

/**
 * `proof`: every sample obeys, but for those listed as wrong. `measured`: a fit, with its uncertainty (three standard deviations). Levels in steps are
 * steps of the capture's last bit.
 */
export type ChainChange =
  | {
      readonly kind: 'gain';
      readonly basis: 'proof' | 'measured';
      readonly ratio: number;
      /** every ratio from `low` to `high` explains the capture as well */
      readonly low: number;
      readonly high: number;
      readonly db: number;
      /** the simplest fraction between them; absent where none is simple */
      readonly fraction?: Fraction;
    }
  | { readonly kind: 'polarity' }
  | {
      readonly kind: 'dc';
      readonly basis: 'proof' | 'measured';
      readonly steps: number;
      readonly uncertainty: number;
      readonly db: number;
    }
  | { readonly kind: 'truncation'; readonly bits: number; readonly of: number; readonly how: Shortening }
  | { readonly kind: 'dither'; readonly shape: 'triangular' | 'rectangular' | 'shaped'; readonly rmsSteps: number }
  | {
      readonly kind: 'noise';
      readonly rmsSteps: number;
      /** against a full-scale sine */
      readonly db: number;
      /** word length whose rounding would make as much noise */
      readonly equalBits: number;
      /** lowest bits of the sent word that it covers */
      readonly coveredBits: number;
      readonly spectrum?: DifferenceSpectrum;
    }
  | { readonly kind: 'swap' }
  | { readonly kind: 'duplicate'; readonly source: number }
  | { readonly kind: 'missing'; readonly source: number }
  | { readonly kind: 'crosstalk'; readonly db: number; readonly uncertainty: number; readonly isTurned: boolean }
  /** the other channel is added, nearly as strong */
  | { readonly kind: 'mix'; readonly db: number; readonly uncertainty: number; readonly isTurned: boolean }
  | { readonly kind: 'delay'; readonly frames: number; readonly uncertainty: number }
  | {
      readonly kind: 'slips';
      readonly slips: readonly ChainSlip[];
      /** frames in all: negative where more were lost */
      readonly net: number;
      /** the difference of clocks that would explain it */
      readonly ppm: number;
    }
  | {
      readonly kind: 'rate-conversion';
      /** frames captured for each frame sent */
      readonly ratio: number;
      readonly uncertainty: number;
      readonly nominal: Fraction;
      /** from the nominal ratio */
      readonly ppm: number;
      readonly ppmUncertainty: number;
      readonly scatterFrames: number;
    }
  | { readonly kind: 'rate-label'; readonly labelHz: number; readonly sentHz: number }
  | { readonly kind: 'filter'; readonly response: Response; readonly delayFrames: number }
  | {
      readonly kind: 'limiter';
      readonly way: 'less when loud' | 'more when loud';
      /** levels from which the gain departs, dB below full scale */
      readonly fromDb: number;
      /** departure at the loudest level, dB */
      readonly mostDb: number;
      readonly levels: readonly LevelGain[];
    }
  | { readonly kind: 'clip'; readonly lowDb: number; readonly highDb: number; readonly samples: number }
  | { readonly kind: 'bits'; readonly states: readonly BitState[] }
  | { readonly kind: 'errors'; readonly spans: readonly Span[]; readonly frames: number; readonly stillFrames: number }
  | {
      readonly kind: 'other';
      readonly restDb: number;
      readonly belowSignalDb: number;
      readonly spectrum?: DifferenceSpectrum;
    };

/** `channels` of the capture, 1-based. */
export type ChainFinding = ChainChange & { readonly channels: readonly number[] };
