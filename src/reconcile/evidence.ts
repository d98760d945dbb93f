// The part of an examination that reconcile/ uses, as a shape of its own: reconcile/ lies beside examine/, not above it.
// examine's Finding fits it as it is.
import type { Span } from '../base/index.ts';

export interface Finding extends Span {
  readonly kind: string;
  /** 1-based file channels */
  readonly channels: readonly number[];
  readonly confidence: number;
  /** which frames of the span were replaced, as x and . repeated from its start; all when absent */
  readonly pattern?: string;
  /** frames before and after the span that may belong to it, such as the ramps of a mute: no proof there, but no loss either */
  readonly guardBefore?: number;
  readonly guardAfter?: number;
}
