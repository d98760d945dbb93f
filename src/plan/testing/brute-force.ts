// The same question answered by trying everything: every way to patch every pass, pass after pass, all programmes together, no bounds, no
// likeness of decks, recorders or channels, no ways dropped. The file of a cable holds all its channels. Shares only the request with the plan; costs are written out again here.
import { rateHz } from '../../base/index.ts';
import type { PlanRequest } from '../bench.ts';

export interface BruteAnswer {
  readonly groups: number;
  readonly cost: number;
}

interface Way {
  readonly deck: number;
  readonly programme: number;
  /** channels of each capture as masks, with those that start together already as one for joining */
  readonly reads: number;
  readonly joined: readonly number[];
  readonly cost: number;
}

/** Best of every sharing of at most `mostPasses` passes among the decks, best first. Sound equipment only: nothing is ruled out here. */
export function bruteForce(
  request: PlanRequest,
  channels: number,
  programmes: number,
  mostPasses: number,
): BruteAnswer[] {
  const { decks, rules, wanted } = request;
  const ways = decks.flatMap((_, deck) =>
    Array.from({ length: programmes }, (_, programme) => waysOf(request, channels, deck, programme)).flat(),
  );
  const nodes = channels * programmes;
  const first = {
    reads: new Array<number>(nodes).fill(0),
    decks: new Array<number>(nodes).fill(0),
    group: upTo(nodes + 1),
  };
  let layer = new Map<string, BruteState>([['', { ...first, used: decks.map(() => 0), cost: 0 }]]);
  const best = new Map<string, BruteAnswer>();
  for (let pass = 1; pass <= mostPasses; pass++) {
    const next: typeof layer = new Map();
    for (const state of layer.values()) {
      for (const way of ways) {
        const after = follow(state, way, channels, wanted.reads);
        const key = JSON.stringify([after.reads, after.decks, after.group, after.used]);
        const known = next.get(key);
        if (!known || after.cost < known.cost) next.set(key, after);
      }
    }
    layer = next;
    for (const state of layer.values()) {
      if (state.reads.some((count) => count < wanted.reads)) continue;
      const target = Math.min(wanted.reads, new Set(ways.map(({ deck }) => deck)).size);
      const short = state.decks.reduce((sum, mask) => sum + Math.max(0, target - ones(mask)), 0);
      const groups = rules.join === 'none' ? 0 : new Set(state.group.slice(0, nodes)).size;
      const cost = state.cost + short * 1000 * rules.cost.deck * (rules.prefer === 'proof' ? 4 : 1);
      const sharing = sharingOf(request, state.used);
      const known = best.get(sharing);
      if (!known || groups < known.groups || (groups === known.groups && cost < known.cost))
        best.set(sharing, { groups, cost });
    }
  }
  return [...best.values()].sort((a, b) => a.groups - b.groups || a.cost - b.cost);
}

interface BruteState {
  readonly reads: readonly number[];
  readonly decks: readonly number[];
  readonly group: readonly number[];
  readonly used: readonly number[];
  readonly cost: number;
}

function follow(state: BruteState, way: Way, channels: number, wanted: number): BruteState {
  const from = way.programme * channels;
  const has = (mask: number, node: number) => node >= from && node < from + channels && (mask >> (node - from)) & 1;
  let group = state.group;
  for (const mask of way.joined) {
    const isTimecode = (node: number) => node === state.reads.length && (mask >> 30) & 1;
    const inside = new Set(group.filter((_, node) => has(mask & 0x3fffffff, node) || isTimecode(node)));
    const home = Math.min(...inside);
    group = group.map((one) => (inside.has(one) ? home : one));
  }
  return {
    reads: state.reads.map((count, node) => (has(way.reads, node) ? Math.min(wanted, count + 1) : count)),
    decks: state.decks.map((mask, node) => (has(way.reads, node) ? mask | (1 << way.deck) : mask)),
    group,
    used: state.used.map((count, deck) => (deck === way.deck ? count + 1 : count)),
    cost: state.cost + way.cost,
  };
}

/** Every patching of one pass; those with the same reads, joins and cost stand for each other. */
function waysOf(request: PlanRequest, channels: number, deck: number, programme: number): Way[] {
  const { decks, recorders, rules, wanted } = request;
  const weights = { ...rules.cost };
  if (rules.prefer === 'wear') Object.assign(weights, { pass: 4 * weights.pass, wear: 4 * weights.wear });
  const minutes = wanted.minutes ?? 0;
  const factor = { good: 1, fair: 2, poor: 4 }[wanted.condition] * decks[deck].wear;
  const run = weights.pass + weights.wear * minutes * factor + (weights.hour * (minutes + rules.handlingMinutes)) / 60;
  const sockets = recorders.flatMap((recorder, r) => recorder.inputs.map((input) => ({ recorder, r, input })));
  const found = new Map<string, Way>();
  const patch = (
    at: number,
    outputs: number,
    masks: readonly number[],
    widths: readonly number[],
    cables: readonly number[],
  ): void => {
    if (at === sockets.length) {
      if (masks.every((mask) => mask === 0)) return;
      let cost = Math.round(1000 * run);
      for (const [r, recorder] of recorders.entries()) {
        if (cables[r] === 0) continue;
        const word = Math.ceil((recorder.bits[0] ?? 16) / 8);
        const bytes =
          Math.ceil(widths[r] * word * rateHz(request.tape.rate ?? { num: 1, den: 1 }) * 60 * minutes) + 4096;
        cost += Math.round(1000 * ((weights.hour * 2 * cables[r]) / 60 + (weights.gigabyte * bytes) / 1e9));
      }
      const joined = joinedOf(request, deck, masks);
      const reads = masks.reduce((all, mask) => all | mask, 0);
      const key = JSON.stringify([reads, [...joined].sort()]);
      const known = found.get(key);
      if (!known || cost < known.cost) found.set(key, { deck, programme, reads, joined, cost });
      return;
    }
    patch(at + 1, outputs, masks, widths, cables);
    const { r, input } = sockets[at];
    for (const [index, output] of decks[deck].outputs.entries()) {
      if ((outputs >> index) & 1 || output.kind !== input.kind) continue;
      const room = Math.min(output.width, input.channels);
      const choices = output.choices
        ? output.choices.map((choice) => choice.slice(0, room))
        : everySubset(channels, room);
      for (const choice of choices) {
        const mask = choice.reduce((all, channel) => (channel <= channels ? all | (1 << (channel - 1)) : all), 0);
        const put = (list: readonly number[], value: number) => list.map((one, k) => (k === r ? value : one));
        patch(
          at + 1,
          outputs | (1 << index),
          put(masks, masks[r] | mask),
          put(widths, widths[r] + room),
          put(cables, cables[r] + 1),
        );
      }
    }
  };
  const none = recorders.map(() => 0);
  patch(0, 0, none, none, none);
  return [...found.values()];
}

function joinedOf({ decks, recorders, rules }: PlanRequest, deck: number, masks: readonly number[]): number[] {
  const sets = new Map<string, number>();
  for (const [r, { starts, timecode }] of recorders.entries()) {
    if (masks[r] === 0) continue;
    const marked = rules.join === 'timecode' && timecode && decks[deck].timecode ? masks[r] | (1 << 30) : masks[r];
    const name = starts ?? `alone ${r}`;
    sets.set(name, (sets.get(name) ?? 0) | marked);
  }
  return [...sets.values()];
}

function everySubset(channels: number, most: number): number[][] {
  return Array.from({ length: 2 ** channels }, (_, mask) =>
    upTo(channels)
      .map((c) => c + 1)
      .filter((c) => (mask >> (c - 1)) & 1),
  ).filter((list) => list.length > 0 && list.length <= most);
}

/** Passes per deck; decks that differ only by name are the same. */
function sharingOf({ decks }: PlanRequest, used: readonly number[]): string {
  const kinds = new Map<string, number[]>();
  for (const [d, { name, equipment, outputs, ...rest }] of decks.entries()) {
    const kind = JSON.stringify([rest, outputs.map(({ name: _, ...output }) => output)]);
    kinds.set(kind, [...(kinds.get(kind) ?? []), used[d]].sort());
  }
  return JSON.stringify([...kinds.values()]);
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i);
}

function ones(mask: number): number {
  return mask.toString(2).replaceAll('0', '').length;
}
