// From the request to the plan: rule out what cannot work, list what each recorder could take, search, and spell the answer out. Pure.
import type { Deck, DeckOutput, PlanRequest, Recorder, RecorderInput } from './bench.ts';
import { type CaptureOption, captureOptions } from './capture-options.ts';
import { connectionOf } from './connection.ts';
import { passCost, sameDeckCost } from './cost.ts';
import { carried, maskOf } from './fillings.ts';
import { deckReasons } from './fit-deck.ts';
import type { Plan } from './plan.ts';
import { type Reason, reason } from './reason.ts';
import { type ChoiceProblem, choosePasses } from './search/choose-passes.ts';
import { type Shared, shareProgrammes } from './share-programmes.ts';
import { spellOut } from './spell-out.ts';
import { type TapeFacts, tapeFacts } from './tape-facts.ts';
import { inputReasons } from './why-none.ts';

/** The best plan, or every reason why there is none. */
export function makePlan(request: PlanRequest): Plan | { readonly reasons: readonly Reason[] } {
  const facts = tapeFacts(request);
  if ('reasons' in facts) return facts;
  const bench = usableBench(request, facts);
  const open = unreachable(bench, facts);
  if (bench.routes.length === 0 || open.length > 0) return { reasons: [...bench.ruledOut, ...open] };
  const problem = problemOf(bench, request, facts);
  const shared = shareProgrammes(facts.programmes.length, request.rules.passes, (mostPasses) =>
    choosePasses({ ...problem, mostPasses }),
  );
  if ('needed' in shared) return { reasons: [...bench.ruledOut, tooFewPasses(shared.needed, request)] };
  return spellOut(request, facts, bench, bench.isCut ? unproven(shared) : shared);
}

/** A deck that can replay the tape and whose outputs some recorder can take. */
export interface Route {
  readonly deck: Deck;
  /** per recorder of the bench */
  readonly options: readonly (readonly CaptureOption[])[];
}

export interface Bench {
  readonly routes: readonly Route[];
  readonly recorders: readonly Recorder[];
  readonly ruledOut: readonly Reason[];
  readonly isCut: boolean;
}

/** More do not fit the masks of the search. */
const MOST_DECKS = 8;

function usableBench(request: PlanRequest, facts: TapeFacts): Bench {
  const { decks, recorders } = request;
  const ruledOut = decks.flatMap((deck) => deckReasons(deck, request, facts));
  const fit = decks.filter((deck) => !ruledOut.some(({ about, name }) => about === 'deck' && name === deck.name));
  const able = fit.slice(0, MOST_DECKS);
  const lists = able.map((deck) => recorders.map((recorder) => captureOptions(deck, recorder, request, facts)));
  for (const [r, recorder] of recorders.entries()) {
    // A recorder is ruled out when no deck can use it: the reasons of every deck count, each once. Else only on some decks, or some inputs.
    const isUsable = lists.some((list) => list[r].options.length > 0);
    const reasons = able.flatMap((deck, d) =>
      lists[d][r].reasons.map((one) => (isUsable ? { ...one, why: `not on ${deck.name}: ${one.why}` } : one)),
    );
    ruledOut.push(...reasons.filter((one, k) => reasons.findIndex(({ why }) => why === one.why) === k));
    if (isUsable) ruledOut.push(...inputReasons(recorder, able, request, facts));
  }
  const routes = able
    .map((deck, d) => ({ deck, options: lists[d].map(({ options }) => options) }))
    .filter(({ options }) => options.some((list) => list.length > 0));
  for (const deck of able.filter((one) => !routes.some((route) => route.deck === one))) {
    ruledOut.push(
      reason(
        'deck',
        deck.name,
        'no-connection',
        'no recorder can take its outputs',
        'a recorder or converter for one of its outputs',
      ),
    );
  }
  const isCut = lists.flat().some((list) => list.isCut) || fit.length > MOST_DECKS;
  return { routes, recorders, ruledOut, isCut };
}

/** Wanted channels that nothing on this bench can bring into a file. */
function unreachable({ routes }: Bench, facts: TapeFacts): Reason[] {
  const reached = routes.flatMap(({ options }) => options.flat()).reduce((mask, option) => mask | option.channels, 0);
  const lost = facts.channels.filter((_, index) => !((reached >> index) & 1));
  if (lost.length === 0) return [];
  const why = `channel ${lost.join(', ')} reaches no usable recorder from any usable deck`;
  return [
    reason(
      'tape',
      '',
      'channel-unreachable',
      why,
      'an output that carries it and a recorder that can take this output',
    ),
  ];
}

function problemOf({ routes, recorders }: Bench, request: PlanRequest, facts: TapeFacts): ChoiceProblem {
  const { rules, wanted } = request;
  const inputs = recorders.flatMap((recorder) => recorder.inputs);
  const routed = routes.map(({ deck, options }) => ({
    outputs: deck.outputs.map((output) => ({
      kind: `${output.kind} ${output.width}`,
      choices: choicesOf(output, inputs, facts.channels),
    })),
    options,
  }));
  // A word that only one usable recorder has joins nothing, and would only loosen the bounds.
  const words = recorders.map(({ starts }, r) => (routes.some(({ options }) => options[r].length > 0) ? starts : null));
  const sets = [...new Set(words)].filter((word) => word !== null && words.filter((one) => one === word).length > 1);
  return {
    ...{ channelCount: facts.channels.length, decks: routed },
    reads: wanted.reads,
    recorderKinds: kindNumbers(
      recorders.map(({ name, equipment, ...rest }) => ({ ...rest, inputs: unnamed(rest.inputs) })),
    ),
    startSets: words.map((word) => sets.indexOf(word)),
    timecoded: routes.map(({ deck }) =>
      recorders.map((one) => rules.join === 'timecode' && deck.timecode && one.timecode),
    ),
    joins: rules.join !== 'none',
    decksWanted: Math.min(wanted.reads, routes.length),
    sameDeckCost: sameDeckCost(rules),
    passCosts: routes.map(({ deck }) => passCost(deck, request, facts)),
    deckKinds: kindNumbers(
      routes.map(({ deck: { name, equipment, ...rest } }) => ({ ...rest, outputs: unnamed(rest.outputs) })),
    ),
    mostPasses: rules.passes,
  };
}

/** Everything the output may bring into any input: narrow inputs take only the first channels of a cable. */
function choicesOf(output: DeckOutput, inputs: readonly RecorderInput[], wanted: readonly number[]): number[] {
  const widths = new Set(inputs.filter(({ kind }) => connectionOf(output.kind, kind)).map(({ channels }) => channels));
  const masks = [...widths].flatMap((width) => carried(output, width, wanted).map((one) => maskOf(one, wanted)));
  return [...new Set(masks)];
}

function unnamed<T extends { readonly name: string }>(list: readonly T[]): Omit<T, 'name'>[] {
  return list.map(({ name, ...rest }) => rest);
}

/** The same number for the same description. */
function kindNumbers(descriptions: readonly unknown[]): number[] {
  const texts = descriptions.map((one) => JSON.stringify(one));
  return texts.map((text) => texts.indexOf(text));
}

function unproven(shared: Shared): Shared {
  return { ...shared, isExact: false, isNext: false, within: null };
}

function tooFewPasses(needed: number | null, { rules }: PlanRequest): Reason {
  if (rules.passes === null) {
    const why = 'the bench is too large: no plan was found among the ways that were tried';
    return reason(
      'rules',
      '',
      'not-found',
      why,
      'leave out decks and recorders that are not needed, or want fewer reads',
    );
  }
  const many = needed === null ? 'more passes' : `at least ${needed} passes`;
  const why = `${many} are needed, and the rules allow ${rules.passes}`;
  return reason(
    'rules',
    '',
    'too-many-passes',
    why,
    'allow more passes, want fewer reads, or add recorders, inputs or outputs',
  );
}
