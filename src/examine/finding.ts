// What detectors say: findings (something at a place) and verdicts (an answer for a whole channel). Plain data, enough
// for a sceptic to repeat it; the JSON of `examine --json` is exactly these shapes (docs/json.md).
import type { JsonObject, Span } from '../base/index.ts';

/** Kinds of loss the deck or chain left in the samples. */
export const LOSS_KINDS = [
  'interpolated',
  'held',
  'muted',
  'repeated',
  // said by the carrier itself
  'error-code',
  'missing-data',
  'drive-interpolated',
] as const;
export type LossKind = (typeof LOSS_KINDS)[number];

export interface Finding extends Span {
  readonly detector: string;
  readonly version: number;
  /** a LossKind, or a detector's own kind such as "clipped" */
  readonly kind: string;
  /** 1-based file channels */
  readonly channels: readonly number[];
  /** probability that the finding is true, 0..1 */
  readonly confidence: number;
  /** how many such findings the whole recording would give by chance alone */
  readonly expectedByChance: number;
  readonly measured: number | string | null;
  readonly expected: number | string | null;
  readonly unit: string;
  /** detector-specific; spans of single samples inside the finding, lattice period, rounding … */
  readonly detail: JsonObject;
}

export interface Verdict {
  /** 1-based file channel; 0 = the file as a whole */
  readonly channel: number;
  /** "word-length", "code-book", "recorded", … */
  readonly question: string;
  readonly answer: number | string | boolean;
  readonly confidence: number;
  /** what could not have been seen, in words with figures */
  readonly detectionLimit: string;
  readonly evidence: JsonObject;
}

export function isLoss(finding: Finding): boolean {
  return (LOSS_KINDS as readonly string[]).includes(finding.kind);
}
