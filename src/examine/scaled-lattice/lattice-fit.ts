// Finds the comb that a gain leaves in the levels of a recording: round(g k) leaves out every g/(g-1)-th level for g > 1, and for g < 1
// makes some levels stand for one source level more than others. Not for naming the gain (gain-name.ts) nor for reading samples.
//
// Mathematics. The count of level v is lambda(v) m(v) g, lambda smooth, m(v) = how many integers k give round(g k) = v. m is a sampled
// periodic function: lines at h/g cycles per level (aliased), of relative size sinc(h/g). The square roots of the counts (even out
// chance), less their moving mean, over their local spread, go through a Fourier transform; without a comb each bin is
// exponentially distributed, so `chance` = bins e^-power for the strongest, after division by the median level of its part of the
// spectrum. Each strong line gives candidate gains (aliases, harmonics); the counts decide by their likelihood under m against
// m = 1, with a share of samples off the comb, divided by the dispersion of the counts (slow sound dwells on levels, so
// counts scatter by more than chance), less log10 of all that was tried.
import { fftPlan, fftSize } from '../../signal/index.ts';

/** `nearest` takes halves up, `half away` away from zero, `half either` now this way, now that (as gains in floating point do) */
export type Rounding = 'nearest' | 'half away' | 'half either' | 'down' | 'toward zero' | 'up';

export interface LatticeFit {
  /** spacing of the source levels, in levels of the histogram; the gain, where the word length did not change */
  readonly spacing: number;
  /** the true spacing lies within this of it, short of one in a hundred */
  readonly uncertainty: number;
  readonly rounding: Rounding;
  /** of this comb against none, all that was tried taken off */
  readonly log10Odds: number;
  /** the evidence for the comb over what it would be if the comb were all there is; near 1 when it is right */
  readonly explained: number;
  /** strongest line left once the comb is taken out, over the strongest before */
  readonly unexplained: number;
  /** share of the counted samples on levels that the comb does not have */
  readonly offShare: number;
  /** levels within the judged range that the comb leaves out */
  readonly emptyLevels: number;
}

export interface LatticeSearch {
  readonly fit: LatticeFit | undefined;
  /** cycles per level of the strongest line, when it is beyond chance */
  readonly lineFrequency: number | undefined;
  /** of the strongest line, all bins counted; natural logarithm */
  readonly lnChance: number;
  /** gains nearer to 1 than this leave no trace that could have been seen; Infinity where nothing could */
  readonly blindAround: number;
  readonly samples: number;
  readonly levels: number;
}

/** ln of the chance beyond which a line is taken for real: one in a million */
const LINE_LN_CHANCE = Math.log(1e-6);
/** power of a line that is certain to be noticed */
const CERTAIN_POWER = 50;

/** `counts[half + v]` belongs to level v. At least 64 levels and 500 samples, or nothing is looked for. */
export function searchLattice(counts: Float64Array, half: number): LatticeSearch {
  const range = judgedRange(counts, half);
  const nothing = { fit: undefined, lineFrequency: undefined, lnChance: 0, blindAround: Number.POSITIVE_INFINITY };
  if (range.levels < 64 || range.samples < 500) return { ...nothing, samples: range.samples, levels: range.levels };
  const residual = residualOf(range);
  const spectrum = spectrumOf(residual.values, residual.lowestFrequency);
  const blind = Math.sqrt((CERTAIN_POWER * dispersionOf(range)) / range.samples);
  const found = {
    lnChance: spectrum.lnChance,
    blindAround: Math.max(blind, residual.lowestFrequency),
    samples: range.samples,
    levels: range.levels,
  };
  if (spectrum.lnChance > LINE_LN_CHANCE) return { ...found, fit: undefined, lineFrequency: undefined };
  return {
    ...found,
    lineFrequency: spectrum.lines[0].frequency,
    fit: bestFit(range, residual.values, spectrum, residual.lowestFrequency),
  };
}

interface Range {
  /** counts[i] belongs to level first + i */
  readonly counts: Float64Array;
  readonly first: number;
  readonly samples: number;
  readonly levels: number;
}

/** All but the outermost samples: the loudest are few, and clipping piles them up. One level that towers over all is cut back. */
function judgedRange(counts: Float64Array, half: number): Range {
  let total = 0;
  for (let i = 0; i < counts.length; i++) total += counts[i];
  const spare = total / 2000;
  let low = 0;
  for (let sum = counts[0]; low < counts.length - 1 && sum <= spare; sum += counts[low]) low++;
  let high = counts.length - 1;
  for (let sum = counts[high]; high > low && sum <= spare; sum += counts[high]) high--;
  const kept = counts.slice(low + 1, Math.max(low + 1, high));
  for (let pass = 0; pass < 3; pass++) cutTallest(kept);
  return {
    counts: kept,
    first: low + 1 - half,
    samples: kept.reduce((sum, count) => sum + count, 0),
    levels: kept.length,
  };
}

/** Digital silence and the like: one value far above every other within reach says nothing of the rest. */
function cutTallest(counts: Float64Array): void {
  let tallest = 0;
  for (let i = 1; i < counts.length; i++) if (counts[i] > counts[tallest]) tallest = i;
  let next = 0;
  for (let i = Math.max(0, tallest - 1024); i < Math.min(counts.length, tallest + 1025); i++) {
    if (i !== tallest && counts[i] > next) next = counts[i];
  }
  if (counts[tallest] > 2 * next) counts[tallest] = next;
}

function residualOf({ counts }: Range): { values: Float64Array; lowestFrequency: number } {
  const reach = Math.min(512, Math.max(4, counts.length >> 5));
  const roots = counts.map(Math.sqrt);
  const means = movingMean(roots, reach);
  const values = roots.map((root, i) => root - means[i]);
  const spreads = movingMean(
    values.map((value) => value * value),
    4 * reach,
  );
  for (let i = 0; i < values.length; i++) {
    const scaled = spreads[i] > 0 ? values[i] / Math.sqrt(spreads[i]) : 0;
    values[i] = Math.max(-4, Math.min(4, scaled));
  }
  return { values, lowestFrequency: Math.max(4 / (2 * reach + 1), 8 / counts.length) };
}

function movingMean(values: Float64Array, reach: number): Float64Array {
  const n = values.length;
  const sums = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) sums[i + 1] = sums[i] + values[i];
  const means = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const from = i < reach ? 0 : i - reach;
    const to = Math.min(i + reach + 1, n);
    means[i] = (sums[to] - sums[from]) / (to - from);
  }
  return means;
}

interface Line {
  readonly frequency: number;
  readonly power: number;
}

interface Spectrum {
  /** strongest first; at least one */
  readonly lines: readonly Line[];
  readonly bins: number;
  readonly lnChance: number;
}

const BANDS = 32;

function spectrumOf(values: Float64Array, lowestFrequency: number): Spectrum {
  // Many levels make lines so strong that the loss between two bins does not matter.
  const size = fftSize(values.length > 16_384 ? values.length : 2 * values.length);
  const re = new Float64Array(size);
  const im = new Float64Array(size);
  re.set(values);
  fftPlan(size).forward(re, im);
  const energy = values.reduce((sum, value) => sum + value * value, 0) || 1;
  const powers = new Float64Array(size / 2 + 1);
  for (let k = 0; k < powers.length; k++) powers[k] = (re[k] ** 2 + im[k] ** 2) / energy;
  const first = Math.max(1, Math.ceil(lowestFrequency * size));
  flatten(powers, first);
  const lines = linesOf(powers, first, size);
  const bins = powers.length - first;
  return { lines, bins, lnChance: Math.min(0, Math.log(bins) - lines[0].power) };
}

/** Divides each band by its own level: the median of an exponential distribution is ln 2 of its mean. Never raises a band. */
function flatten(powers: Float64Array, first: number): void {
  const width = Math.max(128, Math.ceil((powers.length - first) / BANDS));
  for (let from = first; from < powers.length; from += width) {
    const band = powers.subarray(from, Math.min(powers.length, from + width));
    const some = band.filter((_, i) => i % 8 === 0).sort();
    const level = Math.max(1, some[some.length >> 1] / Math.LN2);
    for (let i = 0; i < band.length; i++) band[i] /= level;
  }
}

function linesOf(powers: Float64Array, first: number, size: number): Line[] {
  let top = first;
  for (let k = first; k < powers.length; k++) if (powers[k] > powers[top]) top = k;
  const strongest = { frequency: top / size, power: powers[top] ?? 0 };
  const least = Math.max(20, strongest.power / 30);
  const peaks: Line[] = [];
  for (let k = first; k < powers.length; k++) {
    const isPeak = powers[k] > least && powers[k] >= (powers[k - 1] ?? 0) && powers[k] >= (powers[k + 1] ?? 0);
    if (isPeak) peaks.push({ frequency: k / size, power: powers[k] });
  }
  peaks.sort((a, b) => b.power - a.power);
  const strong = withoutSidelobes(peaks, 6 / size);
  // Of the many lines of a wide comb the lowest is the one wanted, whatever its rank.
  const lowest = strong.toSorted((a, b) => a.frequency - b.frequency).slice(0, 3);
  return [...new Set([strong[0] ?? strongest, ...strong.slice(0, 6), ...lowest])];
}

/** Strongest first: a line beside a stronger one is the ripple of its edges. */
function withoutSidelobes(lines: readonly Line[], reach: number): Line[] {
  const kept: Line[] = [];
  for (const line of lines) {
    if (kept.length >= 40) break;
    if (kept.every(({ frequency }) => Math.abs(frequency - line.frequency) > reach)) kept.push(line);
  }
  return kept;
}

const ROUNDINGS: readonly Rounding[] = ['nearest', 'half away', 'half either', 'down', 'toward zero', 'up'];

function bestFit(range: Range, values: Float64Array, spectrum: Spectrum, lowest: number): LatticeFit | undefined {
  const centre = centreOf(range);
  const combs = combsOf(values, spectrum.lines, lowest, bulkOf(range));
  const weighed = combs.map((comb) => bestRounding(centre, comb)).filter(isHopeful);
  const polished = weighed
    .sort((a, b) => b.lnOdds - a.lnOdds)
    .slice(0, MOST_POLISHED)
    .map((one) => polish(range, bestRounding(range, one)))
    .filter(isPlausible);
  if (polished.length === 0) return undefined;
  const best = polished.reduce(better);
  const { spacing, uncertainty, rounding, offShare, emptyLevels, lnOdds, lnOddsIfTrue } = best;
  const source = sourceOf(range, spacing, rounding);
  const tried = spectrum.bins * ROUNDINGS.length * (combs.length + MOST_POLISHED * 3 * POLISH_STEPS);
  return {
    spacing,
    // Within one level over the whole range no level changes sides.
    uncertainty: Math.max(uncertainty, spacing / range.levels),
    rounding,
    log10Odds: lnOdds / dispersionOf(source) / Math.LN10 - Math.log10(tried),
    explained: lnOdds / lnOddsIfTrue,
    unexplained: strongestLeft(source) / spectrum.lines[0].power,
    offShare,
    emptyLevels,
  };
}

const MOST_POLISHED = 5;
const POLISH_STEPS = 24;

/** The likelihood is sharper than the line: a search around the comb, finer twice over, and the simplest fraction that is as good. */
function polish(range: Range, start: Weighed): Weighed {
  let best = start;
  let width = 3 * start.uncertainty;
  for (let pass = 0; pass < 3; pass++, width /= 8) {
    const around = best.spacing;
    for (let n = -POLISH_STEPS / 2; n <= POLISH_STEPS / 2; n++) {
      const spacing = around + (2 * n * width) / POLISH_STEPS;
      const next = weigh(range, { spacing, uncertainty: start.uncertainty }, start.rounding);
      if (next.lnOdds > best.lnOdds) best = next;
    }
  }
  const simple = simplestFraction(best.spacing, 4 * start.uncertainty);
  if (simple === undefined) return best;
  const snapped = weigh(range, { spacing: simple, uncertainty: start.uncertainty }, start.rounding);
  // A wider spacing that empties no level more is credited by its width alone; that is no evidence against the fraction.
  const byWidth = range.samples * Math.abs(Math.log(best.spacing / simple));
  return snapped.lnOdds >= best.lnOdds - LN_NO_MATTER - byWidth ? snapped : best;
}

/** The levels around zero tell most wrong combs already, in a fraction of the time, and forgive a spacing not quite right. */
function centreOf(range: Range): Range {
  const middle = Math.max(0, Math.min(range.counts.length - CENTRE_LEVELS, -range.first - CENTRE_LEVELS / 2));
  const counts = range.counts.subarray(middle, middle + CENTRE_LEVELS);
  return { counts, first: range.first + middle, levels: counts.length, samples: counts.reduce((a, b) => a + b, 0) };
}

const CENTRE_LEVELS = 6000;
/** ln of a likelihood ratio too small to prefer anything by: the first of those named stands */
const LN_NO_MATTER = 3;

function bestRounding(range: Range, comb: Comb): Weighed {
  return ROUNDINGS.map((rounding) => weigh(range, comb, rounding)).reduce(better);
}

function better(a: Weighed, b: Weighed): Weighed {
  return b.lnOdds > a.lnOdds + LN_NO_MATTER ? b : a;
}

function isHopeful({ lnOdds, lnOddsIfTrue }: Weighed): boolean {
  return lnOdds > 0.1 * lnOddsIfTrue && lnOdds < 2 * lnOddsIfTrue;
}

/** A comb that is there gives the evidence it should give: less is another comb's shadow, more is the shape of the whole. */
function isPlausible({ spacing, lnOdds, lnOddsIfTrue }: Weighed): boolean {
  return lnOdds > (spacing > 1 ? 0.8 : 0.75) * lnOddsIfTrue && lnOdds < 1.3 * lnOddsIfTrue;
}

function strongestLeft(source: Range): number {
  const { values, lowestFrequency } = residualOf(source);
  const { lines, bins } = spectrumOf(values, lowestFrequency);
  return Math.max(0, lines[0].power - Math.log(bins) - 5);
}

/** standard deviations */
const SLACK = 4;

interface Comb {
  readonly spacing: number;
  readonly uncertainty: number;
}

/** Levels that hold all but one in ten samples: what the position of a line rests on. */
function bulkOf({ counts, samples }: Range): number {
  let low = 0;
  for (let sum = counts[0]; low < counts.length && sum < samples / 20; sum += counts[low]) low++;
  let high = counts.length - 1;
  for (let sum = counts[high]; high > low && sum < samples / 20; sum += counts[high]) high--;
  return Math.max(16, high - low);
}

/** Every spacing that would put a line where one was found; with each, the simplest fraction that cannot be told from it:
 * where multiples fall exactly between two levels, nothing but the exact fraction rounds them all alike. */
function combsOf(values: Float64Array, lines: readonly Line[], lowest: number, length: number): Comb[] {
  const found = new Map<string, Comb>();
  for (const line of lines) {
    const frequency = refined(values, line.frequency);
    // Of a line in white residue: sigma of its frequency = sqrt(6 / power) / (2 pi length).
    const sigma = Math.sqrt(6 / line.power) / (2 * Math.PI * length);
    for (const { inverse, order } of candidatesOf(frequency, lowest)) {
      const spacing = 1 / inverse;
      const uncertainty = (SLACK * sigma * spacing * spacing) / order;
      if (!found.has(inverse.toPrecision(5))) found.set(inverse.toPrecision(5), { spacing, uncertainty });
      const simple = simplestFraction(spacing, uncertainty);
      if (simple !== undefined) found.set(simple.toPrecision(9), { spacing: simple, uncertainty });
    }
  }
  return [...found.values()];
}

/** By continued fractions; denominators up to 1000. */
function simplestFraction(value: number, within: number): number | undefined {
  let [p, q, lastP, lastQ] = [1, 0, 0, 1];
  for (let rest = value, n = 0; n < 20; n++) {
    const whole = Math.floor(rest);
    [p, lastP] = [whole * p + lastP, p];
    [q, lastQ] = [whole * q + lastQ, q];
    if (q > 1000) return undefined;
    if (Math.abs(value - p / q) <= within) return p / q;
    if (rest === whole) return undefined;
    rest = 1 / (rest - whole);
  }
  return undefined;
}

/** Gains from 0.45 up whose line lies at this frequency; for wide combs also those with a second or third harmonic there. */
function candidatesOf(frequency: number, lowest: number): { inverse: number; order: number }[] {
  const found: { inverse: number; order: number }[] = [];
  for (let order = 1; order <= 3; order++) {
    for (let turns = 0; turns <= 3; turns++) {
      for (const inverse of [(turns + frequency) / order, (turns - frequency) / order]) {
        // Whole numbers of source levels for each level leave every level alike; slower patterns than `lowest` were not looked for.
        const beat = inverse > 0.5 ? Math.abs(inverse - Math.round(inverse)) : inverse;
        if (inverse <= (order === 1 ? 2.2 : 0.5) && beat >= lowest / order) found.push({ inverse, order });
      }
    }
  }
  return found;
}

/** The top of the line between two bins, by golden section. */
function refined(values: Float64Array, frequency: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  const width = 0.5 / values.length;
  let low = frequency - width;
  let high = frequency + width;
  for (let n = 0; n < 26; n++) {
    const p = high - ratio * (high - low);
    const q = low + ratio * (high - low);
    if (powerAt(values, p) > powerAt(values, q)) high = q;
    else low = p;
  }
  return (low + high) / 2;
}

function powerAt(values: Float64Array, frequency: number): number {
  const turnC = Math.cos(2 * Math.PI * frequency);
  const turnS = Math.sin(2 * Math.PI * frequency);
  let c = 1;
  let s = 0;
  let re = 0;
  let im = 0;
  for (let i = 0; i < values.length; i++) {
    re += values[i] * c;
    im += values[i] * s;
    const next = c * turnC - s * turnS;
    s = s * turnC + c * turnS;
    c = next;
  }
  return re * re + im * im;
}

/** Twice the number of integers k that have round(spacing k) = level, for each level. */
function multiplicities({ counts, first }: Range, spacing: number, rounding: Rounding): Uint8Array {
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
const OFF_SHARES = [1e-4, 1e-3, 1e-2, 0.1];

interface Weighed extends Comb {
  readonly rounding: Rounding;
  /** ln of the likelihood of the counts under the comb against none, at the best share of samples off the comb */
  readonly lnOdds: number;
  /** what it would be on average if the comb were true */
  readonly lnOddsIfTrue: number;
  readonly offShare: number;
  readonly emptyLevels: number;
}

function weigh(range: Range, { spacing, uncertainty }: Comb, rounding: Rounding): Weighed {
  const { counts, samples } = range;
  const m = multiplicities(range, spacing, rounding);
  const sums = new Float64Array(256);
  const levels = new Float64Array(256);
  for (let i = 0; i < counts.length; i++) {
    sums[m[i]] += counts[i];
    levels[m[i]]++;
  }
  const lnOdds = Math.max(
    ...OFF_SHARES.map((share) => sumOver(sums, (n) => Math.log(((1 - share) * n * spacing) / 2 + share))),
  );
  const lnOddsIfTrue =
    (samples / counts.length) * sumOver(levels, (n) => (n === 0 ? 0 : (n / 2) * spacing * Math.log((n / 2) * spacing)));
  const offShare = sums[0] / samples;
  return { spacing, uncertainty, rounding, lnOdds, lnOddsIfTrue, emptyLevels: levels[0], offShare };
}

function sumOver(weights: Float64Array, value: (n: number) => number): number {
  let sum = 0;
  for (let n = 0; n < weights.length; n++) if (weights[n] > 0) sum += weights[n] * value(n);
  return sum;
}

/** Variance of the counts over their mean, from each level against the mean of its two neighbours; 1 for independent samples. */
function dispersionOf({ counts }: Range): number {
  let sum = 0;
  let expected = 0;
  for (let i = 1; i + 1 < counts.length; i++) {
    sum += (counts[i] - (counts[i - 1] + counts[i + 1]) / 2) ** 2 / 1.5;
    expected += (counts[i - 1] + counts[i] + counts[i + 1]) / 3;
  }
  return expected === 0 ? 1 : Math.max(1, sum / expected);
}

/** The source as far as the comb allows: a level that stands for several source levels counts as one of them each. */
function sourceOf(range: Range, spacing: number, rounding: Rounding): Range {
  const m = multiplicities(range, spacing, rounding);
  const counts: number[] = [];
  for (let i = 0; i < m.length; i++) for (let k = 2; k <= m[i]; k += 2) counts.push((2 * range.counts[i]) / m[i]);
  return { ...range, counts: Float64Array.from(counts), levels: counts.length };
}
