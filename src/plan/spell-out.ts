// Turns the search's answer into passes a person can patch: order, names of files, what joins the captures, sums. Decides nothing that costs.
import type { PlanRequest } from './bench.ts';
import type { CaptureOption } from './capture-options.ts';
import { type CostParts, MINUTES_PER_CONNECTION, pointsOf, wearMinutes } from './cost.ts';
import { linksOf } from './links.ts';
import type { Bench, Route } from './make-plan.ts';
import { orderPasses } from './order-passes.ts';
import type { PassesOnDeck, Plan, PlanCost, PlanPass, PlanRead, RunnerUp } from './plan.ts';
import type { Chosen } from './search/choose-passes.ts';
import type { Shared } from './share-programmes.ts';
import { passOf } from './spell-pass.ts';
import type { TapeFacts } from './tape-facts.ts';

/** A pass that has no number yet. */
export interface RawPass {
  /** 1-based */
  readonly programme: number;
  readonly route: Route;
  /** per recorder; null where it is left out */
  readonly taken: readonly (CaptureOption | null)[];
}

export function spellOut(request: PlanRequest, facts: TapeFacts, bench: Bench, shared: Shared): Plan {
  const raw = shared.best.flatMap((chosen, k) => rawPasses(chosen, facts.programmes[k], bench));
  const ordered = orderPasses(raw);
  const passes: PlanPass[] = [];
  for (const one of ordered) passes.push(passOf(one, passes.length + 1, passes.at(-1), request, facts, bench));
  const reads = readsOf(passes);
  const cost = costOf(request, facts, bench, ordered);
  const used = new Set(passes.flatMap(({ deck, captures }) => [deck, ...captures.map(({ recorder }) => recorder)]));
  const usable = [
    ...bench.routes.map(({ deck }) => deck.name),
    ...bench.recorders
      .filter((_, r) => bench.routes.some(({ options }) => options[r].length > 0))
      .map(({ name }) => name),
  ];
  return {
    ...{ rate: facts.rate, bits: facts.bits, minutes: facts.minutes, assumptions: facts.assumptions },
    ...{ passes, decks: decksOf(ordered), cost, reads },
    runnerUp: runnerUpOf(request, facts, bench, shared),
    proof: { isExact: shared.isExact, withinPoints: shared.within === null ? null : shared.within / 1000 },
    ...linksOf(passes, request, facts.programmes.length > 1),
    ruledOut: bench.ruledOut,
    idle: usable.filter((name) => !used.has(name)),
  };
}

function rawPasses(chosen: Chosen, programme: number, { routes }: Bench): RawPass[] {
  return chosen.passes.map((deck, p) => {
    const route = routes[deck];
    const taken = chosen.answer.taken[p].map((option, recorder) =>
      option < 0 ? null : route.options[recorder][option],
    );
    return { programme, route, taken };
  });
}

function decksOf(passes: readonly RawPass[]): PassesOnDeck[] {
  const names = [...new Set(passes.map(({ route }) => route.deck.name))];
  return names.map((deck) => ({ deck, passes: passes.filter(({ route }) => route.deck.name === deck).length }));
}

function costOf(request: PlanRequest, facts: TapeFacts, bench: Bench, passes: readonly RawPass[]): PlanCost {
  const captures = passes.flatMap(({ taken }) => taken.filter((one) => one !== null));
  const connections = captures.reduce((sum, { links }) => sum + links.length, 0);
  const { minutes } = facts;
  const parts: CostParts = {
    passes: passes.length,
    wearMinutes: passes.reduce((sum, { route }) => sum + wearMinutes(route.deck, request.wanted.condition, minutes), 0),
    runMinutes: passes.length * minutes,
    operatorHours:
      (passes.length * (minutes + request.rules.handlingMinutes) + connections * MINUTES_PER_CONNECTION) / 60,
    gigabytes: captures.reduce((sum, { bytes }) => sum + bytes, 0) / 1e9,
    sameDeck: sameDeckOf(passes, request, facts, bench),
    analogue: captures.reduce((sum, { analogueLinks }) => sum + analogueLinks, 0),
  };
  const points = pointsOf(request.rules, parts);
  return { parts, points, total: Object.values(points).reduce((sum, one) => sum + one, 0) };
}

function sameDeckOf(passes: readonly RawPass[], { wanted }: PlanRequest, facts: TapeFacts, { routes }: Bench): number {
  const target = Math.min(wanted.reads, routes.length);
  let short = 0;
  for (const programme of facts.programmes) {
    for (const index of facts.channels.keys()) {
      const reading = passes.filter(
        (one) => one.programme === programme && one.taken.some((option) => option && (option.channels >> index) & 1),
      );
      short += Math.max(0, target - new Set(reading.map(({ route }) => route)).size);
    }
  }
  return short;
}

function runnerUpOf(request: PlanRequest, facts: TapeFacts, bench: Bench, { other, isNext }: Shared): RunnerUp | null {
  if (!other) return null;
  const raw = other.flatMap((one, k) => rawPasses(one, facts.programmes[k], bench));
  return {
    cost: costOf(request, facts, bench, raw),
    groups: other.reduce((sum, { answer }) => sum + answer.groups, 0),
    ...{ decks: decksOf(raw), isNext },
  };
}

function readsOf(passes: readonly PlanPass[]): PlanRead[] {
  const reads = new Map<number, { passes: number[]; decks: string[] }>();
  for (const { pass, deck, captures } of passes) {
    for (const channel of new Set(captures.flatMap(({ channels }) => channels))) {
      if (channel === 0) continue;
      const own = reads.get(channel) ?? { passes: [], decks: [] };
      own.passes.push(pass);
      if (!own.decks.includes(deck)) own.decks.push(deck);
      reads.set(channel, own);
    }
  }
  return [...reads].map(([channel, own]) => ({ channel, ...own })).sort((a, b) => a.channel - b.channel);
}
