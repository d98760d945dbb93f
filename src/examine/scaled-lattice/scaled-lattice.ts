// Detector: a gain step somewhere in the chain, seen by the comb it leaves among the levels that occur. Not for companding
// (code-book) nor for word length; a gain by a power of two looks like another word length and is left to that.
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { nameGain } from './gain-name.ts';
import { type LatticeFit, type LatticeSearch, searchLattice } from './lattice-fit.ts';

export interface ScaledLatticeSettings extends JsonObject {
  /** frames looked at, spread over the recording */
  readonly mostFrames: number;
  /** log10 of the odds for an answer */
  readonly fewestLog10Odds: number;
  /** "none" is said only when every gain further than this from 1 would have shown */
  readonly widestBlindSpot: number;
  /** share of the pattern's strength that may be left once the comb is taken out */
  readonly mostUnexplained: number;
}

export const scaledLattice: Detector<ScaledLatticeSettings> = {
  meta: {
    id: 'scaled-lattice',
    version: 2,
    label: 'Gain steps',
    needs: 'a word of at least 8 bits',
    settings: { mostFrames: 524_288, fewestLog10Odds: 6, widestBlindSpot: 0.1, mostUnexplained: 0.2 },
  },
  begin(info, settings, emit) {
    if (info.bits < 8) return { notApplicable: `a word of ${info.bits} bits; a comb needs more levels` };
    return new ScaledLatticeSession(info, settings, emit);
  },
};

const WINDOW = 4096;
const HALF = 32_768;

interface Found {
  readonly search: LatticeSearch;
  /** steps of the container for each level of the search */
  readonly unit: number;
}

class ScaledLatticeSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: ScaledLatticeSettings;
  readonly #emit: Emit;
  readonly #windows: SpreadWindows;
  /** the windows of each channel, one after the other */
  readonly #samples: readonly Int32Array[];
  #filled = 0;

  constructor(info: FrameInfo, settings: ScaledLatticeSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#windows = new SpreadWindows(info, WINDOW, Math.ceil(settings.mostFrames / WINDOW), (planes) => {
      for (let c = 0; c < planes.length; c++) this.#samples[c].set(planes[c], this.#filled);
      this.#filled += planes[0].length;
    });
    const room = WINDOW * Math.ceil(info.frames / WINDOW / this.#windows.stride);
    this.#samples = Array.from({ length: info.channels }, () => new Int32Array(room));
  }

  push(block: Block): void {
    this.#windows.push(block);
  }

  finish(): undefined {
    this.#windows.finish(this.#info.frames);
    if (this.#filled === 0) return;
    for (const [c, samples] of this.#samples.entries()) this.#judge(c, samples.subarray(0, this.#filled));
  }

  #judge(c: number, samples: Int32Array): void {
    const step = stepOf(samples);
    const counts = new Uint32Array(2 * HALF);
    const found = shiftsFor(this.#info.bits, step).map((shift): Found => {
      const unused = Math.max(0, step - shift);
      countLevels(samples, shift, counts);
      return { search: searchLattice(thinned(counts, unused), HALF >> unused), unit: 2 ** (shift + unused) };
    });
    const odds = ({ search }: Found) => search.fit?.log10Odds ?? Number.NEGATIVE_INFINITY;
    const best = found.toSorted((a, b) => odds(b) - odds(a))[0];
    const { fit } = best.search;
    if (fit && this.#isAnswer(fit)) this.#say(c, best, fit, step);
    else this.#sayNothing(c, found[0].search);
  }

  /** A pattern of a power of two may be a converter's uneven steps or a short word: there only missing levels convince. */
  #isAnswer(fit: LatticeFit): boolean {
    const { fewestLog10Odds, mostUnexplained } = this.#settings;
    if (fit.log10Odds < fewestLog10Odds || fit.unexplained > mostUnexplained) return false;
    if (isPowerOfTwo(fit)) return false;
    if (!isDyadic(fit)) return true;
    return fit.emptyLevels > 0 && fit.offShare < 0.01;
  }

  #say(c: number, { search, unit }: Found, fit: LatticeFit, step: number): void {
    const wordBits = likelyWord(this.#info.bits - step, (fit.spacing * unit) / 2 ** step);
    const scale = unit / 2 ** (this.#info.bits - wordBits);
    const gain = fit.spacing * scale;
    const uncertainty = fit.uncertainty * scale;
    const name = nameGain(gain, uncertainty);
    this.#emit.verdict({
      channel: c + 1,
      question: 'gain-lattice',
      answer: Number(gain.toPrecision(digitsOf(gain, uncertainty))),
      confidence: 1 - 10 ** -Math.min(15, fit.log10Odds),
      detectionLimit: `a gain on words of ${wordBits} bits; twice or half of it on words of one bit less or more leaves the same levels. ${search.samples} samples on ${search.levels} levels`,
      evidence: {
        ...name,
        uncertainty,
        spacingSteps: fit.spacing * unit,
        wordBits,
        rounding: fit.rounding,
        log10Odds: Math.round(fit.log10Odds),
        explained: Number(fit.explained.toFixed(3)),
        unexplained: Number(fit.unexplained.toFixed(4)),
        missingLevels: fit.emptyLevels,
        samplesOffTheComb: fit.offShare,
        samples: search.samples,
      },
    });
  }

  #sayNothing(c: number, search: LatticeSearch): void {
    const { lineFrequency, blindAround, samples, levels } = search;
    const isNone = lineFrequency === undefined && blindAround <= this.#settings.widestBlindSpot;
    const near = `between ${(1 / (1 + blindAround)).toFixed(3)} and ${(1 + blindAround).toFixed(3)}`;
    const always = 'gains of 1/2, 1/3 .., by powers of two, or followed by dither or another gain leave no comb';
    this.#emit.verdict({
      channel: c + 1,
      question: 'gain-lattice',
      answer: isNone ? 'none' : 'cannot tell',
      confidence: isNone ? 0.99 : 0,
      detectionLimit:
        lineFrequency !== undefined
          ? `the levels keep a pattern (${lineFrequency.toFixed(5)} cycles a level) that no single gain explains for certain`
          : isNone
            ? `${samples} samples on ${levels} levels: no comb. A gain ${near} would not show; ${always}`
            : `${samples} samples on ${levels} levels are too few for a comb; ${always}`,
      evidence: {
        samples,
        levels,
        lineFrequency: lineFrequency ?? null,
        lnChanceOfLine: Math.round(search.lnChance),
        rejectedSpacing: search.fit?.spacing ?? null,
        unexplained: search.fit?.unexplained ?? null,
      },
    });
  }
}

function stepOf(samples: Int32Array): number {
  const steps = new StepCounter();
  for (let at = 0; at < samples.length; at += PART) steps.pushWindow(samples.subarray(at, at + PART));
  return steps.stepExponent(0.98);
}

const PART = 65_536;

/** By how many bits samples are shifted to become levels of 16 bits: single steps near zero, and ever coarser scales up to the whole range;
 * of those that show every step only the coarsest. */
function shiftsFor(bits: number, step: number): number[] {
  const top = Math.max(0, bits - 16);
  const shifts = [...new Set([0, Math.min(8, top), top])];
  const finestUseful = shifts.findLast((shift) => shift <= step);
  return shifts.filter((shift) => shift >= step || shift === finestUseful);
}

/** Samples beyond 16 bits of levels are not counted. */
function countLevels(samples: Int32Array, shift: number, counts: Uint32Array): void {
  counts.fill(0);
  for (let i = 0; i < samples.length; i++) {
    const at = ((samples[i] >> shift) + HALF) >>> 0;
    if (at < counts.length) counts[at]++;
  }
}

/** Every 2^unused-th level; what lies between is disturbed. */
function thinned(counts: Uint32Array, unused: number): Float64Array {
  const kept = new Float64Array(counts.length >> unused);
  for (let i = 0; i < kept.length; i++) kept[i] = counts[i << unused];
  return kept;
}

function isPowerOfTwo({ spacing, uncertainty }: LatticeFit): boolean {
  const power = 2 ** Math.round(Math.log2(spacing));
  return Math.abs(spacing - power) <= uncertainty + 1e-4 * power;
}

function isDyadic({ spacing, uncertainty }: LatticeFit): boolean {
  const turns = 256 / spacing;
  return Math.abs(turns - Math.round(turns)) <= (256 * uncertainty) / spacing ** 2 + 1e-6;
}

/** Of the usual word lengths the one whose gain is nearest to 1; the word as it stands for spacings below 4. */
function likelyWord(bits: number, spacing: number): number {
  if (spacing < 4) return bits;
  const distance = (word: number) => Math.abs(Math.log2(spacing) - (bits - word));
  return [8, 10, 12, 14, 16, 18, 20, 24].filter((word) => word <= bits).sort((a, b) => distance(a) - distance(b))[0];
}

function digitsOf(gain: number, uncertainty: number): number {
  return Math.max(2, Math.min(9, 1 + Math.ceil(Math.log10(gain / Math.max(uncertainty, 1e-12)))));
}
