// The stated cost of a plan: what a pass and a capture cost in points, and the sums a plan is shown with. One point is about one minute of
// a person's time. Whole thousandths of a point inside, so that equal costs are equal.
import { CONDITION_WEAR, type CostWeights, type Deck, type PlanRequest, type Rules } from './bench.ts';
import type { TapeFacts } from './tape-facts.ts';

/** Work per cable: patching, checking the lamp, starting, naming. Common practice, no source. */
export const MINUTES_PER_CONNECTION = 2;
/** A connection through converters proves nothing: taken only where nothing digital is left. Our own choice. */
const ANALOGUE_POINTS = 1000;
/** How much heavier the preferred side weighs. Our own choice. */
const PREFERENCE = 4;

export interface CostParts {
  readonly passes: number;
  /** minutes of tape run, weighted by condition and deck */
  readonly wearMinutes: number;
  /** how long the tape runs in all */
  readonly runMinutes: number;
  readonly operatorHours: number;
  readonly gigabytes: number;
  /** channels times decks that reads fall short of different decks */
  readonly sameDeck: number;
  readonly analogue: number;
}

/** Weights as they are used, after `prefer`. */
export function weightsOf({ cost, prefer }: Rules): CostWeights {
  if (prefer === 'wear') return { ...cost, pass: PREFERENCE * cost.pass, wear: PREFERENCE * cost.wear };
  return prefer === 'proof' ? { ...cost, deck: PREFERENCE * cost.deck } : cost;
}

/** Thousandths of a point of one run on the deck, before anything is connected. */
export function passCost(deck: Deck, { wanted, rules }: PlanRequest, facts: TapeFacts): number {
  return milliPoints(rules, {
    passes: 1,
    wearMinutes: wearMinutes(deck, wanted.condition, facts.minutes),
    runMinutes: facts.minutes,
    operatorHours: (facts.minutes + rules.handlingMinutes) / 60,
    ...{ gigabytes: 0, sameDeck: 0, analogue: 0 },
  });
}

export function wearMinutes(deck: Deck, condition: keyof typeof CONDITION_WEAR, minutes: number): number {
  return minutes * CONDITION_WEAR[condition] * deck.wear;
}

/** Thousandths of a point of one capture. */
export function captureCost(rules: Rules, connections: number, bytes: number, analogueConnections: number): number {
  const operatorHours = (connections * MINUTES_PER_CONNECTION) / 60;
  const none = { passes: 0, wearMinutes: 0, runMinutes: 0, sameDeck: 0 };
  return milliPoints(rules, { ...none, operatorHours, gigabytes: bytes / 1e9, analogue: analogueConnections });
}

/** Thousandths of a point for each channel and deck that reads fall short of being on different decks. */
export function sameDeckCost(rules: Rules): number {
  return Math.round(1000 * weightsOf(rules).deck);
}

/** What each part weighs, in points; they add up to the cost but for rounding. */
export function pointsOf(rules: Rules, parts: CostParts) {
  const weights = weightsOf(rules);
  return {
    passes: weights.pass * parts.passes,
    wear: weights.wear * parts.wearMinutes,
    hours: weights.hour * parts.operatorHours,
    storage: weights.gigabyte * parts.gigabytes,
    sameDeck: weights.deck * parts.sameDeck,
    analogue: ANALOGUE_POINTS * parts.analogue,
  };
}

function milliPoints(rules: Rules, parts: CostParts): number {
  const points = pointsOf(rules, parts);
  return Math.round(1000 * Object.values(points).reduce((sum, one) => sum + one, 0));
}
