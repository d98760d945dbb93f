// The exact search within given passes: best first by a bound that is never too high, one recorder after the other, states equal but
// for names looked into once. The first finished state that comes up is the best there is (decision note 0013).
import type { Bounds } from './bounds.ts';
import { Heap } from './heap.ts';
import { GROUP_COST, type PassesAnswer, type PassesProblem, type PassesResult } from './problem.ts';
import { type Ahead, aheadOf, leastRemaining } from './remaining.ts';
import { endPass, firstState, groupCount, keyOf, likeUnits, type State, skip, take } from './state.ts';

interface Node {
  readonly state: State;
  /** captures so far */
  readonly paid: number;
  /** paid and the least to come */
  readonly bound: number;
  readonly depth: number;
  readonly order: number;
  readonly before: Node | null;
  /** option of the recorder decided last, -1 for none; undefined where a pass ended */
  readonly option: number | undefined;
}

/** `bounds`: those of the decks of these passes. */
export function searchPasses(problem: PassesProblem, bounds: Bounds): PassesResult {
  const ahead = aheadOf(problem, bounds);
  return bestFirst(problem, bounds, ahead) ?? inBeams(problem, bounds, ahead);
}

/** A bound of any answer, without searching. Infinity: none. */
export function leastOfPasses(problem: PassesProblem, bounds: Bounds): number {
  return leastRemaining(problem, bounds, aheadOf(problem, bounds), firstState(problem));
}

/** Null when the allowance of steps is used up. */
function bestFirst(problem: PassesProblem, bounds: Bounds, ahead: readonly Ahead[]): PassesResult | null {
  const open = new Heap<Node>(comesFirst);
  const known = new Map<string, number>();
  let order = 0;
  const offer = (node: Node) => {
    if (node.bound === Number.POSITIVE_INFINITY) return;
    const key = keyOf(problem, node.state);
    const best = known.get(key);
    if (best !== undefined && best <= node.paid) return;
    known.set(key, node.paid);
    open.push(node);
  };
  const start = firstState(problem);
  const bound = leastRemaining(problem, bounds, ahead, start);
  offer({ state: start, paid: 0, bound, depth: 0, order, before: null, option: undefined });
  let steps = 0;
  for (;;) {
    const node = open.pop();
    if (!node) return { answer: null, isExact: true, bound: Number.POSITIVE_INFINITY, steps };
    if (node.state.pass === problem.passes.length) {
      return { answer: answerOf(problem, bounds, ahead, node), isExact: true, bound: node.bound, steps };
    }
    if (steps > problem.mostSteps) return null;
    if ((known.get(keyOf(problem, node.state)) ?? 0) < node.paid) continue;
    for (const step of stepsOf(problem, node.state)) {
      steps++;
      offer(followed(problem, bounds, ahead, node, step, ++order));
    }
  }
}

/** Wide enough to find good answers for benches beyond the usual, narrower where a step has very many ways; proves nothing. */
const BEAM = 120;
const BEAM_STEPS = 200_000;

function inBeams(problem: PassesProblem, bounds: Bounds, ahead: readonly Ahead[]): PassesResult {
  const state = firstState(problem);
  const bound = leastRemaining(problem, bounds, ahead, state);
  let order = 0;
  let steps = 0;
  let depth = 0;
  const depths = problem.passes.reduce((sum, deck) => sum + problem.units.decks[deck].options.length + 1, 0);
  let beam: Node[] = [{ state, paid: 0, bound, depth: 0, order, before: null, option: undefined }];
  while (beam.length > 0 && beam[0].state.pass < problem.passes.length) {
    const next = new Map<string, Node>();
    for (const node of beam) {
      for (const step of stepsOf(problem, node.state)) {
        steps++;
        const child = followed(problem, bounds, ahead, node, step, ++order);
        const key = keyOf(problem, child.state);
        const known = next.get(key);
        if (child.bound < Number.POSITIVE_INFINITY && (!known || child.paid < known.paid)) next.set(key, child);
      }
    }
    const width = Math.min(BEAM, Math.max(2, Math.floor((BEAM * BEAM_STEPS * ++depth) / depths / Math.max(1, steps))));
    beam = [...next.values()].sort((a, b) => (comesFirst(a, b) ? -1 : 1)).slice(0, width);
  }
  return { answer: beam.length > 0 ? answerOf(problem, bounds, ahead, beam[0]) : null, isExact: false, bound, steps };
}

interface Step {
  readonly state: State;
  readonly cost: number;
  readonly option: number | undefined;
}

function stepsOf(problem: PassesProblem, state: State): Step[] {
  const lists = problem.units.decks[problem.passes[state.pass]].options;
  if (state.recorder === lists.length) {
    const ended = endPass(state);
    return ended ? [{ state: ended, cost: 0, option: undefined }] : [];
  }
  const steps: Step[] = [{ state: skip(problem, state), cost: 0, option: -1 }];
  if (state.skipped) return steps;
  const like = likeUnits(problem, state);
  for (const option of lists[state.recorder]) {
    if (like.some((before, unit) => (option.units >> unit) & 1 && before & ~option.units)) continue;
    const taken = take(problem, state, option);
    if (taken) steps.push({ state: taken, cost: option.cost, option: option.index });
  }
  return steps;
}

function followed(
  problem: PassesProblem,
  bounds: Bounds,
  ahead: readonly Ahead[],
  before: Node,
  { state, cost, option }: Step,
  order: number,
): Node {
  const paid = before.paid + cost;
  const bound = Math.max(before.bound, paid + leastRemaining(problem, bounds, ahead, state));
  return { state, paid, bound, depth: before.depth + 1, order, before, option };
}

/** The lower bound first; among equals what is nearly finished, then what was found first, so that the answer is always the same. */
function comesFirst(a: Node, b: Node): boolean {
  if (a.bound !== b.bound) return a.bound < b.bound;
  return a.depth !== b.depth ? a.depth > b.depth : a.order < b.order;
}

function answerOf(problem: PassesProblem, bounds: Bounds, ahead: readonly Ahead[], end: Node): PassesAnswer {
  const taken: number[][] = [];
  let pass: number[] = [];
  for (let node: Node | null = end; node?.before; node = node.before) {
    if (node.option !== undefined) pass.unshift(node.option);
    else if (pass.length > 0) {
      taken.unshift(pass);
      pass = [];
    }
  }
  if (pass.length > 0) taken.unshift(pass);
  const groups = groupCount(problem, end.state);
  const all = end.paid + leastRemaining(problem, bounds, ahead, end.state);
  return { taken, cost: all - (problem.joins ? groups * GROUP_COST : 0), groups };
}
