// Lower bounds of the search: what is still to be paid, at the very least. Every number here may be too low and never too high;
// the proof of the optimum rests on that.
import type { BenchProblem } from './problem.ts';
import { bitCount, type UnitOption } from './units.ts';

export interface DeckReach {
  /** most units that one pass can read */
  readonly reads: number;
  /** most groups that one pass can take away */
  readonly joins: number;
  /** the same counting a unit again for every capture that has it: what joins may use */
  readonly slots: number;
  /** per recorder, from this one to the last: most units, most units with repeats, most joins */
  readonly slotsFrom: readonly number[];
  readonly readsFrom: readonly number[];
  readonly joinsFrom: readonly number[];
  /** units that some option reads */
  readonly units: number;
}

export interface Bounds {
  readonly decks: readonly DeckReach[];
  /** per unit: closure of everything that could ever join; units with the same number can become one group */
  readonly closure: readonly number[];
  readonly fewestGroups: number;
  /** cheapest captures that read `reads` units and take away `joins` groups */
  captures(reads: number, joins: number): number;
  readonly cheapestCapture: number;
}

export function boundsOf(problem: BenchProblem, used: readonly number[]): Bounds {
  const { units } = problem;
  const decks = units.decks.map((_, deck) => reachOf(problem, deck));
  const closure = closureOf(problem, used);
  const shapes = shapesOf(problem, used);
  const mostReads = units.count * (problem.reads + 1);
  const table = captureTable(shapes, mostReads, units.count);
  return {
    decks,
    closure,
    fewestGroups: new Set(closure).size,
    captures: (reads, joins) => table[Math.min(reads, mostReads)][Math.min(joins, units.count)],
    cheapestCapture: Math.min(...shapes.map(({ cost }) => cost)),
  };
}

function reachOf({ units, startSets, timecoded, joins }: BenchProblem, deck: number): DeckReach {
  const { options, outputUnits } = units.decks[deck];
  const sizes = options.map((list) => list.reduce((most, option) => Math.max(most, bitCount(option.units)), 0));
  const joinSizes = sizes.map((size, recorder) => {
    if (!joins || size === 0) return 0;
    return startSets[recorder] >= 0 || timecoded[deck][recorder] ? size : size - 1;
  });
  const all = options.flat().reduce((mask, option) => mask | option.units, 0);
  const throughOutputs = outputUnits.reduce((sum, one) => sum + one, 0);
  const sumFrom = (list: readonly number[], from: number) => list.slice(from).reduce((sum, one) => sum + one, 0);
  const readsFrom = sizes.map((_, recorder) => Math.min(bitCount(all), sumFrom(sizes, recorder)));
  const slots = (recorder: number) => Math.min(throughOutputs, sumFrom(sizes, recorder));
  const largest = Math.max(1, ...sizes);
  const hasExtra = joinSizes.some((size, recorder) => size > 0 && size === sizes[recorder]);
  const joinsFrom = sizes.map((_, recorder) => {
    const bySlots = hasExtra ? slots(recorder) : slots(recorder) - Math.ceil(slots(recorder) / largest);
    return Math.min(bySlots, sumFrom(joinSizes, recorder));
  });
  return {
    reads: Math.min(bitCount(all), slots(0)),
    slots: slots(0),
    slotsFrom: [...sizes.map((_, recorder) => slots(recorder)), 0],
    joins: joinsFrom[0] ?? 0,
    readsFrom: [...readsFrom, 0],
    joinsFrom: [...joinsFrom, 0],
    units: all,
  };
}

/** Joins everything that any capture of any pass could join. */
function closureOf({ units, joins, startSets, timecoded }: BenchProblem, used: readonly number[]): number[] {
  if (!joins) return new Array(units.count).fill(0);
  const group = Array.from({ length: units.count }, (_, unit) => unit);
  const merge = (mask: number) => {
    const inside = group.filter((_, unit) => mask & (1 << unit));
    const home = Math.min(...inside);
    for (const [unit, own] of group.entries()) if (inside.includes(own)) group[unit] = home;
  };
  let withTimecode = 0;
  for (const deck of used) {
    const lists = units.decks[deck].options;
    for (const [recorder, list] of lists.entries()) {
      for (const option of list) if (option.units) merge(option.units);
      if (timecoded[deck][recorder]) withTimecode |= list.reduce((mask, option) => mask | option.units, 0);
    }
    for (const mask of startedTogether(lists, startSets)) merge(mask);
  }
  if (withTimecode) merge(withTimecode);
  return group;
}

/** What two recorders that start together can hold in one pass: their outputs must differ. */
function startedTogether(lists: readonly (readonly UnitOption[])[], startSets: readonly number[]): Set<number> {
  const masks = new Set<number>();
  for (const [a, first] of lists.entries()) {
    for (const [b, second] of lists.entries()) {
      if (b <= a || startSets[a] < 0 || startSets[a] !== startSets[b]) continue;
      for (const one of first) {
        for (const two of second) if (!(one.outputs & two.outputs)) masks.add(one.units | two.units);
      }
    }
  }
  masks.delete(0);
  return masks;
}

interface Shape {
  readonly reads: number;
  readonly joins: number;
  readonly cost: number;
}

function shapesOf({ units, startSets, timecoded, joins }: BenchProblem, used: readonly number[]): Shape[] {
  const best = new Map<string, Shape>();
  for (const deck of used) {
    for (const [recorder, list] of units.decks[deck].options.entries()) {
      const extra = startSets[recorder] >= 0 || timecoded[deck][recorder] ? 0 : 1;
      for (const { units: mask, cost } of list) {
        const reads = bitCount(mask);
        const shape = { reads, joins: joins ? Math.max(0, reads - extra) : 0, cost };
        const key = `${shape.reads},${shape.joins}`;
        const known = best.get(key);
        if (!known || cost < known.cost) best.set(key, shape);
      }
    }
  }
  return [...best.values()];
}

function captureTable(shapes: readonly Shape[], mostReads: number, mostJoins: number): number[][] {
  const table = Array.from({ length: mostReads + 1 }, () => new Array<number>(mostJoins + 1).fill(0));
  for (let reads = 0; reads <= mostReads; reads++) {
    for (let joins = 0; joins <= mostJoins; joins++) {
      if (reads === 0 && joins === 0) continue;
      table[reads][joins] = shapes.reduce((least, shape) => {
        if (shape.reads === 0 || (reads === 0 && shape.joins === 0)) return least;
        const rest = table[Math.max(0, reads - shape.reads)][Math.max(0, joins - shape.joins)];
        return Math.min(least, shape.cost + rest);
      }, Number.POSITIVE_INFINITY);
    }
  }
  return table;
}
