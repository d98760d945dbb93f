// What the search works on: channels that always travel together become one unit; units that no bench tells apart get one class, so that
// states which differ only by renaming are one state. Not for costs of passes.
import type { CaptureOption } from '../capture-options.ts';

/** One deck as the search sees it. Masks are over channels here, over units after `unitsOf`. */
export interface RoutedDeck {
  /** per output: kind and every set of channels it can carry */
  readonly outputs: readonly { readonly kind: string; readonly choices: readonly number[] }[];
  /** per recorder */
  readonly options: readonly (readonly CaptureOption[])[];
}

export interface UnitOption {
  readonly outputs: number;
  readonly units: number;
  readonly cost: number;
  /** position in the list of the recorder's options */
  readonly index: number;
}

export interface UnitDeck {
  /** per recorder */
  readonly options: readonly (readonly UnitOption[])[];
  /** per output: mask of the outputs just like it that come before it; those are used first */
  readonly earlierTwins: readonly number[];
  /** per unit: outputs that carry this unit and nothing else, in order of kind */
  readonly ownOutputs: readonly (readonly number[])[];
  /** mask of outputs that no unit has for itself */
  readonly sharedOutputs: number;
  /** per output: the most units it can carry */
  readonly outputUnits: readonly number[];
}

export interface Units {
  readonly count: number;
  /** channels in each unit */
  readonly sizes: readonly number[];
  /** units of the same class can be exchanged */
  readonly classes: readonly number[];
  readonly decks: readonly UnitDeck[];
}

/** Only what the decks in `used` tell apart is told apart. */
export function unitsOf(channelCount: number, decks: readonly RoutedDeck[], used: readonly number[]): Units {
  const choices = used.flatMap((deck) => decks[deck].outputs.flatMap((output) => output.choices));
  const masks: number[] = [];
  for (let channel = 0; channel < channelCount; channel++) {
    const bit = 1 << channel;
    const home = masks.findIndex((mask) =>
      choices.every((choice) => ((choice & mask) === 0) === ((choice & bit) === 0)),
    );
    if (home < 0) masks.push(bit);
    else masks[home] |= bit;
  }
  const unitDecks = decks.map((deck) => unitDeck(deck, masks));
  const classes: number[] = [];
  for (let unit = 0; unit < masks.length; unit++) {
    const twin = classes.findIndex(
      (own, other) => own === other && areTwins(other, unit, masks, used, decks, unitDecks),
    );
    classes.push(twin < 0 ? unit : twin);
  }
  return { count: masks.length, sizes: masks.map(bitCount), classes, decks: unitDecks };
}

function unitDeck(deck: RoutedDeck, masks: readonly number[]): UnitDeck {
  const ownOutputs = masks.map((mask) =>
    deck.outputs
      .map((output, index) => ({ ...output, index }))
      .filter(({ choices }) => choices.length > 0 && choices.every((choice) => choice === mask))
      .sort((a, b) => (a.kind < b.kind ? -1 : a.kind > b.kind ? 1 : a.index - b.index))
      .map(({ index }) => index),
  );
  const own = new Set(ownOutputs.flat());
  return {
    options: deck.options.map((list) =>
      list.map(({ outputs, channels, cost }, index) => ({ outputs, units: inUnits(channels, masks), cost, index })),
    ),
    earlierTwins: deck.outputs.map((output, index) =>
      deck.outputs
        .slice(0, index)
        .reduce((mask, other, k) => (isSameOutput(output, other) ? mask | (1 << k) : mask), 0),
    ),
    ownOutputs,
    sharedOutputs: deck.outputs.reduce((mask, _, index) => (own.has(index) ? mask : mask | (1 << index)), 0),
    outputUnits: deck.outputs.map(({ choices }) =>
      choices.reduce((most, choice) => Math.max(most, bitCount(inUnits(choice, masks))), 0),
    ),
  };
}

function isSameOutput(a: RoutedDeck['outputs'][number], b: RoutedDeck['outputs'][number]): boolean {
  return a.kind === b.kind && sameSet(a.choices, b.choices);
}

function sameSet(a: readonly number[], b: readonly number[]): boolean {
  const left = new Set(a);
  const right = new Set(b);
  return left.size === right.size && [...left].every((one) => right.has(one));
}

/** Whether exchanging the two changes no deck: their own outputs correspond, every shared output carries the same sets as before. */
function areTwins(
  a: number,
  b: number,
  masks: readonly number[],
  used: readonly number[],
  decks: readonly RoutedDeck[],
  unitDecks: readonly UnitDeck[],
): boolean {
  if (bitCount(masks[a]) !== bitCount(masks[b])) return false;
  return used.every((d) => {
    const deck = decks[d];
    const kinds = (unit: number) => unitDecks[d].ownOutputs[unit].map((output) => deck.outputs[output].kind).join();
    if (kinds(a) !== kinds(b)) return false;
    return deck.outputs.every(({ choices }, index) => {
      if (!(unitDecks[d].sharedOutputs & (1 << index))) return true;
      return sameSet(
        choices,
        choices.map((choice) => exchanged(choice, masks[a], masks[b])),
      );
    });
  });
}

function exchanged(choice: number, a: number, b: number): number {
  const rest = choice & ~(a | b);
  return rest | (choice & a ? b : 0) | (choice & b ? a : 0);
}

function inUnits(channels: number, masks: readonly number[]): number {
  return masks.reduce((units, mask, unit) => (channels & mask ? units | (1 << unit) : units), 0);
}

/** Ways to choose `size` of `count`. */
export function binomial(count: number, size: number): number {
  let ways = 1;
  for (let k = 1; k <= size; k++) ways = (ways * (count - size + k)) / k;
  return ways;
}

export function bitCount(mask: number): number {
  let count = 0;
  for (let rest = mask; rest !== 0; rest &= rest - 1) count++;
  return count;
}
