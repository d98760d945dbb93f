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
import { bulkOf, type Comb, combsOf, simplestFraction } from './comb-candidates.ts';
import { multiplicities, type Rounding, type Weighed, weigh } from './comb-weight.ts';
import { dispersionOf, judgedRange, middleOf, type Range } from './level-range.ts';
import { residualOf, type Spectrum, spectrumOf } from './line-spectrum.ts';

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

/** The first look is at so many levels around the middle sample, which hold most samples of most recordings .. */
const FIRST_LEVELS = 16_384;
/** .. and all levels are looked at when it shows a line that would come by chance once in twenty recordings, or a rarer one. A line of
 * CERTAIN_POWER over all does so when a fourth of the samples are there. */
const FIRST_LN_CHANCE = Math.log(0.05);
const FIRST_SHARE = 1 / 4;

/** `counts[half + v]` belongs to level v. At least 64 levels and 500 samples, or nothing is looked for. */
export function searchLattice(counts: Float64Array, half: number): LatticeSearch {
  const whole = judgedRange(counts, half);
  const { samples, levels } = whole;
  const nothing = { fit: undefined, lineFrequency: undefined, lnChance: 0, blindAround: Number.POSITIVE_INFINITY };
  if (levels < 64 || samples < 500) return { ...nothing, samples, levels };
  const first = middleOf(whole, FIRST_LEVELS);
  const { spectrum, lowestFrequency } = linesIn(first);
  const seen = Math.min(samples, first.samples / FIRST_SHARE);
  const blind = Math.sqrt((CERTAIN_POWER * dispersionOf(first)) / seen);
  const found = { samples, levels, blindAround: Math.max(blind, lowestFrequency) };
  if (spectrum.lnChance > FIRST_LN_CHANCE) return { ...nothing, ...found, lnChance: spectrum.lnChance };
  return { ...found, ...searchAll(whole) };
}

function searchAll(whole: Range): Pick<LatticeSearch, 'fit' | 'lineFrequency' | 'lnChance'> {
  const { values, spectrum, lowestFrequency } = linesIn(whole);
  const { lnChance } = spectrum;
  if (lnChance > LINE_LN_CHANCE) return { fit: undefined, lineFrequency: undefined, lnChance };
  const fit = bestFit(whole, values, spectrum, lowestFrequency);
  return { fit, lineFrequency: spectrum.lines[0].frequency, lnChance };
}

function linesIn(range: Range): { values: Float64Array; spectrum: Spectrum; lowestFrequency: number } {
  const { values, lowestFrequency } = residualOf(range);
  return { values, spectrum: spectrumOf(values, lowestFrequency), lowestFrequency };
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
  const { lines, bins } = linesIn(source).spectrum;
  return Math.max(0, lines[0].power - Math.log(bins) - 5);
}

/** The source as far as the comb allows: a level that stands for several source levels counts as one of them each. */
function sourceOf(range: Range, spacing: number, rounding: Rounding): Range {
  const m = multiplicities(range, spacing, rounding);
  const counts: number[] = [];
  for (let i = 0; i < m.length; i++) for (let k = 2; k <= m[i]; k += 2) counts.push((2 * range.counts[i]) / m[i]);
  return { ...range, counts: Float64Array.from(counts), levels: counts.length };
}
