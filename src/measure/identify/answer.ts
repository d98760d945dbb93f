// The shape of an answer to "what is it really?": candidates with probabilities, odds, and when they are enough. Not for evidence.

/** `converted`: no analogue stage, but the samples are not the device's own: rate conversion or a filter lay behind it. */
export type SignalPath = 'digital' | 'converted' | 'analogue' | 'unknown';

export interface Candidate {
  readonly id: string;
  readonly label: string;
  /** probability against the other candidates listed, 0 to 1 */
  readonly probability: number;
}

export interface Answer {
  /** id of the candidate, or null: cannot be told */
  readonly answer: string | null;
  /** odds of the answer against the next best, at most a million; null without an answer */
  readonly odds: number | null;
  /** what the evidence does not exclude, likeliest first; empty where nothing fits */
  readonly remaining: readonly Candidate[];
  readonly because: readonly string[];
}

export const MOST_ODDS = 1e6;
/** An answer needs these odds against everything else. */
export const LEAST_ODDS = 100;
/** Shares of probability, likeliest first. */
export function probabilities(
  list: readonly { readonly id: string; readonly label: string; readonly nats: number }[],
): Candidate[] {
  const top = Math.max(...list.map((one) => one.nats));
  const weights = list.map((one) => Math.max(Math.exp(one.nats - top), 1 / MOST_ODDS / 10));
  const all = weights.reduce((sum, weight) => sum + weight, 0);
  return list
    .map(({ id, label }, k) => ({ id, label, probability: weights[k] / all }))
    .sort((a, b) => b.probability - a.probability);
}

export function oddsOf(ranked: readonly Candidate[]): number {
  const [best, next] = ranked;
  if (!best) return 0;
  return next ? Math.min(MOST_ODDS, best.probability / next.probability) : MOST_ODDS;
}
