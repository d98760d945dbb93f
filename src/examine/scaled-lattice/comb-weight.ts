// How strongly the counts of levels speak for one comb: their likelihood under it against none. Not for finding combs.
// Under a gain by one rounding a level stands for one of two neighbouring numbers of source levels, so the sum over the source levels
// alone (few, for wide combs) says how many samples are on levels of each kind.
import type { Comb } from './comb-candidates.ts';
import type { Range } from './level-range.ts';

/** `nearest` takes halves up, `half away` away from zero, `half either` now this way, now that (as gains in floating point do) */
export type Rounding = 'nearest' | 'half away' | 'half either' | 'down' | 'toward zero' | 'up';

export interface Weighed extends Comb {
  readonly rounding: Rounding;
  /** ln of the likelihood of the counts under the comb against none, at the best share of samples off the comb */
  readonly lnOdds: number;
  /** what it would be on average if the comb were true */
  readonly lnOddsIfTrue: number;
  readonly offShare: number;
  readonly emptyLevels: number;
}

const OFF_SHARES = [1e-4, 1e-3, 1e-2, 0.1];

export function weigh(range: Range, { spacing, uncertainty }: Comb, rounding: Rounding): Weighed {
  const classes = classesOf(range, spacing, rounding);
  const off = classes.find(({ twice }) => twice === 0);
  const odds = OFF_SHARES.map((share) =>
    sumOver(classes, ({ twice, samples }) => samples * Math.log(((1 - share) * twice * spacing) / 2 + share)),
  );
  const ifTrue = sumOver(classes, ({ twice, levels }) => levels * entropyOf((twice / 2) * spacing));
  return {
    spacing,
    uncertainty,
    rounding,
    lnOdds: Math.max(...odds),
    lnOddsIfTrue: (range.samples / range.levels) * ifTrue,
    emptyLevels: off?.levels ?? 0,
    offShare: (off?.samples ?? 0) / range.samples,
  };
}

function entropyOf(x: number): number {
  return x === 0 ? 0 : x * Math.log(x);
}

/** Levels that stand for equally many source levels. */
interface LevelClass {
  /** twice how many */
  readonly twice: number;
  readonly levels: number;
  readonly samples: number;
}

function sumOver(classes: readonly LevelClass[], value: (one: LevelClass) => number): number {
  let sum = 0;
  for (const one of classes) if (one.levels > 0) sum += value(one);
  return sum;
}

function classesOf(range: Range, spacing: number, rounding: Rounding): readonly LevelClass[] {
  const offset = OFFSETS[rounding];
  if (rounding === 'toward zero' || rounding === 'half away') return mirroredClasses(range, spacing, offset);
  const last = range.first + range.levels - 1;
  const up = sideOf(range, 1, range.first, last, { spacing, offset, tie: TIE });
  if (rounding === 'half either') {
    const down = sideOf(range, 1, range.first, last, { spacing, offset, tie: -TIE });
    // Where no source level falls on a half, both ways are one.
    if (up.sources !== down.sources || up.samples !== down.samples) return tiedClasses(range, spacing);
  }
  return twoClasses(range, up, spacing);
}

/** Source levels that fall on the levels asked for, and the samples of those levels, once for each of them. */
interface Side {
  readonly sources: number;
  readonly samples: number;
}

interface Steps {
  readonly spacing: number;
  /** a source level at `offset` below a level's upper end still goes to it */
  readonly offset: number;
  readonly tie: number;
}

const NONE: Side = { sources: 0, samples: 0 };

/** Levels from .. to, or with `sign` -1 their mirror images -from .. -to. */
function sideOf(range: Range, sign: 1 | -1, from: number, to: number, { spacing, offset, tie }: Steps): Side {
  if (from > to) return NONE;
  const { counts, first } = range;
  const begin = Math.ceil((from - offset) / spacing - tie);
  const end = Math.ceil((to + 1 - offset) / spacing - tie);
  const start = sign * from - first;
  const most = to - from;
  const lead = spacing * tie + offset - from;
  let samples = 0;
  for (let k = begin; k < end; k++) {
    const at = (spacing * k + lead) | 0;
    samples += counts[start + sign * Math.min(at, most)];
  }
  return { sources: end - begin, samples };
}

function twoClasses({ levels, samples }: Pick<Range, 'levels' | 'samples'>, side: Side, spacing: number): LevelClass[] {
  const fewer = Math.floor(1 / spacing);
  const more = {
    levels: Math.max(0, Math.min(levels, side.sources - fewer * levels)),
    samples: Math.max(0, Math.min(samples, side.samples - fewer * samples)),
  };
  return [
    { twice: 2 * fewer, levels: levels - more.levels, samples: samples - more.samples },
    { twice: 2 * fewer + 2, ...more },
  ];
}

/** The negative side is the image of the positive one; level 0 takes both sides. */
function mirroredClasses(range: Range, spacing: number, offset: number): LevelClass[] {
  const { counts, first, levels } = range;
  const last = first + levels - 1;
  const steps = { spacing, offset, tie: TIE };
  const above = sideOf(range, 1, Math.max(1, first), last, steps);
  const below = sideOf(range, -1, Math.max(1, -last), -first, steps);
  const both = { sources: above.sources + below.sources, samples: above.samples + below.samples };
  if (first > 0 || last < 0) return twoClasses(range, both, spacing);
  const zero = counts[-first];
  const outer = { levels: levels - 1, samples: range.samples - zero };
  const within = 2 * Math.ceil((1 - offset) / spacing - TIE) - 1;
  return [...twoClasses(outer, both, spacing), { twice: 2 * within, levels: 1, samples: zero }];
}

/** Level by level: where halves go now this way, now that, there are up to three kinds. */
function tiedClasses(range: Range, spacing: number): LevelClass[] {
  const m = multiplicities(range, spacing, 'half either');
  const samples = new Float64Array(256);
  const levels = new Float64Array(256);
  for (let i = 0; i < m.length; i++) {
    samples[m[i]] += range.counts[i];
    levels[m[i]]++;
  }
  return Array.from(levels, (count, twice) => ({ twice, levels: count, samples: samples[twice] })).filter(
    (one) => one.levels > 0,
  );
}

/** Twice the number of integers k that have round(spacing k) = level, for each level. */
export function multiplicities({ counts, first }: Range, spacing: number, rounding: Rounding): Uint8Array {
  const m = new Uint8Array(counts.length);
  const offset = OFFSETS[rounding];
  const perLevel = 1 / spacing;
  const other = rounding === 'half either' ? -TIE : TIE;
  const edge = (level: number) =>
    Math.ceil((level - offset) * perLevel - TIE) + Math.ceil((level - offset) * perLevel - other);
  let below = edge(first);
  for (let i = 0; i < m.length; i++) {
    const above = edge(first + i + 1);
    m[i] = above - below;
    below = above;
  }
  if (rounding === 'toward zero' || rounding === 'half away') mirror(m, first, perLevel, offset);
  return m;
}

/** The negative side becomes the image of the positive one, and level 0 takes both sides. */
function mirror(m: Uint8Array, first: number, perLevel: number, offset: number): void {
  for (let i = 0; i < m.length && first + i <= 0; i++) {
    const level = -(first + i);
    const above = Math.ceil((level + 1 - offset) * perLevel - TIE);
    m[i] = 2 * (level === 0 ? 2 * above - 1 : above - Math.ceil((level - offset) * perLevel - TIE));
  }
}

/** Keeps exact multiples on their own side of a boundary whatever the last bits of a product. */
const TIE = 1e-9;
/** a source level at `offset` below a level's upper end still goes to it */
const OFFSETS = {
  nearest: 0.5,
  'half away': 0.5,
  'half either': 0.5,
  down: 0,
  'toward zero': 0,
  up: 1 - 2 * TIE,
} as const;
