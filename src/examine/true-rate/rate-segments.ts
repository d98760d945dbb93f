// A recording cut at its still gaps, each stretch asked which rate its lasting tones speak for. A change of rate is said only where two stretches are sure
// of different rates; it lies in a gap between them. Changes without a gap are not looked for.
import {
  type FrameSource,
  type Rate,
  rateHz,
  type Span,
  type StopSignal,
  spanEnd,
  throwIfStopped,
} from '../../base/index.ts';
import { EXACT_RATES } from './exact-rates.ts';
import { LINE_FAMILIES } from './known-lines.ts';
import { LastingSpectrum, SPECTRUM_SIZE } from './lasting-spectrum.ts';
import { bestScores, type LineSupport, lineSupport } from './line-scores.ts';

export interface RateStretch extends Span {
  /** what its tones speak for; undefined where they say nothing, or several things */
  readonly rate: Rate | undefined;
  readonly support: readonly LineSupport[];
  /** how well each rate explains it, also where none is sure: to place a change between two that are */
  readonly scores: readonly { readonly hz: number; readonly score: number }[];
}

export interface RateChange {
  /** first frame that sounds after the gap in which the rate changed */
  readonly at: number;
  /** starts of sound at which it may have changed as well, because what lies between tells nothing; none as a rule */
  readonly orAt: readonly number[];
  readonly before: Rate;
  readonly after: Rate;
}

/** Stretches shorter than this many windows say nothing. */
const FEWEST_WINDOWS = 12;

/** `gaps`: sorted; what lies between them sounds. */
export async function rateStretches(
  source: FrameSource,
  gaps: readonly Span[],
  stop?: StopSignal,
): Promise<RateStretch[]> {
  const headerHz = rateHz(source.info.rate);
  const rates = EXACT_RATES.map(({ rate }) => rate).filter((one) => isInReach(rateHz(one) / headerHz));
  const out: RateStretch[] = [];
  for (const span of between(gaps, source.info.frames)) {
    const { support, scores } = await tonesIn(source, span, rates.map(rateHz), stop);
    out.push({ ...span, rate: oneRate(support, scores, rates), support, scores });
  }
  return out;
}

function isInReach(ratio: number): boolean {
  return ratio > 0.6 && ratio < 1.7;
}

async function tonesIn(
  source: FrameSource,
  span: Span,
  ratesHz: readonly number[],
  stop: StopSignal | undefined,
): Promise<Pick<RateStretch, 'support' | 'scores'>> {
  const fit = Math.floor((2 * span.length) / SPECTRUM_SIZE) - 1;
  const count = Math.min(LastingSpectrum.mostWindows, fit);
  if (count < FEWEST_WINDOWS) return { support: [], scores: [] };
  const spectrum = new LastingSpectrum();
  for (let i = 0; i < count; i++) {
    throwIfStopped(stop);
    const at = span.start + Math.floor((i * (span.length - SPECTRUM_SIZE)) / (count - 1));
    spectrum.add((await source.read(at, SPECTRUM_SIZE)).planes);
  }
  const excess = spectrum.excess();
  const headerHz = rateHz(source.info.rate);
  const scores = bestScores(excess, headerHz, ratesHz, LINE_FAMILIES);
  return {
    support: lineSupport(excess, headerHz, ratesHz, LINE_FAMILIES),
    scores: ratesHz.map((hz, i) => ({ hz, score: scores[i] })),
  };
}

/** Rates closer than this hum cannot tell apart: mains drifts as far. */
const HUM_SHARE = 0.0045;
/** Another rate that explains so much of it as well, supported or not, leaves the question open. */
const RIVAL = 0.7;

/** Fine families decide over hum. Of rates that hum cannot tell apart, the crystal's stands for them. */
function oneRate(
  support: readonly LineSupport[],
  scores: RateStretch['scores'],
  rates: readonly Rate[],
): Rate | undefined {
  const fine = support.filter(({ family }) => family.isFine);
  const told = fine.length > 0 ? fine : support;
  if (told.length === 0) return undefined;
  const best = told.reduce((a, b) => (b.score > a.score ? b : a));
  const isNear = (hz: number) => Math.abs(hz / best.rateHz - 1) < HUM_SHARE;
  const rivals =
    fine.length > 0 ? fine.filter(({ rateHz: hz }) => hz !== best.rateHz) : scores.filter(({ hz }) => !isNear(hz));
  if (rivals.some(({ score }) => score > RIVAL * best.score)) return undefined;
  const alike = fine.length > 0 ? [] : rates.filter((one) => isNear(rateHz(one)) && one.den === 1);
  return alike.find((one) => rateHz(one) % 100 === 0) ?? rates.find((one) => rateHz(one) === best.rateHz);
}

/** Between stretches that are sure of themselves. */
export function rateChanges(stretches: readonly RateStretch[]): RateChange[] {
  const out: RateChange[] = [];
  let last: { readonly index: number; readonly rate: Rate } | undefined;
  for (const [index, { rate }] of stretches.entries()) {
    if (!rate) continue;
    // Rates that hum alone cannot tell apart are no change.
    // Rates that hum alone cannot tell apart are no change.
    if (last && Math.abs(rateHz(rate) / rateHz(last.rate) - 1) > HUM_SHARE) {
      out.push({
        ...placed(stretches.slice(last.index + 1, index + 1), last.rate, rate),
        before: last.rate,
        after: rate,
      });
    }
    last = { index, rate };
  }
  return out;
}

/** Scores this close leave both places open; the spread of a score over stretches without tones is about 0.25. */
const CLEAR = 0.5;

/** The start of one of the stretches: those before it are explained better by the old rate, those from it on by the new one. */
function placed(stretches: readonly RateStretch[], before: Rate, after: Rate): Pick<RateChange, 'at' | 'orAt'> {
  const gain = stretches.map(({ scores }) => scoreOf(scores, after) - scoreOf(scores, before));
  const total = stretches.map((_, k) => gain.slice(k).reduce((sum, one) => sum + one, 0));
  const best = total.indexOf(Math.max(...total));
  const orAt = stretches.flatMap(({ start }, k) => (k !== best && total[best] - total[k] < CLEAR ? [start] : []));
  return { at: stretches[best].start, orAt };
}

function scoreOf(scores: RateStretch['scores'], rate: Rate): number {
  return scores.find(({ hz }) => hz === rateHz(rate))?.score ?? 0;
}

function between(gaps: readonly Span[], frames: number): Span[] {
  const out: Span[] = [];
  let from = 0;
  for (const gap of [...gaps, { start: frames, length: 0 }]) {
    if (gap.start > from) out.push({ start: from, length: gap.start - from });
    from = spanEnd(gap);
  }
  return out;
}
